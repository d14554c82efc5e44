"""What a therapist does to a draft's shape: exercises, steps and rows come, go and move; blanks get their defaults."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any, NamedTuple

from webapp.prescribing.drafting import (
    ASKS,
    MOST_BUILD,
    MOST_EXERCISES,
    MOST_STEPS,
    PADS,
    PHASES,
    Known,
    Typed,
    channel_count,
    exercise_count,
    rows,
    text,
)
from webapp.prescribing.first_trial import use_trial
from webapp.prescribing.placing import mark_photo, place_pads
from webapp.prescribing.starting import start_from
from webapp.prescribing.step_editing import STEP_FIELDS, keep_steps_fresh, write_rows, write_steps
from webapp.stimulation.placement import movement
from webapp.translations import Translate

WEEKS = 8  # what a new plan starts with, and the therapist changes
STARTING = {  # common practice, no source: an ordinary beginning, to be changed; no strength and no ceiling among them
    "drive": "cycled",
    "frequency_hz": "35",
    "pulse_width_us": "250",
    "session_min": "10",
    "ramp_up_s": "1",
    "hold_s": "5",
    "ramp_down_s": "1",
    "rest_s": "15",
    "relation": "alternating",
    "delay_s": "1",
    "waveform": "symmetric_biphasic",
    "pattern": "continuous",
    "ramps": "outside",
    "starts_with": "rise",
    "at_end": "cut",
    "alternating_rest": "after_both",
    "delay_from": "contraction_end",
    "delay_effect": "shift",
    "two": "1",
    "pace": "plan",
}
PARTNER = {  # the movement that the second channel makes, where there is an opposite one
    "open_hand": "grasp",
    "wrist_extension": "grasp",
    "grasp": "open_hand",
    "knee_extension": "knee_flexion",
    "knee_flexion": "knee_extension",
    "ankle_dorsiflexion": "ankle_plantarflexion",
    "ankle_plantarflexion": "ankle_dorsiflexion",
    "elbow_extension": "elbow_flexion",
    "elbow_flexion": "elbow_extension",
}


def new_draft(known: Known) -> Typed:
    """Starts a plan: one exercise, from today, eight weeks."""
    first = date.fromisoformat(known.today)
    last = first + timedelta(weeks=WEEKS, days=-1)
    draft: Typed = {
        "exercises": "1",
        "first_day": first.isoformat(),
        "last_day": last.isoformat(),
        "least_hours_between": "4",
        "most_per_day": "2",
        "cautions": "",
    }
    draft |= {f"ask_{name}": "each" for name in ASKS}
    return draft | dict(_new_exercise(1, known))


def _new_exercise(n: int, known: Known) -> Iterator[tuple[str, str | list[str]]]:
    ex = f"ex{n}"
    yield from ((f"{ex}.{name}", value) for name, value in STARTING.items())
    weak = {"left": "right", "right": "left"}.get(known.working_side, "")
    yield f"{ex}.side", weak
    yield f"{ex}.stimulator", next(iter(known.stimulators)) if len(known.stimulators) == 1 else ""
    yield f"{ex}.days", list("1234567")
    yield f"{ex}.slots", ["morning", "afternoon"]
    for ch in ("ch1", "ch2"):
        for pad in PADS:
            yield f"{ex}.{ch}.{pad}.shape", "square"


def apply_action(draft: Typed, action: str, known: Known, t: Translate) -> Typed:
    """Does what a button asks (`step_up:1:3`: exercise 1, step 3) and fills what follows; the draft given stays."""
    name, _, rest = action.partition(":")
    numbers = [int(part) for part in rest.split(":") if part.isdigit()]
    changed = dict(draft)
    if name == "exercise_add":
        _add_exercise(changed, known)
    elif name == "start_from" and numbers:
        start_from(changed, numbers[0], rest.partition(":")[2], known)
    elif name == "exercise_remove" and numbers:
        changed = _without_exercise(changed, numbers[0])
    elif name == "use_trial" and numbers:
        use_trial(changed, numbers[0], known.stimulators.get(text(changed, f"ex{numbers[0]}.stimulator"), {}))
    elif name == "steps_again" and numbers:
        write_steps(changed, numbers[0], known, t)
    elif name.startswith(("step_", "build_")) and numbers:
        _edit_rows(changed, name, numbers)
    fill_defaults(changed, known, t)
    return changed


def _add_exercise(draft: Typed, known: Known) -> None:
    n = exercise_count(draft) + 1
    if n <= MOST_EXERCISES:
        draft["exercises"] = str(n)
        draft.update(_new_exercise(n, known))


def _without_exercise(draft: Typed, gone: int) -> Typed:
    if exercise_count(draft) == 1:
        return draft
    kept: Typed = {"exercises": str(exercise_count(draft) - 1)}
    for name, value in draft.items():
        found = re.match(r"ex(\d)\.(.*)", name)
        if found is None:
            kept.setdefault(name, value)
        elif (n := int(found.group(1))) != gone:
            kept[f"ex{n - (n > gone)}.{found.group(2)}"] = value
    return kept


ROWS: Mapping[str, tuple[tuple[str, ...], int]] = {
    "step": (STEP_FIELDS, MOST_STEPS),
    "build": (("from", "session_min"), MOST_BUILD),
}


def _edit_rows(draft: Typed, action: str, numbers: list[int]) -> None:
    kind, _, what = action.partition("_")
    fields, most = ROWS[kind]
    prefix, row = f"ex{numbers[0]}.{kind}", (numbers[1] if len(numbers) > 1 else 0) - 1
    table = [[text(draft, f"{prefix}{n}.{f}") for f in fields] for n in range(1, rows(draft, prefix, most) + 1)]
    if what == "add" and len(table) < most:
        table.append(["", table[-1][1] if table else "pads", "", ""] if kind == "step" else ["", ""])
    elif what == "remove" and 0 <= row < len(table):
        del table[row]
    elif what == "photo_off" and 0 <= row < len(table):
        table[row][-1] = ""
    elif what in ("up", "down") and 0 <= row < len(table):
        other = row + (1 if what == "down" else -1)
        if 0 <= other < len(table):
            table[row], table[other] = table[other], table[row]
    write_rows(draft, prefix, fields, table)


def fill_defaults(draft: Typed, known: Known, t: Translate) -> None:
    """Fills what follows from a movement, a stimulator, a second channel just chosen; what was typed stays."""
    for n in range(1, exercise_count(draft) + 1):
        ex = f"ex{n}"
        chosen = Choice(text(draft, f"{ex}.movement"), text(draft, f"{ex}.stimulator"), channel_count(draft, ex))
        before = text(draft, f"{ex}.defaults_for")
        if before != chosen.mark:
            old = dict(_defaults(ex, Choice.of(before), known, t))
            for name, value in _defaults(ex, chosen, known, t):
                if text(draft, name) in ("", old.get(name, "")):
                    draft[name] = value
            draft[f"{ex}.defaults_for"] = chosen.mark
        for c in range(1, chosen.channels + 1):
            place_pads(draft, f"{ex}.ch{c}", chosen.movement_of(c))
            mark_photo(draft, f"{ex}.ch{c}")
        keep_steps_fresh(draft, n, known, t)


class Choice(NamedTuple):
    """What an exercise's defaults follow from."""

    movement: str
    stimulator: str
    channels: int

    @property
    def mark(self) -> str:
        return f"{self.movement}|{self.stimulator}|{self.channels}"

    def movement_of(self, channel: int) -> str:
        """Names the movement that a channel makes: the second one the opposite, where there is one."""
        return self.movement if channel == 1 else PARTNER.get(self.movement, "")

    @classmethod
    def of(cls, mark: str) -> Choice:
        """Reads a mark back; an empty one is no choice."""
        parts = [*mark.split("|"), "", ""]
        return cls(parts[0], parts[1], 2 if parts[2] == "2" else 1)


