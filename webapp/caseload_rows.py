"""Each client's place in the caseload, worked out from the few records that can matter and kept beside them.

One definition: `practice.attention.reasons` over part of the log says what it says over the whole log, because what is
left out is older than the thresholds' window and no open finding. Intake works the place out anew in its own
transaction; whatever else changes it marks the row stale (a trigger), and the next look, or the worker, does.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from webapp.client_log import ClientLog, read_recent_log
from webapp.practice.adherence import Count
from webapp.practice.attention import Reason, order, recent_count
from webapp.practice.hold import CLINIC, holding
from webapp.practice.rest import EVERY
from webapp.practice.session import local_date
from webapp.practice.weeks import Day
from webapp.storage import caseload, clients, clinic
from webapp.storage.caseload import Place
from webapp.storage.clients import Client
from webapp.storage.database import Db

STRIP_DAYS = 14
AT_ONCE = 20  # so many clients in one write transaction, so that nobody waits for long
log_ = logging.getLogger(__name__)


def work_out(log: ClientLog) -> Place:
    """Works a client's place out: the reasons, the last fortnight, when the log was received, how long the plan is."""
    rank, several = order(log.reasons)
    first = log.today - timedelta(days=STRIP_DAYS - 1)
    strip = [day for week in log.summary_of((first, log.today)).weeks for day in week.days]
    count = recent_count(log.log, log.versions, log.contact, log.today, STRIP_DAYS)
    return Place(
        client_id=log.client.id, day=log.today.isoformat(), rank=rank, reasons_n=-several,
        waits=any(r.needs_answer for r in log.reasons), lasting=log.lasting, seen_record=log.seen_record,
        content={
            "reasons": [_plain_reason(r) for r in log.reasons],
            "strip": [[d.state, d.why, int(d.finding), d.cut] for d in strip if first <= d.day <= log.today],
            "done": [count.done_n, count.due_n, count.cut_n],
            "heard": log.contact.last_day.isoformat() if log.contact.last_day else None,
            "plan": [log.versions[-1].version, log.versions[-1].last_day.isoformat()] if log.versions else None,
            "resting": [[r.device, sorted(r.exercises)] for r in log.rests]
            + [[CLINIC, [EVERY]] for _hold in holding(log.holds, log.today)],
            "rests_until": _rests_until(log)})


def _rests_until(log: ClientLog) -> str:
    """Gives the day from which practice goes on by itself; "" where something else has to come first."""
    days = [hold.until for hold in holding(log.holds, log.today)]
    named = [day for day in days if day]
    return max(named).isoformat() if named and len(named) == len(days) and not log.rests else ""


def _plain_reason(reason: Reason) -> dict[str, Any]:
    return {"rule": reason.rule, "day": reason.day.isoformat() if reason.day else None, "params": reason.params}


def reasons_of(content: Mapping[str, Any]) -> tuple[Reason, ...]:
    """Reads the reasons of a place, as far as a list says them."""
    return tuple(Reason(rule=one["rule"], params=one["params"],
                        day=date.fromisoformat(one["day"]) if one["day"] else None) for one in content["reasons"])


def strip_of(content: Mapping[str, Any], day: date) -> tuple[Day, ...]:
    """Reads the fortnight that ends with a day."""
    strip = content["strip"]
    return tuple(
        Day(day=day - timedelta(days=len(strip) - 1 - n), state=state, why=why, finding=bool(finding), count=Count(),
            cut=cut[0] if cut else "")
        for n, (state, why, finding, *cut) in enumerate(strip))  # a row worked out by an older release has no cut


def refresh(db: Db, client: Client, now_ms: int, zone: ZoneInfo) -> None:
    """Works a client's place out anew, inside the caller's write transaction."""
    caseload.keep(db, work_out(read_recent_log(db, client, now_ms, zone)))


def refresh_after_intake(db: Db, client_id: int, now_ms: int) -> None:
    """Works a place out in the transaction of the records that came, where there is one already.

    A record is never refused because of what is made of it: where that fails the row stays stale and the next look
    at the caseload says what is wrong.
    """
    place, client = caseload.read(db, client_id), clients.read(db, client_id)
    if place is None or client is None:
        return
    try:
        refresh(db, client, now_ms, clinic.read(db).zone)
    except (ArithmeticError, LookupError, TypeError, ValueError):
        log_.exception("the caseload row of client %s could not be worked out", client_id)


def refresh_outdated(db: Db, write: Callable[[], AbstractContextManager[Db]], therapist_id: int | None, now_ms: int,
                     most: int = -1) -> int:
    """Works out every place that was not worked out today or is stale, some at once; returns how many there were."""
    zone = clinic.read(db).zone
    waiting = caseload.outdated(db, therapist_id, local_date(now_ms, zone).isoformat(), most)
    for start in range(0, len(waiting), AT_ONCE):
        with write():
            for client in waiting[start:start + AT_ONCE]:
                refresh(db, client, now_ms, zone)
    return len(waiting)
