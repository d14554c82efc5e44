"""Invented goals and measures of a few of the demo's clients. Days count back from today."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from webapp.practice.goals import Goal, GoalReview
from webapp.practice.measures import Measure, Reading
from webapp.storage import clients, goals, measures
from webapp.storage.database import Db

OURS = "our own agreement, no source"
MEASURES = (
    Measure(number=1, name="Grip, mean of 3", unit="kg", direction="more", smallest_change=4, source=OURS),
    Measure(number=2, name="Blocks moved in a minute", unit="blocks", direction="more", smallest_change=6, source=OURS),
    Measure(number=3, name="Ten metres, own pace", unit="s", direction="less", smallest_change=3, source=OURS),
    Measure(number=4, name="Wrist lifted by itself", unit="°", direction="more"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """One goal and the levels found at reviews: days ago to level."""

    words: str
    levels: tuple[str, str, str, str, str]
    importance: int
    difficulty: int
    found: dict[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Aims:
    """The goals of one client, agreed so many days ago, and readings: measure to days ago to value."""

    agreed: int
    goals: tuple[Aim, ...]
    readings: dict[int, dict[int, float]]


AIMS = {
    "SL-01": Aims(agreed=51, goals=(
        Aim(words="Get down to my garden by myself", importance=3, difficulty=2, found={30: -1, 2: 1}, levels=(
            "Stays indoors", "One step, held by somebody", "Three steps with the rail and somebody beside her",
            "Three steps with the rail, alone", "Three steps and a walk to the bench, alone")),),
        readings={3: {51: 21.5, 30: 18, 2: 14.5}}),
    "SL-02": Aims(agreed=68, goals=(
        Aim(words="Hold my cup with the right hand", importance=3, difficulty=2, found={40: 0, 12: 1}, levels=(
            "Cannot close the hand round it", "Holds it empty, when it is put there", "Lifts it half full",
            "Drinks from it, the other hand near", "Drinks and puts it down without thinking")),
        Aim(words="Play a slow tune with one finger", importance=2, difficulty=3, found={40: -1, 12: -1}, levels=(
            "No key goes down", "Presses single keys", "Five notes in a row", "A whole slow tune",
            "A tune with two fingers")),),
        readings={1: {68: 5.5, 40: 7.0, 12: 10.0}, 4: {68: 12, 40: 20, 12: 31}}),
    "SL-05": Aims(agreed=40, goals=(
        Aim(words="Not stumble on my own carpet", importance=3, difficulty=2, found={10: 0}, levels=(
            "Needs somebody's arm indoors", "Catches his toes several times a day", "Catches them once or twice a day",
            "Once or twice a week", "Not in a whole week")),),
        readings={3: {40: 24, 10: 22.5}}),
    "SL-07": Aims(agreed=70, goals=(
        Aim(words="Open my hand to let go of a jar", importance=3, difficulty=3, found={42: -1, 14: 1}, levels=(
            "Somebody opens the fingers", "Lets go after a long stretch", "Lets go within half a minute",
            "Lets go within ten seconds", "Lets go at once, mostly")),
        Aim(words="Zip up my jacket", importance=2, difficulty=2, found={42: 0, 14: 0}, levels=(
            "Does it with one hand and teeth", "Holds the end with the weak hand, slips",
            "Zips it with two tries or three", "Zips it at the first try", "Zips it standing at the bus stop")),),
        readings={1: {70: 8.0, 42: 9.5, 14: 12.5}, 2: {70: 11, 42: 15, 14: 19}}),
}


def add_goals(db: Db, user_id: int, today: date, moment_ms: Callable[[int], int]) -> None:
    """Adds the clinic's measures, and the goals and readings of the clients that have some."""
    for measure in MEASURES:
        measures.add(db, measure, moment_ms(80))
    for code, aims in AIMS.items():
        client = clients.read_by_code(db, code)
        if client is not None:
            _add_goals(db, client.id, aims, client.therapist_id or user_id, today, moment_ms)


def _add_goals(db: Db, client_id: int, aims: Aims, by: int, today: date, moment_ms: Callable[[int], int]) -> None:
    def day(days_ago: int) -> date:
        return today - timedelta(days=days_ago)

    for aim in aims.goals:
        goal = Goal(number=0, words=aim.words, levels=aim.levels, importance=aim.importance, difficulty=aim.difficulty,
                    baseline=-1, set_on=day(aims.agreed))
        number = goals.add(db, client_id, goal, made_ms=moment_ms(aims.agreed), made_by=by)
        for ago, level in aim.found.items():
            goals.add_review(db, client_id, GoalReview(goal=number, day=day(ago), level=level),
                             noted_ms=moment_ms(ago), noted_by=by)
    for measure, values in aims.readings.items():
        for ago, value in values.items():
            measures.add_reading(db, client_id, Reading(measure=measure, day=day(ago), value=value),
                                 noted_ms=moment_ms(ago), noted_by=by)
