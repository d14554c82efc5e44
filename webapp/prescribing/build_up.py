"""Build-up over weeks: what each step does, in words, and what the check finds about its minutes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

from webapp.prescribing.changes import day_text
from webapp.stimulation.finding import Finding
from webapp.stimulation.limits import check
from webapp.stimulation.plan import Settings
from webapp.stimulation.stimulator import Stimulator
from webapp.stimulation.units import number_text
from webapp.translations import Translate

Exercise = Mapping[str, Any]
OF_FIRST_SESSION = "first_exercise_long"  # a later step is no first session


def step_findings(raw: Exercise, settings: Settings, unit: Stimulator | None) -> Iterator[tuple[int, Finding]]:
    """Finds what speaks against the minutes of each step, with the step's number: the unit, the ranges of practice."""
    for k, row in enumerate(raw.get("minutes_by_date", ()), 1):
        minutes = row["session_min"]
        if isinstance(minutes, (int, float)) and minutes > 0:
            found = check(replace(settings, session_min=minutes), unit)
            yield from ((k, one) for one in found if one.field == "session_min" and one.rule != OF_FIRST_SESSION)


def build_up_words(raw: Exercise, first_day: str, last_day: str, t: Translate) -> list[str]:
    """Says what the steps do, one sentence each, and what happens on the unit; empty where there are none to read."""
    rows = [(row["from"], row["session_min"]) for row in raw.get("minutes_by_date", ()) if _readable(row)]
    if not rows:
        return []
    steps = sorted([("", raw["settings"].get("session_min", "")), *rows])
    said = [t("build.first", n=_minutes(steps[0][1]))]
    for (_, before), (day, minutes) in pairwise(steps):
        never, at_once = bool(last_day) and day > last_day, bool(first_day) and day <= first_day
        key = "build.never" if never else "build.at_once" if at_once else "build.then"
        said.append(t(key, day=day_text(day, t), n=_minutes(minutes), before=_minutes(before)))
    return [*said, t("build.unit_sets" if _unit_sets_minutes(raw) else "build.phone_ends")]


def _minutes(value: object) -> str:
    return number_text(value) if isinstance(value, (int, float)) else "…"


def _readable(row: Mapping[str, Any]) -> bool:
    try:
        date.fromisoformat(row["from"])
    except ValueError:
        return False
    return isinstance(row["session_min"], (int, float))


def _unit_sets_minutes(raw: Exercise) -> bool:
    return any(one["name"] == "session_min" for one in raw.get("stimulator", {}).get("settings", ()))
