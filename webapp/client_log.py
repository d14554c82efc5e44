"""Reads one client's plans, phones and records from storage into what the practice computations take."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from webapp.practice.attention import Answered, Contact, Reason, known_before, lasting, reasons
from webapp.practice.hold import Hold
from webapp.practice.rest import Rest, needed, rests
from webapp.practice.schedule import PlanVersion, read_version
from webapp.practice.session import DAY_ZERO, MINUTES_A_DAY, PAPER, Entry, Log, local_date, read_log
from webapp.practice.summary import Summary, earliest_day, summarise
from webapp.prescribing.holds import read_holds
from webapp.storage import answers, audit, caseload, clinic, devices, pauses, plans, records
from webapp.storage import rests as rest_rows
from webapp.storage.answers import Answer
from webapp.storage.caseload import Place
from webapp.storage.clients import Client
from webapp.storage.database import Db
from webapp.storage.devices import Device
from webapp.storage.plans import Plan
from webapp.storage.records import StoredRecord

NEVER_MIN = 2**40
MARGIN_DAYS = 2  # a record's local day may be another than the clinic's


@dataclass(frozen=True, slots=True, kw_only=True, weakref_slot=True)
class ClientLog:
    """What is known of one client today; `log` may leave out what is old (`read_recent_log`), the rest is whole."""

    client: Client
    today: date
    plans: tuple[Plan, ...]  # the newest first
    versions: tuple[PlanVersion, ...]  # the oldest first
    devices: tuple[Device, ...]
    log: Log
    contact: Contact
    answers: tuple[Answer, ...]
    reasons: tuple[Reason, ...]
    rests: tuple[Rest, ...]
    rests_ended: Mapping[str, int]  # of each phone the number through which its rests are over
    holds: tuple[Hold, ...]  # what the clinic asked for itself, also what is over
    stored: tuple[tuple[int, str, int], ...]  # id, device and number of the records that were looked at

    @property
    def seen_record(self) -> int:
        """The highest id among the records that were looked at."""
        return max((number for number, _device, _seq in self.stored), default=0)

    @property
    def lasting(self) -> frozenset[int]:
        """The ids of the records that matter however old they are."""
        names = lasting(self.log, self.versions, _answered(self.answers)) | needed(self.log, self.rests_ended)
        return frozenset(number for number, device, seq in self.stored if (device, seq) in names)

    @property
    def summary(self) -> Summary:
        return self.summary_of(None)

    def summary_of(self, period: tuple[date, date] | None, *, grid: bool = True) -> Summary:
        """Lays the log over the plan, over all of it or over a period; without `grid` the numbers alone."""
        return summarise(self.log, self.versions, today=self.today, period=period, grid=grid,
                         known_before=known_before(self.contact, self.today))

    @property
    def plan(self) -> Plan | None:
        return self.plans[0] if self.plans else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Emptied:
    """A phone came back without its store as another device; `is_sure` where the phone itself said which it was."""

    now: Device
    is_sure: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaps:
    """What never came: of each phone the numbers (first, last) that lack; phones whose store had gone back.

    `emptied` are phones whose store was gone when they were let in anew, with what they are now.
    """

    missing: Mapping[str, tuple[tuple[int, int], ...]]
    went_back: frozenset[str]
    emptied: Mapping[str, Emptied]


def read_client_log(db: Db, client: Client, now_ms: int, zone: ZoneInfo) -> ClientLog:
    """Reads everything that was ever recorded of a client."""
    return _client_log(db, client, now_ms, zone, records.of_client(db, client.id))


def read_recent_log(db: Db, client: Client, now_ms: int, zone: ZoneInfo, first: date | None = None,
                    history: Sequence[Plan] | None = None) -> ClientLog:
    """Reads what is needed of a client from a day on: `reasons` and `rests` are those of the whole log.

    Without a day, what the caseload needs; with one also the sessions whose date is too early to be. What is older and
    still matters is known from the client's place in the caseload; without one the whole log is read.
    `history` are the client's plans, where they were read already.
    """
    place = caseload.read(db, client.id)
    if place is None:
        return read_client_log(db, client, now_ms, zone)
    window = local_date(now_ms, zone) - timedelta(days=clinic.thresholds(db).window_days + MARGIN_DAYS)
    history = plans.history(db, client.id) if history is None else history
    too_early = earliest_day([read_version(p.issued) for p in history], DAY_ZERO) if first else DAY_ZERO
    needed = _needed(db, client.id, min(window, first or window), too_early, place)
    return _client_log(db, client, now_ms, zone, needed, history)


def read_rests(db: Db, client_id: int) -> tuple[Rest, ...]:
    """Reads what rests of a client, from the few records that say so: every sync asks."""
    place, ended = caseload.read(db, client_id), rest_rows.ended_of_client(db, client_id)
    if place is None:
        return rests(read_log(map(_entry, records.of_client(db, client_id))), ended)
    few = records.of_client_needed(db, client_id, NEVER_MIN, place.lasting, place.seen_record, 0)
    return rests(read_log(map(_entry, few)), ended)


def _needed(db: Db, client_id: int, first: date, too_early: date, place: Place) -> list[StoredRecord]:
    newest = records.newest_session_min(db, client_id)
    start, too_early_min = ((day - DAY_ZERO).days * MINUTES_A_DAY for day in (first, too_early))
    at_min = start if newest is None else min(start, newest // MINUTES_A_DAY * MINUTES_A_DAY)
    return records.of_client_needed(db, client_id, at_min, place.lasting, place.seen_record, too_early_min)


def _client_log(db: Db, client: Client, now_ms: int, zone: ZoneInfo, stored: Sequence[StoredRecord],
                history: Sequence[Plan] | None = None) -> ClientLog:
    versions = plans.history(db, client.id) if history is None else history
    phones = devices.of_client(db, client.id)
    given, today = answers.of_client(db, client.id), local_date(now_ms, zone)
    schedule = tuple(read_version(p.issued) for p in reversed(versions))
    log, contact = read_log(map(_entry, stored)), _contact(phones, stored, zone)
    holds = read_holds(db, client.id)
    log = replace(log, paused=pauses.days(db, client.id).union(*(hold.days(today) for hold in holds)))
    answered, ended = _answered(given), rest_rows.ended_of_client(db, client.id)
    return ClientLog(
        client=client, today=today, plans=tuple(versions), versions=schedule, devices=tuple(phones), log=log,
        contact=contact, answers=tuple(given), rests=rests(log, ended), rests_ended=ended, holds=holds,
        reasons=reasons(log, schedule, contact, answered, today, clinic.thresholds(db), holds),
        stored=tuple((r.id, r.device, r.seq) for r in stored))


def _entry(stored: StoredRecord) -> Entry:
    return Entry(device=stored.device, seq=stored.seq, kind=stored.kind, at_min=stored.at_min, utc_q=stored.utc_q,
                 fields=json.loads(stored.content), received_ms=stored.received_ms, road=stored.road,
                 aside=stored.aside, late=stored.late)


def _answered(given: Iterable[Answer]) -> Answered:
    return frozenset((a.device, a.seq, a.rule) for a in given)


def _contact(phones: Sequence[Device], stored: Sequence[StoredRecord], zone: ZoneInfo) -> Contact:
    """Finds the last day on which a phone spoke or its log was taken in by code or file; a diary is no phone's."""
    moments = [ms for d in phones for ms in (d.made_ms, d.seen_ms) if ms is not None] + [
        r.received_ms for r in stored if r.road != PAPER]
    made = [d.made_ms for d in phones if not d.is_paper]
    return Contact(phones_n=sum(1 for d in phones if not d.revoked),
                   last_day=local_date(max(moments), zone) if moments else None,
                   first_day=local_date(min(made), zone) if made else None)


def read_gaps(db: Db, log: ClientLog) -> Gaps:
    """Reads what of a client's phones is known to be missing."""
    missing = {d.device: records.gaps(db, d.device) for d in log.devices}
    return Gaps(missing=missing, went_back=audit.devices_with(db, "phone_store_went_back", log.client.id),
                emptied=emptied(log.devices))


def emptied(phones: Sequence[Device]) -> dict[str, Emptied]:
    """Finds the phones that came back without their store; what they had not sent by then is lost.

    Some say which they were. Else one that was not heard of since another of its kind came in by the same link may be
    that one: the link is on one client's sheet.
    """
    found: dict[str, Emptied] = {}
    for now in phones:
        for before in phones:
            is_sure = now.replaces == before.device
            if is_sure or (before.device not in found and _may_be(before, now)):
                found[before.device] = Emptied(now=now, is_sure=is_sure)
    return found


def _may_be(before: Device, now: Device) -> bool:
    is_alike = before.kind == now.kind and before.link_id == now.link_id is not None
    return is_alike and not before.revoked and before.made_ms < now.made_ms and last_heard(before) < now.made_ms


def last_heard(device: Device) -> int:
    """Gives the moment that a phone last spoke; letting it in counts."""
    return device.seen_ms or device.made_ms
