"""Invented plans and records for the tests of the practice computations."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from webapp.practice.schedule import PlannedExercise, PlanVersion
from webapp.practice.session import DAY_ZERO, MINUTES_A_DAY, Entry

MONDAY = date(2026, 9, 7)
PHONE = "00000000000000a1"


def minute(day: date, hour: int = 9) -> int:
    """Gives the local minutes of an hour on a day."""
    return (day - DAY_ZERO).days * MINUTES_A_DAY + hour * 60


def exercise(number: int = 1, **given: Any) -> PlannedExercise:
    fields: dict[str, Any] = {
        "exercise": number, "title": f"Exercise {number}", "weekdays": frozenset(range(1, 8)), "slots": ("morning",),
        "session_s": 1200, "channel_names": ("opening",), "ceilings": (28.0,),
        "places": ("forearm, upper", "forearm, lower")}
    return PlannedExercise(**{**fields, **given})


def plan(version: int = 1, starts: date = MONDAY, days: int = 56, **given: Any) -> PlanVersion:
    exercises = given.pop("exercises", None) or (exercise(**given),)
    return PlanVersion(version=version, starts=starts, last_day=starts + timedelta(days=days - 1), exercises=exercises)


def session(seq: int, day: date, *, hour: int = 9, device: str = PHONE, marks: dict[str, Any] | None = None,
            **given: Any) -> Entry:
    fields: dict[str, Any] = {
        "plan": 1, "version": 1, "exercise": 1, "planned_s": 1200, "cued_s": 1200, "ended": 1, "pauses_n": 0,
        "contractions_n": [42], "strength_half_ma": [44], "skin_before": [0, 0], "skin_after": [0, 0],
        "pain_before_n": 1, "pain_after_n": 1, "effort_n": 4, "help": 0, "steps_skipped": [], "taps_n": 3,
        "period_ppm": 0, "answered_by": 0, "note": ""}
    return Entry(device=device, seq=seq, kind="session", at_min=minute(day, hour), utc_q=4, fields={**fields, **given},
                 **(marks or {}))


def entry(seq: int, kind: str, day: date, *, hour: int = 9, device: str = PHONE, marks: dict[str, Any] | None = None,
          **fields: Any) -> Entry:
    return Entry(device=device, seq=seq, kind=kind, at_min=minute(day, hour), utc_q=4, fields=fields, **(marks or {}))
