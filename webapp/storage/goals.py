"""A client's goals and what was found at their reviews."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from webapp.practice.goals import Goal, GoalReview
from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class NotedReview:
    """One review as it was noted."""

    id: int
    review: GoalReview
    noted_by_name: str


def _goal(found: Mapping[str, Any]) -> Goal:
    return Goal(number=found["id"], words=found["words"], levels=tuple(json.loads(found["levels"])),
                importance=found["importance"], difficulty=found["difficulty"], baseline=found["baseline"],
                set_on=date.fromisoformat(found["set_on"]), set_aside=found["set_aside"])


def of_client(db: Db, client_id: int) -> list[Goal]:
    """Reads a client's goals in the order in which they were set."""
    return [_goal(found) for found in rows(db, "SELECT * FROM goals WHERE client_id = ? ORDER BY id", client_id)]


def read(db: Db, client_id: int, number: int) -> Goal | None:
    """Reads one goal of a client."""
    found = row(db, "SELECT * FROM goals WHERE client_id = ? AND id = ?", client_id, number)
    return _goal(found) if found else None


def add(db: Db, client_id: int, goal: Goal, *, made_ms: int, made_by: int) -> int:
    """Keeps a new goal and gives its number."""
    made = db.execute(
        "INSERT INTO goals (client_id, words, levels, importance, difficulty, baseline, set_on, set_aside, made_ms,"
        " made_by) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [client_id, goal.words, _levels(goal.levels), goal.importance, goal.difficulty, goal.baseline,
         goal.set_on.isoformat(), goal.set_aside, made_ms, made_by])
    return int(made.lastrowid or 0)


def change(db: Db, client_id: int, goal: Goal) -> None:
    """Replaces what a goal says."""
    db.execute("UPDATE goals SET words = ?, levels = ?, importance = ?, difficulty = ?, baseline = ?, set_on = ?"
               " WHERE client_id = ? AND id = ?",
               [goal.words, _levels(goal.levels), goal.importance, goal.difficulty, goal.baseline,
                goal.set_on.isoformat(), client_id, goal.number])


def set_aside(db: Db, client_id: int, number: int, why: str) -> None:
    """Notes why a goal no longer counts; an empty reason lets it count again."""
    db.execute("UPDATE goals SET set_aside = ? WHERE client_id = ? AND id = ?", [why, client_id, number])


def _levels(levels: Sequence[str]) -> str:
    return json.dumps(list(levels), ensure_ascii=False)


def reviews(db: Db, client_id: int) -> list[NotedReview]:
    """Reads what was found at a client's reviews, in the order in which it was noted."""
    found = rows(db, "SELECT goal_reviews.*, users.name AS noted_by_name FROM goal_reviews"
                     " JOIN users ON users.id = noted_by WHERE client_id = ? AND withdrawn_ms IS NULL"
                     " ORDER BY goal_reviews.id", client_id)
    return [NotedReview(id=one["id"], noted_by_name=one["noted_by_name"],
                        review=GoalReview(goal=one["goal_id"], day=date.fromisoformat(one["day"]), level=one["level"],
                                          note=one["note"])) for one in found]


def add_review(db: Db, client_id: int, review: GoalReview, *, noted_ms: int, noted_by: int) -> None:
    """Keeps what was found."""
    db.execute("INSERT INTO goal_reviews (client_id, goal_id, day, level, note, noted_ms, noted_by)"
               " VALUES (?, ?, ?, ?, ?, ?, ?)",
               [client_id, review.goal, review.day.isoformat(), review.level, review.note, noted_ms, noted_by])


def withdraw_review(db: Db, client_id: int, review_id: int, at_ms: int) -> None:
    """Takes out what was noted wrongly; the row stays."""
    db.execute("UPDATE goal_reviews SET withdrawn_ms = coalesce(withdrawn_ms, ?) WHERE client_id = ? AND id = ?",
               [at_ms, client_id, review_id])
