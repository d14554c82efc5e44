"""Rests on the review: what holds, which phones do not know of it, and the digits that end one by voice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from webapp.client_log import ClientLog, last_heard
from webapp.practice.rest import Rest
from webapp.practice.session import Entry
from webapp.practice.summary import title_of
from webapp.resting import other_rest_digits, rest_digits
from webapp.storage.devices import Device
from webapp.storage.rests import RestEnded
from webapp.therapist.review_records import entry_text
from webapp.therapist.words import moment_words, when_words
from webapp.translations import Translate

DAY_MS = 86_400_000
DIGIT_DAYS = 14  # so long the digits of an ended rest are shown, unless the phone was heard since


@dataclass(frozen=True, slots=True, kw_only=True)
class Resting:
    """A phone on which practice rests: since which record, and what."""

    device: str
    through: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RestOver:
    """A rest that was ended and that the phone has not been heard since: the digits to tell on the telephone."""

    text: str
    digits: str


def resting(t: Translate, log: ClientLog, rest: Rest) -> Resting:
    """Says of a phone's rest since when, of what, and which phones do not know of it."""
    titles = ", ".join(title_of(log.versions, n) for n in sorted(rest.exercises) if n)
    text = t("review.rest.since" if titles and 0 not in rest.exercises else "review.rest.since_all",
             when=when_words(t, rest.entry), what=entry_text(t, log, rest.entry), titles=titles, phone=rest.device[:4])
    return Resting(device=rest.device, through=rest.through, text=" ".join([text, *not_told(t, log, rest)]))


def not_told(t: Translate, log: ClientLog, rest: Rest) -> tuple[str, ...]:
    """Names the client's other phones that have not been heard since a finding came: they do not know of the rest."""
    others = [d.device[:4] for d in log.devices
              if d.device != rest.device and not d.revoked and last_heard(d) < rest.entry.received_ms]
    return (t("review.rest.not_told", phones=", ".join(others)),) if others else ()


def rests_over(t: Translate, log: ClientLog, ended: Sequence[RestEnded], now_ms: int, zone: ZoneInfo
               ) -> tuple[RestOver, ...]:
    """Lists the digits that a phone may still need: of each phone's last rest that was ended since they were heard.

    Another phone needs them where it was heard after the finding had come, and so knows of the rest.
    """
    found: dict[tuple[str, str], RestOver] = {}
    came_ms = {(e.device, e.seq): e.received_ms for e in _entries(log)}
    for one in ended:
        since = came_ms.get((one.device, one.through), one.ended_ms)
        for device in log.devices:
            own, key = device.device == one.device, (one.device, device.device)
            knows = own or (since <= last_heard(device) and not device.revoked)
            waits = knows and last_heard(device) < one.ended_ms
            if waits and key not in found and now_ms - one.ended_ms < DIGIT_DAYS * DAY_MS:
                found[key] = _rest_over(t, zone, one, device)
    return tuple(found.values())


def _rest_over(t: Translate, zone: ZoneInfo, one: RestEnded, device: Device) -> RestOver:
    own = device.device == one.device
    return RestOver(
        text=t("review.rest.over" if own else "review.rest.over_other", name=one.ended_by_name, n=one.through,
               when=moment_words(t, one.ended_ms, zone), phone=one.device[:4], other=device.device[:4]),
        digits=rest_digits(device.device_key, device.device, one.through) if own
        else other_rest_digits(device.device_key, device.device, one.device, one.through))


def _entries(log: ClientLog) -> Iterable[Entry]:
    return (*(s.entry for s in log.log.sessions), *log.log.looks, *log.log.findings, *log.log.not_today)
