"""Whose first trial a version's values are: found anew, or taken over from a version before with its day and tester.

Taken over, they are asked anew after as many days as the clinic asks its screening again, and where pads, unit or
channels are no longer those that were tried (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from webapp.stimulation.finding import STOP, Finding, make_finding

Exercise = Mapping[str, Any]
TESTED_RULES = frozenset({"trial_old", "trial_elsewhere"})
PAD_FIELDS = ("place", "width_cm", "height_cm", "shape")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """The first trial of an exercise as the newest version has it: when, by whom, with what."""

    on: str
    by: str
    version: int
    exercise: Exercise


def tried_of(history: Sequence[tuple[Exercise, str]]) -> dict[int, Tried]:
    """Reads each exercise's trial from a client's versions, the newest first, each with who issued it.

    A version of an earlier release does not say who tested: then it is as old as the first version with these values.
    """
    if not history:
        return {}
    return {int(one["exercise"]): _first_with(one, history) for one in history[0][0]["exercises"]}


def _first_with(exercise: Exercise, history: Sequence[tuple[Exercise, str]]) -> Tried:
    found = history[0]
    for issued, by in history:
        same = next((one for one in issued["exercises"] if one["exercise"] == exercise["exercise"]), None)
        if same is None or _values(same) != _values(exercise) or _tried_with(same) != _tried_with(exercise):
            break
        found = (issued, by)
        if same.get("tried_on"):
            return Tried(on=same["tried_on"], by=same.get("tried_by", by), version=issued["version"],
                          exercise=exercise)
    return Tried(on=found[0]["issued_on"], by=found[1], version=found[0]["version"], exercise=exercise)


def tested_findings(exercise: Exercise, before: Tried | None, ticked: str, *, today: str, days: int
                    ) -> Iterator[Finding]:
    """Finds a trial that was taken over and is too old, or was of other pads, another unit or other channels."""
    if before is None or is_anew(exercise, before, ticked):
        return
    if _tried_with(exercise) != _tried_with(before.exercise):
        yield make_finding(STOP, "trial_elsewhere", source="practice", field="tested", value=before.on, by=before.by)
    elif (date.fromisoformat(today) - date.fromisoformat(before.on)).days > days:
        yield make_finding(STOP, "trial_old", source="practice", field="tested", value=before.on, limit=float(days),
                           by=before.by)


def is_anew(exercise: Exercise, before: Tried, ticked: str) -> bool:
    """Tells whether it was tested again: the therapist says so, or other values were found."""
    both = zip(_values(exercise), _values(before.exercise), strict=False)  # a channel more or less tells nothing
    return bool(ticked) or any(now != then for now, then in both)


def day_of_tick(ticked: str, today: str) -> str:
    """Gives the day on which the therapist ticked that it was tested again; today where that is no day gone by."""
    try:
        return min(date.fromisoformat(ticked).isoformat(), today)
    except ValueError:
        return today


def signed(exercise: Exercise, before: Tried | None, ticked: str, *, today: str, by: str) -> dict[str, Any]:
    """Gives an exercise with the day and the tester of its trial."""
    if before is None or is_anew(exercise, before, ticked):
        return {**exercise, "tried_on": day_of_tick(ticked, today), "tried_by": by}
    return {**exercise, "tried_on": before.on, "tried_by": before.by}


def _values(exercise: Exercise) -> list[object]:
    return [exercise.get("skin_at_rest", ""), *(_of_channel(each) for each in exercise["channels"])]


def _of_channel(channel: Exercise) -> object:
    trial = channel.get("trial") or {}
    return [*(trial.get(name) for name in ("first_feeling", "first_movement", "comfortable_most")),
            trial.get("movement_seen", True), *(pad.get("sensation", "") for pad in channel["pads"])]


def _tried_with(exercise: Exercise) -> object:
    return [exercise["stimulator"].get("name")] + [
        [[pad.get(name) for name in PAD_FIELDS] for pad in each["pads"]] for each in exercise["channels"]]
