"""What keeps a plan from going home: its screening, and whether the client has shown that they can do it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from webapp.practice.session import local_date
from webapp.prescribing.screening import ABILITIES, WORD, YES, Item, Screening, places_of, read_screening
from webapp.prescribing.teach_back import HOLDS, LAPSED, Readiness, read_readiness
from webapp.storage import clinic
from webapp.storage.database import Db
from webapp.translations import Translate

SCREENING_PAGE, TEACH_BACK_PAGE, PLAN_PAGE = "screening", "teach-back", "plan"


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """One thing that keeps a plan in the clinic: the key of its text (`obstacle.<key>`) and the page that mends it."""

    key: str
    page: str
    params: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a client stands for a plan: the screening, the readiness of each exercise, what keeps it from going home."""

    screening: Screening
    readiness: tuple[Readiness, ...]
    obstacles: tuple[Obstacle, ...]

    @property
    def lapsed(self) -> tuple[Readiness, ...]:
        """Lists the exercises that go home only with a written reason."""
        return tuple(one for one in self.readiness if one.state == LAPSED)


def short_name(item: Item, t: Translate) -> str:
    """Names a row in few words."""
    return t(f"{'ability' if item.id in ABILITIES else 'screening'}.{item.id}.short")


def read_standing(db: Db, client_id: int, issued: Mapping[str, Any], now_ms: int, t: Translate) -> Standing:
    """Reads all of it for a plan (wattlebird.issued/1, whole or not)."""
    screening = read_screening(db, client_id, places_of(issued["exercises"]), now_ms)
    readiness = tuple(read_readiness(db, client_id, issued["exercises"]))
    obstacles = (*_of_screening(screening, str(issued["first_day"]), t), *_of_readiness(readiness))
    return Standing(screening=screening, readiness=readiness, obstacles=obstacles)


def _of_screening(screening: Screening, first_day: str, t: Translate) -> Iterator[Obstacle]:
    if not screening.places:
        yield Obstacle(key="no_place", page=PLAN_PAGE)
        return
    if asked := screening.those("open"):
        yield Obstacle(key="screening_open", page=SCREENING_PAGE, params={"n": len(asked)})
    for item in screening.those("blocked"):
        yield Obstacle(key="screening_blocked", page=SCREENING_PAGE, params={"what": short_name(item, t)})
    for item in screening.those("waits"):
        yield Obstacle(key="screening_waits", page=SCREENING_PAGE, params={"what": short_name(item, t)})
    for item in screening.those("care"):
        if item.answer and _not_before(item) > first_day:
            params = {"what": short_name(item, t), "day": _not_before(item)}
            yield Obstacle(key="word_not_yet", page=PLAN_PAGE, params=params)


def _not_before(item: Item) -> str:
    """Gives the day from which the prescriber's or surgeon's word holds."""
    told = item.answer.content if item.answer else {}
    return str(told.get("on", "")) if told.get("answer") == YES and all(told.get(name) for name in WORD) else ""


def _of_readiness(readiness: tuple[Readiness, ...]) -> Iterator[Obstacle]:
    for one in readiness:
        if one.state not in (HOLDS, LAPSED):
            params = {"title": one.title, "n": one.exercise}
            yield Obstacle(key=f"teach_back_{one.state}", page=f"{TEACH_BACK_PAGE}/{one.exercise}", params=params)


def carried(db: Db, standing: Standing, t: Translate) -> dict[str, Any]:
    """Gives what an issued plan carries of the screening: who helps, dysreflexia, what was overridden and why."""
    zone = clinic.read(db).zone
    overrides = [{"item": item.id, "words": short_name(item, t), "reason": item.override.reason,
                  "by": item.override.by, "on": _day(item.override.made_ms, zone)}
                 for item in standing.screening.those("overridden") if item.override]
    return {**standing.screening.facts, "overrides": overrides}


def _day(at_ms: int, zone: ZoneInfo) -> str:
    return local_date(at_ms, zone).isoformat()