def _defaults(ex: str, choice: Choice, known: Known, t: Translate) -> Iterator[tuple[str, str]]:
    if chosen := movement(choice.movement):
        yield f"{ex}.title", t(chosen.title)
        yield f"{ex}.muscles", ", ".join(t(muscle) for muscle in chosen.muscles)
        yield f"{ex}.looks_right", t(f"looks_right.{chosen.id}")
    for c in range(1, choice.channels + 1):
        yield from _channel_defaults(f"{ex}.ch{c}", choice.movement_of(c), t)
        yield from _lead_marks(ex, c, known.stimulators.get(choice.stimulator, {}))


def _channel_defaults(ch: str, movement_id: str, t: Translate) -> Iterator[tuple[str, str]]:
    chosen = movement(movement_id)
    if chosen:
        yield f"{ch}.name", t(f"channel_name.{chosen.id}")
        yield f"{ch}.muscle", t(chosen.muscles[0])
        yield f"{ch}.view", chosen.pads.view
        for pad, place in zip(PADS, (chosen.pads.first, chosen.pads.second), strict=True):
            yield f"{ch}.{pad}.place", t(place)
            yield f"{ch}.{pad}.width_cm", f"{chosen.pads.width_cm:g}"
            yield f"{ch}.{pad}.height_cm", f"{chosen.pads.height_cm:g}"
            yield f"{ch}.{pad}.shape", chosen.pads.shape
    for phase in PHASES:
        yield f"{ch}.say_{phase}", t(f"wording.{chosen.id if chosen else 'any'}.{phase}")


def _lead_marks(ex: str, c: int, stimulator: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    channels = stimulator.get("channels", [])
    if c <= len(channels):
        for pad, mark in zip(PADS, ("lead_mark_a", "lead_mark_b"), strict=True):
            yield f"{ex}.ch{c}.{pad}.mark", str(channels[c - 1].get(mark, ""))
