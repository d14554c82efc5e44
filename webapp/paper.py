"""A diary on paper, typed in by a therapist: kept as records of a device of its own, by the road *paper*."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from webapp import sealing
from webapp.formats.log_record import FORMAT, canonical
from webapp.intake import Receipt, take_in
from webapp.practice.session import TAKEN_BACK, Session
from webapp.storage import devices, records
from webapp.storage.database import Db
from webapp.storage.devices import PAPER, Device

DAY_MIN = 1440
EPOCH_MIN = date(1970, 1, 1).toordinal() * DAY_MIN
QUARTER_S = 900
PERIOD_UNKNOWN = 1_000_000
NOT_ASKED = {"pauses_n": 0, "pain_before_n": 11, "effort_n": 11, "help": 3, "steps_skipped": [], "taps_n": 0,
             "period_ppm": PERIOD_UNKNOWN, "answered_by": 3, "ended": 0, "contractions_n": []}


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperLine:
    """One line of a diary; `begun` is the client's wall clock, None is *not written*.

    `strength` is per channel, as the unit shows it (`shows` "ma" or "level"); `skin_before` and `skin_after` are the
    answers 0 to 5 for the whole of the skin under the pads, of which there are `places_n`.
    """

    plan: int
    version: int
    exercise: int
    begun: datetime
    minutes: float
    planned_s: int
    shows: str
    strength: tuple[float | None, ...]
    skin_before: int | None
    skin_after: int | None
    places_n: int
    pain: int | None
    note: str

    @property
    def at_min(self) -> int:
        return _dated(self.begun)["at_min"]


def is_kept(kept: Iterable[Session], line: PaperLine, seq: int = 0) -> bool:
    """Tells whether a line of the same exercise and minute, other than line `seq`, stands in the diary."""
    return any(one.entry.at_min == line.at_min and one.exercise == line.exercise and one.entry.seq != seq
               for one in kept)


def keep_lines(db: Db, client_id: int, lines: Sequence[PaperLine], zone: ZoneInfo, now_ms: int) -> Receipt:
    """Keeps the lines of a diary, inside the caller's write transaction."""
    device = devices.paper_of_client(db, client_id) or _new_diary(db, client_id, now_ms)
    first = records.highest(db, device.device) + 1
    contents = [_content(device.device, first + n, line, zone) for n, line in enumerate(lines)]
    return take_in(db, device, contents, "paper", "", now_ms)


def correct_line(
    db: Db, client_id: int, kept: Session, line: PaperLine | None, zone: ZoneInfo, now_ms: int
) -> Receipt:
    """Keeps what is right of a line, or takes it back (None): a record that names it. The line itself stays."""
    device = devices.paper_of_client(db, client_id)
    if device is None:
        raise LookupError(client_id)
    if line is None:
        changed: dict[str, Any] = {TAKEN_BACK: 1}
    else:
        meant = json.loads(_content(device.device, kept.entry.seq, line, zone))
        changed = {name: value for name, value in meant.items() if kept.entry.fields.get(name) != value}
    now = datetime.fromtimestamp(now_ms / 1000, zone)
    content = canonical({
        **_dated(now), "format": FORMAT, "device": device.device, "seq": records.highest(db, device.device) + 1,
        "kind": "correction", "corrects_seq": kept.entry.seq, "fields": changed})
    return take_in(db, device, [content] if changed else [], "paper", "", now_ms)


def _dated(moment: datetime) -> dict[str, int]:
    """Dates a record as its clock on the wall shows it."""
    offset = moment.utcoffset()
    at_min = moment.toordinal() * DAY_MIN - EPOCH_MIN + moment.hour * 60 + moment.minute
    return {"at_min": at_min, "utc_q": round(offset.total_seconds() / QUARTER_S) if offset else 0}


def _new_diary(db: Db, client_id: int, now_ms: int) -> Device:
    """Makes the device of a client's diaries; nobody holds its key or its cookie."""
    device = Device(
        device=sealing.new_device(), client_id=client_id, link_id=None, handle=sealing.new_handle(),
        device_key=sealing.new_device_key(), cookie_sha256=sealing.sha256_hex(sealing.new_cookie()),
        rejoin_sha256=None, rejoin_ends_ms=None, kind=PAPER, made_ms=now_ms, seen_ms=None, pack_id=None,
        revoked_ms=None)
    devices.add(db, device)
    return device


def _content(device: str, seq: int, line: PaperLine, zone: ZoneInfo) -> bytes:
    return canonical({
        **NOT_ASKED, **_dated(line.begun.replace(tzinfo=zone)), "format": FORMAT, "device": device, "seq": seq,
        "kind": "session", "plan": line.plan, "version": line.version, "exercise": line.exercise,
        "planned_s": line.planned_s, "cued_s": round(60 * line.minutes), **_strength(line),
        "skin_before": _skin(line.skin_before, line.places_n), "skin_after": _skin(line.skin_after, line.places_n),
        "pain_after_n": 11 if line.pain is None else line.pain, "note": line.note})


def _strength(line: PaperLine) -> dict[str, list[int]]:
    """Writes the strength in whole levels or half milliamperes; −1 where it was not written."""
    if line.shows == "level":
        return {"strength_level": [-1 if value is None else round(value) for value in line.strength]}
    return {"strength_half_ma": [-1 if value is None else round(2 * value) for value in line.strength]}


def _skin(answer: int | None, places_n: int) -> list[int]:
    """Spreads the one answer of a line: *unchanged* holds for every place; a finding is at one that is not named."""
    if answer is None:
        return []
    return [answer] * places_n if answer == 0 else [answer]
