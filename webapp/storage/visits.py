"""When a client was seen: what the clinic notes at a visit, each with its day. Nothing noted is no visit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from webapp.practice.session import local_date
from webapp.storage import assessments
from webapp.storage.database import Db, rows

SEEN = "seen"  # an assessment of this kind says that a therapist saw the client, and nothing more
# what may be noted at one visit, the one that names it first
KINDS = ("plan", "teach_back", "readings", "goals", "screening", "answer", SEEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One day on which the clinic had to do with a client, and what was noted."""

    day: date
    what: str  # of KINDS
    version: int = 0  # of the plan that was issued


def of_client(db: Db, client_id: int, zone: ZoneInfo) -> tuple[Visit, ...]:
    """Lists a client's visits, the newest first, a day once."""
    found = rows(db, """
        SELECT 'goals' AS what, day, NULL AS at_ms, 0 AS version FROM goal_reviews
          WHERE client_id = ?1 AND withdrawn_ms IS NULL
        UNION ALL SELECT 'readings', day, NULL, 0 FROM readings WHERE client_id = ?1 AND withdrawn_ms IS NULL
        UNION ALL SELECT 'plan', json_extract(issued, '$.issued_on'), NULL, version FROM plans WHERE client_id = ?1
        UNION ALL SELECT 'answer', NULL, answered_ms, 0 FROM answers WHERE client_id = ?1
        UNION ALL SELECT CASE kind WHEN 'ready' THEN 'teach_back' ELSE kind END, NULL, made_ms, 0 FROM assessments
          WHERE client_id = ?1 AND kind IN ('screening', 'teach_back', 'ready', 'seen')""", client_id)
    every = (Visit(day=date.fromisoformat(one["day"]) if one["day"] else local_date(one["at_ms"], zone),
                   what=one["what"], version=one["version"]) for one in found)
    return tuple(sorted(_once(every), key=lambda visit: visit.day, reverse=True))


def _once(every: Iterable[Visit]) -> Iterable[Visit]:
    first: dict[date, Visit] = {}
    for visit in sorted(every, key=lambda one: (KINDS.index(one.what), -one.version)):
        first.setdefault(visit.day, visit)
    return first.values()


def note_seen(db: Db, client_id: int, *, made_ms: int, made_by: int) -> None:
    """Keeps that a therapist saw a client now."""
    assessments.add(db, client_id=client_id, kind=SEEN, subject="client", content={}, made_ms=made_ms, made_by=made_by)
