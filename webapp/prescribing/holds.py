"""What stops a running plan: the screening's answers as they followed one another, and a therapist's word."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from zoneinfo import ZoneInfo

from webapp.guidance.screening import NOT_AT_HOME as GRAVEST
from webapp.guidance.screening import REGIONS, screening_rows
from webapp.practice.hold import BY_WORD, NOT_AT_HOME, Hold, holding
from webapp.practice.session import local_date
from webapp.prescribing.screening import ABILITIES, NO, OVERRIDE, SCREENING, ability_blocks, places_of
from webapp.storage import assessments, clinic, plans
from webapp.storage.assessments import Assessment
from webapp.storage.database import Db

HOLD, HOLD_ENDED, PRACTICE = "hold", "hold_ended", "practice"
UTC_ZONE = ZoneInfo("UTC")
EVERYWHERE = frozenset(f"{region}:{side}" for region in REGIONS for side in ("left", "right"))
BESIDE = ("says_stop", "reaches_off")  # what blocks only where nobody is beside them


def read_holds(db: Db, client_id: int) -> tuple[Hold, ...]:
    """Reads every rest that the clinic asked of a client with a plan, the oldest first, those that are over too."""
    told = assessments.of_kinds(db, client_id, (SCREENING, OVERRIDE, HOLD, HOLD_ENDED))
    if not _replayed(told, EVERYWHERE, UTC_ZONE):
        return ()
    last = plans.newest(db, client_id)
    return _replayed(told, places_of(last.issued["exercises"]), clinic.read(db).zone) if last else ()


def holding_now(db: Db, client_id: int, now_ms: int) -> tuple[Hold, ...]:
    """Reads what of it practice rests by at a moment, in the clinic's time zone."""
    if not (found := read_holds(db, client_id)):
        return ()
    return holding(found, local_date(now_ms, clinic.read(db).zone))


def ask_for_rest(db: Db, client_id: int, why: str, until: date | None, *, user_id: int, now_ms: int) -> int:
    """Keeps a therapist's word that practice rests, from now on until a day or until her word."""
    content = {"why": why, "until": until.isoformat() if until else ""}
    return assessments.add(db, client_id=client_id, kind=HOLD, subject=PRACTICE, content=content, made_ms=now_ms,
                           made_by=user_id)


def end_rest(db: Db, client_id: int, hold_id: int, *, user_id: int, now_ms: int) -> None:
    """Keeps a therapist's word that practice goes on."""
    assessments.add(db, client_id=client_id, kind=HOLD_ENDED, subject=PRACTICE, content={"hold_id": hold_id},
                    made_ms=now_ms, made_by=user_id)


@dataclass(slots=True, kw_only=True)
class _Replay:
    """The answers up to one of them, and what they stop."""

    places: frozenset[str]
    zone: ZoneInfo
    answers: dict[str, Assessment] = field(default_factory=dict)
    overrides: dict[str, Assessment] = field(default_factory=dict)
    found: dict[str | int, Hold] = field(default_factory=dict)
    over: list[Hold] = field(default_factory=list)

    def take(self, one: Assessment) -> None:
        if one.kind in (HOLD, HOLD_ENDED):
            self._take_word(one)
            return
        (self.answers if one.kind == SCREENING else self.overrides)[one.subject] = one
        for subject in {one.subject, *(BESIDE if one.subject == "helper" else ())}:
            self._look(subject, one)

    def _take_word(self, one: Assessment) -> None:
        if one.kind == HOLD:
            until = str(one.content["until"])
            self.found[one.id] = self._begun(one, BY_WORD, why=str(one.content["why"]),
                                             until=date.fromisoformat(until) if until else None)
        elif one.content["hold_id"] in self.found:
            self._end(one.content["hold_id"], one, "")

    def _look(self, subject: str, one: Assessment) -> None:
        blocked = self._blocks(subject)
        if blocked and subject not in self.found:
            self.found[subject] = self._begun(one, NOT_AT_HOME, row=subject)
        elif not blocked and subject in self.found:
            self._end(subject, one, str(one.content.get("reason", "")))

    def _begun(self, one: Assessment, kind: str, *, row: str = "", why: str = "", until: date | None = None) -> Hold:
        return Hold(id=one.id, kind=kind, since_ms=one.made_ms, first_day=local_date(one.made_ms, self.zone),
                    by=one.made_by_name, row=row, why=why, until=until)

    def _end(self, name: str | int, one: Assessment, why: str) -> None:
        hold = self.found.pop(name)
        if one.made_ms > hold.since_ms or why:  # one form's answers are one: what another of them clears never held
            self.over.append(replace(hold, ended_ms=one.made_ms, ended_day=local_date(one.made_ms, self.zone),
                                     ended_by=one.made_by_name, ended_why=why))

    def _blocks(self, subject: str) -> bool:
        """Tells whether the latest answer says *not at home*, however old it is; nobody's silence lifts it."""
        answer, override = self.answers.get(subject), self.overrides.get(subject)
        if answer is None or (override and override.content["answer_id"] == answer.id):
            return False
        if subject in ABILITIES:
            return ability_blocks(subject, self._given())
        row = next((row for row in screening_rows() if row.id == subject), None)
        if row is None or answer.content["answer"] == NO or row.level_for(self.places) != GRAVEST:
            return False
        asked = row.asked_at(self.places)
        return bool(asked & frozenset(answer.content.get("places", ())) if row.local else asked)

    def _given(self) -> Mapping[str, str]:
        return {name: str(self.answers[name].content["answer"]) if name in self.answers else "" for name in ABILITIES}



def _replayed(told: Sequence[Assessment], places: frozenset[str], zone: ZoneInfo) -> tuple[Hold, ...]:
    replay = _Replay(places=places, zone=zone)
    for one in told:
        replay.take(one)
    return tuple(sorted((*replay.over, *replay.found.values()), key=lambda hold: hold.id))
