"""The screening of a client for the places of a plan: what is to be asked, what blocks it, what was overridden."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from webapp.guidance.screening import ASK_FIRST, NOT_AT_HOME, Row, screening_rows
from webapp.prescribing.drafting import Typed, exercise_count, text
from webapp.stimulation.placement import movement
from webapp.storage import assessments, drafts, plans
from webapp.storage.assessments import Assessment
from webapp.storage.database import Db

SCREENING, OVERRIDE = "screening", "override"
DAY_MS = 86_400_000
YES, NO = "yes", "no"
WORD = ("who", "on", "word")  # what the prescriber or surgeon said
ABILITIES: Mapping[str, tuple[str, ...]] = {
    "says_stop": ("reliably", "not_reliably"),
    "reaches_off": ("alone", "with_help", "no"),
    "helper": ("each_time", "sometimes", "nobody"),
    "consent": ("given", "for_them", "no"),
}
NEVER_OVERRIDDEN = frozenset({"consent"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A lead therapist's decision that a plan goes home although an answer says *not at home*."""

    reason: str
    made_ms: int
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One row as it stands for the places of a plan.

    `state`: open (to be asked; `why` new, old or place), clear, care, waits (for the prescriber's word), blocked,
    overridden. `level` is that of a *yes*; an ability has none.
    """

    id: str
    state: str
    why: str = ""
    level: str = ""
    row: Row | None = None
    choices: tuple[str, ...] = (NO, YES)
    answer: Assessment | None = None
    override: Override | None = None

    @property
    def given(self) -> str:
        """The answer that counts; empty while the row is to be asked."""
        return "" if self.answer is None or self.state == "open" else str(self.answer.content["answer"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Screening:
    """Every row for some places, in the order in which they are asked."""

    places: frozenset[str]
    items: tuple[Item, ...]

    def those(self, state: str) -> tuple[Item, ...]:
        return tuple(item for item in self.items if item.state == state)

    @property
    def is_whole(self) -> bool:
        """Tells whether nothing in it keeps a plan from going home."""
        return bool(self.places) and not any(item.state in ("open", "waits", "blocked") for item in self.items)

    def given(self, item_id: str) -> str:
        return next((item.given for item in self.items if item.id == item_id), "")

    @property
    def facts(self) -> dict[str, Any]:
        """Gives what an issued plan carries of it: who helps, whether dysreflexia may come."""
        return {"dysreflexia": self.given("spinal_cord") == YES, "helper": self.given("helper")}


def region_of(movement_id: str) -> str:
    """Names the part of the body in which a movement's pads lie."""
    made = movement(movement_id)
    return made.region if made else "hand"


def places_of(exercises: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    """Lists where the pads of exercises lie, as `shoulder:left`; a side that is not said counts as both."""
    found: set[str] = set()
    for exercise in exercises:
        if exercise.get("movement"):
            side = str(exercise.get("side") or "both")
            sides = (side,) if side in ("left", "right") else ("left", "right")
            found |= {f"{region_of(str(exercise['movement']))}:{one}" for one in sides}
    return frozenset(found)


def places_of_draft(draft: Typed) -> frozenset[str]:
    """Lists where the pads of a draft lie."""
    numbers = range(1, exercise_count(draft) + 1)
    return places_of([{name: text(draft, f"ex{n}.{name}") for name in ("movement", "side")} for n in numbers])


def places_now(db: Db, client_id: int) -> frozenset[str]:
    """Lists where the pads lie in the draft, or in the newest version where there is none."""
    if (saved := drafts.read(db, client_id)) is not None:
        return places_of_draft(saved.content)
    last = plans.newest(db, client_id)
    return places_of(last.issued["exercises"]) if last else frozenset()


def read_screening(db: Db, client_id: int, places: frozenset[str], now_ms: int) -> Screening:
    """Reads how a client's screening stands today for some places."""
    answers = assessments.newest(db, client_id, SCREENING)
    overrides = assessments.newest(db, client_id, OVERRIDE)
    oldest_ms = now_ms - assessments.screening_days(db) * DAY_MS
    rows = [_of_row(row, places, answers.get(row.id), overrides.get(row.id), oldest_ms)
            for row in screening_rows() if row.asked_at(places)]
    given = {name: _ability_given(answers.get(name), oldest_ms) for name in ABILITIES}
    people = [_of_ability(name, given, answers.get(name), overrides.get(name), oldest_ms) for name in ABILITIES]
    return Screening(places=places, items=(*rows, *people))


def _of_row(row: Row, places: frozenset[str], answer: Assessment | None, override: Assessment | None,
            oldest_ms: int) -> Item:
    level = row.level_for(places)
    if why := _why_again(answer, oldest_ms, row.asked_at(places) if row.local else frozenset()):
        return Item(id=row.id, state="open", why=why, level=level, row=row, answer=answer)
    decided = _decided(answer, override)
    state = _state(answer, level, decided)
    return Item(id=row.id, state=state, level=level, row=row, answer=answer, override=decided)


def _why_again(answer: Assessment | None, oldest_ms: int, places: frozenset[str]) -> str:
    if answer is None:
        return "new"
    if answer.made_ms < oldest_ms:
        return "old"
    return "" if places <= frozenset(answer.content.get("places", ())) else "place"


def _decided(answer: Assessment | None, override: Assessment | None) -> Override | None:
    """Gives the override of this very answer: a new answer needs a new decision."""
    if answer is None or override is None or override.content["answer_id"] != answer.id:
        return None
    return Override(reason=override.content["reason"], made_ms=override.made_ms, by=override.made_by_name)


def _state(answer: Assessment | None, level: str, override: Override | None) -> str:
    if answer is None or answer.content["answer"] == NO:
        return "clear"
    if level == NOT_AT_HOME:
        return "overridden" if override else "blocked"
    told = all(answer.content.get(name) for name in WORD)
    return "care" if level != ASK_FIRST or told else "waits"


def _ability_given(answer: Assessment | None, oldest_ms: int) -> str:
    return "" if _why_again(answer, oldest_ms, frozenset()) or answer is None else str(answer.content["answer"])


def _of_ability(name: str, given: Mapping[str, str], answer: Assessment | None, override: Assessment | None,
                oldest_ms: int) -> Item:
    if why := _why_again(answer, oldest_ms, frozenset()):
        return Item(id=name, state="open", why=why, choices=ABILITIES[name], answer=answer)
    decided = None if name in NEVER_OVERRIDDEN else _decided(answer, override)
    blocked = ability_blocks(name, given)
    state = ("overridden" if decided else "blocked") if blocked else "clear"
    return Item(id=name, state=state, level=NOT_AT_HOME if blocked else "", choices=ABILITIES[name], answer=answer,
                override=decided if blocked else None)


def ability_blocks(name: str, given: Mapping[str, str]) -> bool:
    """Tells whether what a person can do keeps the plan in the clinic (common practice, no source).

    Who cannot say stop every time, or cannot reach off alone, needs somebody beside them each time; nothing goes home
    without consent.
    """
    beside = given.get("helper") == "each_time"
    if name == "says_stop":
        return given[name] == "not_reliably" and not beside
    if name == "reaches_off":
        return given[name] in ("no", "with_help") and not beside
    return name == "consent" and given[name] == NO


def record_answers(db: Db, client_id: int, answers: Mapping[str, Mapping[str, str]], places: frozenset[str], *,
                   user_id: int, now_ms: int) -> int:
    """Keeps answers (row → answer, and what was said), signed; one that says the same as what still counts is left."""
    standing = {item.id: item for item in read_screening(db, client_id, places, now_ms).items}
    kept = 0
    for item_id, told in answers.items():
        item = standing.get(item_id)
        if item is None or told.get("answer") not in item.choices or not _is_news(item, told):
            continue
        asked = sorted(item.row.asked_at(places)) if item.row else sorted(places)
        before = item.answer.content.get("places", ()) if item.answer and item.state != "open" else ()
        content = {**told, "places": sorted({*asked, *before})}
        assessments.add(db, client_id=client_id, kind=SCREENING, subject=item_id, content=content, made_ms=now_ms,
                        made_by=user_id)
        kept += 1
    return kept


def _is_news(item: Item, told: Mapping[str, str]) -> bool:
    if item.state == "open" or item.answer is None:
        return True
    return any(str(item.answer.content.get(name, "")) != value for name, value in told.items())


def record_override(db: Db, client_id: int, item: Item, reason: str, *, user_id: int, now_ms: int) -> None:
    """Keeps a lead's override of the answer that stands now."""
    if item.answer is None or item.state != "blocked" or item.id in NEVER_OVERRIDDEN:
        raise ValueError(f"nothing to override in {item.id}")
    content = {"answer_id": item.answer.id, "reason": reason}
    assessments.add(db, client_id=client_id, kind=OVERRIDE, subject=item.id, content=content, made_ms=now_ms,
                    made_by=user_id)
