"""The skin over time, place by place: everything that was seen and was not *unchanged*."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from webapp.practice.schedule import PlanVersion
from webapp.practice.session import Log, Session
from webapp.practice.skin import NOT_ANSWERED, UNCHANGED
from webapp.practice.skin_findings import MORNING, is_finding, of_entry
from webapp.practice.summary import places_of, skin_answers


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinSeen:
    """One answer about one place, given at `at_min`; `moment` is before, after, hour, morning or apart."""

    place: str
    at_min: int
    moment: str
    answer: int

    @property
    def is_finding(self) -> bool:
        return is_finding(self.answer, morning=self.moment == "morning")


def skin_seen(log: Log, versions: Sequence[PlanVersion]) -> tuple[SkinSeen, ...]:
    """Lists what was seen in sessions and at the looks later, oldest first."""
    found = [SkinSeen(place=a.place, at_min=s.entry.at_min, moment=a.moment, answer=a.answer)
             for s in (*log.sessions, *log.late_sessions, *log.paper) for a in skin_answers(s, versions)]
    found += [*_looks(log, versions), *_apart(log)]
    return tuple(sorted(found, key=lambda seen: seen.at_min))


def _looks(log: Log, versions: Sequence[PlanVersion]) -> Iterable[SkinSeen]:
    session_of: dict[tuple[str, object], Session] = {(s.entry.device, s.entry.seq): s for s in log.sessions}
    for look in log.looks:
        session = session_of.get((look.device, look.fields.get("session_seq")))
        places = places_of(session, versions) if session else ()
        moment = "morning" if look.fields.get("when") == MORNING else "hour"
        for n, answer in enumerate(look.fields.get("skin", ())):
            if isinstance(answer, int) and answer not in (UNCHANGED, NOT_ANSWERED):
                yield SkinSeen(place=places[n] if n < len(places) else str(n + 1), at_min=look.at_min, moment=moment,
                               answer=answer)


def _apart(log: Log) -> Iterable[SkinSeen]:
    """Lists what was noted about the skin without a session; which pad it was under is not told."""
    for found in filter(None, map(of_entry, log.findings)):
        if found.answer not in (UNCHANGED, NOT_ANSWERED):
            yield SkinSeen(place="", at_min=found.entry.at_min, moment="apart", answer=found.answer)
