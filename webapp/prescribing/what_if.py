"""What the numbers would be with the neighbouring choices of one setting: what can be set just below and above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.prescribing.checking import check_exercise
from webapp.prescribing.drafting import NUMBERS, Known, Typed, number, read_exercise, text
from webapp.prescribing.figures import Figures, work_out_figures
from webapp.stimulation.units import number_text
from webapp.translations import Translate

STEPS: Mapping[str, float] = {  # where the unit's own steps are finer or not described
    "frequency_hz": 5, "pulse_width_us": 50, "session_min": 5, "ramp_up_s": 0.5, "hold_s": 1, "ramp_down_s": 0.5,
    "rest_s": 2, "delay_s": 0.5, "intensity": 2,
}  # fmt: skip
HILL_WIDTH, HILL_HEIGHT = 320.0, 56.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One value of a setting with what follows from it; `figures` is None where the times don't fit together."""

    value: str
    is_now: bool
    figures: Figures | None


def can_be_compared(field: str) -> bool:
    """Tells whether a field of the form is a setting that has neighbours."""
    return field.rpartition(".")[2] in STEPS


def alternatives(draft: Typed, field: str, known: Known, t: Translate) -> tuple[Alternative, ...]:
    """Works out an exercise with one setting a step lower, as it is, and a step higher; none while it can't be read."""
    now = number(text(draft, field))
    if isinstance(now, str) or not can_be_compared(field):
        return ()
    values = _values(draft, field, now, known)
    return tuple(_alternative(draft, field, value, value == now, known, t) for value in values)


def _values(draft: Typed, field: str, now: float, known: Known) -> list[float]:
    ex, name = field.partition(".")[0], field.rpartition(".")[2]
    stimulator = known.stimulators.get(text(draft, f"{ex}.stimulator"), {})
    own = {"intensity": "intensity_level" if stimulator.get("shows") == "level" else "intensity_ma"}.get(name, name)
    range_: Mapping[str, Any] = next((one for one in stimulator.get("settings", ()) if one["name"] == own), {})
    if range_.get("values"):
        return _beside(sorted(v for v in range_["values"] if isinstance(v, (int, float))), now)
    step = max(STEPS[name], float(range_.get("step") or 0))
    least, most = float(range_.get("minimum") or 0), float(range_.get("maximum") or 1_000_000)
    lower, higher = max(now - step, least), min(now + step, most)
    return sorted({value for value in (lower, now, higher) if value >= 0})


def _beside(values: Sequence[float], now: float) -> list[float]:
    below, above = [v for v in values if v < now], [v for v in values if v > now]
    return [*below[-1:], now, *above[:1]]


def _alternative(draft: Typed, field: str, value: float, is_now: bool, known: Known, t: Translate) -> Alternative:
    n = int(field.partition(".")[0].removeprefix("ex"))
    raw = read_exercise({**draft, field: number_text(value)}, n, known)
    figures = work_out_figures(check_exercise(draft, raw, first_plan=False), t)
    return Alternative(value=number_text(value), is_now=is_now, figures=figures)


def rows(found: Sequence[Alternative]) -> list[tuple[str, list[str]]]:
    """Lays the numbers of the alternatives side by side: each number's name and its value for each of them."""
    tables = [_numbers(one.figures) for one in found]
    names = list(dict.fromkeys(name for table in tables for name in table))
    return [(name, [table.get(name, "–") for table in tables]) for name in names]


def _numbers(figures: Figures | None) -> dict[str, str]:
    if figures is None:
        return {}
    return {one.name: one.value for one in (*figures.numbers, *figures.electrical)}


def hills(found: Sequence[Alternative]) -> list[dict[str, Any]]:
    """Draws the first channel's hill of each alternative on one scale of time, old and new together."""
    drawn = [one for one in found if one.figures and one.figures.hills and one.figures.hills[0]]
    longest = max((one.figures.cycle_ms for one in drawn if one.figures), default=0)
    return [{"value": one.value, "is_now": one.is_now, "path": _path(one.figures, longest)}
            for one in drawn if one.figures and longest]  # fmt: skip


def _path(figures: Figures, longest_ms: int) -> str:
    points = [(HILL_WIDTH * ms / longest_ms, HILL_HEIGHT * (1 - level / 1000)) for ms, level in figures.hills[0]]
    return "M" + "L".join(f"{x:.1f} {y + 4:.1f}" for x, y in points)


def is_time(field: str) -> bool:
    """Tells whether a setting changes the shape of the hill."""
    return field.rpartition(".")[2] in set(NUMBERS) - {"frequency_hz", "pulse_width_us", "session_min"}
