"""What was asked and shown in the demo's clinic before each plan went home, through the functions of a real one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.demo.cases import Case
from webapp.guidance.screening import screening_rows
from webapp.prescribing.practised import ROWS
from webapp.prescribing.screening import ABILITIES, places_of, read_screening, record_answers, record_override
from webapp.prescribing.teach_back import read_readiness, record_ready, record_teach_back
from webapp.storage.database import Db

HOUR_MS = 3_600_000
LEAD = "imke"


def answers_of(case: Case) -> dict[str, dict[str, str]]:
    """Answers each row with *no* and each question about the person with the best, but for what the case says."""
    found = {row.id: {"answer": "no"} for row in screening_rows()}
    found |= {name: {"answer": choices[0]} for name, choices in ABILITIES.items()}
    return found | {"helper": {"answer": "each_time" if case.helper else "sometimes"}} | case.screening


def before_it_goes_home(db: Db, client_id: int, case: Case, issued: Mapping[str, Any], people: Mapping[str, int],
                        now_ms: int) -> None:
    """Screens the client an hour before a plan is issued, shows the steps that are new, and decides."""
    user_id, exercises = people[case.therapist], issued["exercises"]
    places, asked_ms = places_of(exercises), now_ms - HOUR_MS
    record_answers(db, client_id, answers_of(case), places, user_id=user_id, now_ms=asked_ms)
    for item in read_screening(db, client_id, places, asked_ms).those("blocked"):
        if case.override and item.id == case.override[0]:
            record_override(db, client_id, item, case.override[1], user_id=people[LEAD], now_ms=asked_ms)
    for exercise, standing in zip(exercises, read_readiness(db, client_id, exercises), strict=True):
        if standing.state != "holds":
            _shown(db, client_id, case, exercise, user_id, asked_ms)


def _shown(db: Db, client_id: int, case: Case, exercise: Mapping[str, Any], user_id: int, now_ms: int) -> None:
    """Runs the steps dry with a prompt or two, then with the unit; a helper's hands count as help."""
    steps = exercise["set_up_steps"]
    first = ["prompt" if n in (2, 5) else "alone" for n in range(len(steps))]
    last = ["help" if case.hands_on > 0.5 and step["part"] == "pads" else "alone" for step in steps]
    on = dict.fromkeys(ROWS, "alone") | {"skin_after": "prompt"}
    if case.hands_on > 0.5:
        on |= {"off": "help"}
    for marks, with_unit in ((first, False), (last, True)):
        record_teach_back(db, client_id, exercise, marks, with_unit=with_unit, where="screen", practised=on,
                          user_id=user_id, now_ms=now_ms)
    record_ready(db, client_id, exercise, ready=True, user_id=user_id, now_ms=now_ms)
