"""Goal attainment: goals with five written levels, and the T-score that sums up how far they were reached.

T = 50 + 10·Σ(w·x) ÷ √((1 − ρ)·Σw² + ρ·(Σw)²), with ρ = 0.3, x the level from −2 to +2, 0 the expected one, and
w = importance × difficulty. Turner-Stokes, Clin Rehabil 2009;23:362, *as its erratum gives it*: the paper was printed
with wrong formulas, and copies of the print mislead. 50 says: on the whole as expected.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt

SOURCE = "S51"
LEVELS = (-2, -1, 0, 1, 2)
CORRELATION = 0.3  # between goals, as the method's authors took it
HIGHEST_WEIGHT = 3  # importance and difficulty: 0 to 3 each


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """One goal in the client's words; `levels` says what each of −2 … +2 looks like."""

    number: int
    words: str
    levels: tuple[str, str, str, str, str]
    importance: int
    difficulty: int
    baseline: int
    set_on: date
    set_aside: str = ""  # why it no longer counts

    @property
    def weight(self) -> int:
        return self.importance * self.difficulty

    def level_words(self, level: int) -> str:
        return self.levels[LEVELS.index(level)]


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalReview:
    """The level that a goal had reached on a day."""

    goal: int
    day: date
    level: int
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """One goal in the working: its weight and its level."""

    goal: Goal
    level: int
    reviewed_on: date | None  # None: not reviewed by then, so the baseline stands

    @property
    def weighted(self) -> int:
        return self.goal.weight * self.level


@dataclass(frozen=True, slots=True, kw_only=True)
class Attainment:
    """The T-score on a day, with everything that it was worked out from."""

    day: date
    scored: tuple[Scored, ...]

    @property
    def sum_weighted(self) -> int:
        return sum(s.weighted for s in self.scored)

    @property
    def sum_weights(self) -> int:
        return sum(s.goal.weight for s in self.scored)

    @property
    def sum_squares(self) -> int:
        return sum(s.goal.weight**2 for s in self.scored)

    @property
    def spread(self) -> float:
        """The square root under the fraction."""
        return sqrt((1 - CORRELATION) * self.sum_squares + CORRELATION * self.sum_weights**2)

    @property
    def t_score(self) -> float | None:
        """None where every weight is zero (or there is no goal): the score is not defined then."""
        return 50 + 10 * self.sum_weighted / self.spread if self.sum_weights else None


def counting(goals: Iterable[Goal]) -> tuple[Goal, ...]:
    """Leaves out the goals that were set aside."""
    return tuple(g for g in goals if not g.set_aside)


def attainment(goals: Iterable[Goal], reviews: Sequence[GoalReview], day: date) -> Attainment:
    """Scores each counting goal by its newest review up to a day, else by its baseline."""
    return Attainment(day=day, scored=tuple(_scored(g, reviews, day) for g in counting(goals)))


def baseline(goals: Iterable[Goal]) -> Attainment:
    """Scores each counting goal by its baseline."""
    kept = counting(goals)
    begun = min((g.set_on for g in kept), default=date.min)
    return Attainment(day=begun, scored=tuple(Scored(goal=g, level=g.baseline, reviewed_on=None) for g in kept))


def _scored(goal: Goal, reviews: Sequence[GoalReview], day: date) -> Scored:
    newest = newest_review(goal, reviews, day)
    return Scored(goal=goal, level=newest.level if newest else goal.baseline,
                  reviewed_on=newest.day if newest else None)


def newest_review(goal: Goal, reviews: Sequence[GoalReview], day: date) -> GoalReview | None:
    """Finds the last review of a goal up to a day; of two on one day the one noted later counts."""
    found = [r for r in reviews if r.goal == goal.number and r.day <= day]
    return max(enumerate(found), key=lambda pair: (pair[1].day, pair[0]))[1] if found else None


def review_days(goals: Iterable[Goal], reviews: Iterable[GoalReview]) -> tuple[date, ...]:
    """Lists the days on which a counting goal was reviewed, oldest first."""
    numbers = {g.number for g in counting(goals)}
    return tuple(sorted({r.day for r in reviews if r.goal in numbers}))


def course(goals: Sequence[Goal], reviews: Sequence[GoalReview]) -> tuple[Attainment, ...]:
    """Gives the score at the baseline and on each day of a review."""
    return (baseline(goals), *(attainment(goals, reviews, day) for day in review_days(goals, reviews)))
