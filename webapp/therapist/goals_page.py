"""What the page of goals and measures shows: each goal with its level now, the score with its working, each measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.practice.goals import Attainment, Goal, GoalReview, attainment, baseline, course, review_days
from webapp.practice.measures import Change, Measure, Reading, change, of_measure
from webapp.practice.summary import Summary
from webapp.storage.goals import NotedReview
from webapp.storage.measures import NotedReading
from webapp.therapist.measure_chart import MeasureChart, measure_chart


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalRow:
    """One goal that counts, with its newest level and the reviews behind it."""

    goal: Goal
    level: int
    reviewed: GoalReview | None
    reviews: tuple[NotedReview, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureRow:
    """One measure with its readings; `chart` lays them over the weeks of practice."""

    measure: Measure
    readings: tuple[NotedReading, ...]
    counted: tuple[Reading, ...]
    change: Change | None
    chart: MeasureChart


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalsPage:
    """Everything on the page."""

    goals: tuple[GoalRow, ...]
    aside: tuple[Goal, ...]
    before: Attainment
    now: Attainment | None  # None until something was reviewed
    course: tuple[Attainment, ...]
    measures: tuple[MeasureRow, ...]
    in_use: tuple[Measure, ...]
    summary: Summary

    @property
    def gained(self) -> float | None:
        """The score now less the score at the baseline."""
        after = self.now.t_score if self.now else None
        before = self.before.t_score
        return None if after is None or before is None else after - before


def goals_page(goals: Sequence[Goal], noted: Sequence[NotedReview], measures: Sequence[Measure],
               in_use: Sequence[Measure], readings: Sequence[NotedReading], summary: Summary) -> GoalsPage:
    """Puts the page together."""
    reviews = [n.review for n in noted]
    days = review_days(goals, reviews)
    now = attainment(goals, reviews, days[-1]) if days else None
    scored = {s.goal.number: s for s in (now or baseline(goals)).scored}
    return GoalsPage(
        goals=tuple(_goal_row(g, scored[g.number].level, noted) for g in goals if g.number in scored),
        aside=tuple(g for g in goals if g.set_aside), before=baseline(goals), now=now, course=course(goals, reviews),
        measures=tuple(_measure_row(m, readings, summary) for m in measures
                       if any(r.reading.measure == m.number for r in readings)),
        in_use=tuple(in_use), summary=summary)


def _goal_row(goal: Goal, level: int, noted: Sequence[NotedReview]) -> GoalRow:
    own = tuple(n for n in noted if n.review.goal == goal.number)
    newest = max(own, key=lambda n: (n.review.day, n.id), default=None)
    return GoalRow(goal=goal, level=level, reviewed=newest.review if newest else None,
                   reviews=tuple(sorted(own, key=lambda n: (n.review.day, n.id), reverse=True)))


def _measure_row(measure: Measure, noted: Sequence[NotedReading], summary: Summary) -> MeasureRow:
    own = tuple(n for n in noted if n.reading.measure == measure.number)
    readings = [n.reading for n in own]
    counted = of_measure(measure, readings)
    return MeasureRow(measure=measure, counted=counted, change=change(measure, readings),
                      readings=tuple(sorted(own, key=lambda n: (n.reading.day, n.id), reverse=True)),
                      chart=measure_chart(measure, counted, summary.weeks, summary.versions))
