"""A client who may practise at home: every row of the screening answered, every step shown, and it is decided."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.guidance.screening import screening_rows
from webapp.prescribing.practised import ROWS
from webapp.prescribing.screening import ABILITIES, places_of, record_answers
from webapp.prescribing.teach_back import record_ready, record_teach_back
from webapp.storage.database import Db


def answers(**changed: str) -> dict[str, dict[str, str]]:
    """Answers every row with *no* and every question about the person with the best answer."""
    best = {row.id: "no" for row in screening_rows()} | {name: choices[0] for name, choices in ABILITIES.items()}
    return {name: {"answer": answer} for name, answer in (best | changed).items()}


def screen(db: Db, client_id: int, exercises: Sequence[Mapping[str, Any]], now_ms: int, user_id: int = 1,
           **changed: str) -> None:
    """Answers the screening for the places of exercises."""
    record_answers(db, client_id, answers(**changed), places_of(exercises), user_id=user_id, now_ms=now_ms)


def show(db: Db, client_id: int, exercises: Sequence[Mapping[str, Any]], now_ms: int, user_id: int = 1) -> None:
    """Records that each step was done alone, and that it is ready for home."""
    for exercise in exercises:
        marks = ["alone"] * len(exercise["set_up_steps"])
        record_teach_back(db, client_id, exercise, marks, with_unit=True, where="screen",
                          practised=dict.fromkeys(ROWS, "alone"), user_id=user_id, now_ms=now_ms)
        record_ready(db, client_id, exercise, ready=True, user_id=user_id, now_ms=now_ms)


def make_ready(db: Db, client_id: int, exercises: Sequence[Mapping[str, Any]], now_ms: int, user_id: int = 1) -> None:
    screen(db, client_id, exercises, now_ms, user_id)
    show(db, client_id, exercises, now_ms, user_id)
