"""The hills and numbers of an exercise as a page shows them: rounded, with their units, both channels side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from webapp.formats.plan_json import read_settings
from webapp.formats.reading import ReadingError
from webapp.prescribing.checking import CheckedExercise
from webapp.prescribing.electrical import Figure, electrical_figures
from webapp.stimulation.cycle import Cycle, work_out_cycle
from webapp.stimulation.dose import ChannelDose, Dose, compute_dose
from webapp.stimulation.hill import hill_points
from webapp.stimulation.plan import Settings
from webapp.stimulation.problem import PlanError
from webapp.stimulation.timetable import tally
from webapp.stimulation.units import number_text
from webapp.translations import Translate

Point = tuple[int, int]  # ms in the cycle, per mille of full strength


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What stands beside the settings; `hills` is empty while the times can't be read or don't fit together."""

    title: str
    rhythm: str
    cycle_ms: int
    hills: tuple[tuple[Point, ...], ...]
    captions: tuple[str, ...]
    numbers: tuple[Figure, ...]
    electrical: tuple[Figure, ...]
    nearest_limit: str


def timing_only(raw: dict[str, Any]) -> Settings | None:
    """Reads the times alone, so that the hill is there before strengths and pads are typed."""
    channels = [{"intensity_level": 0, "pad_cm2": 25} for _ in raw["settings"]["channels"]]
    stand_in = {"frequency_hz": 35, "pulse_width_us": 250, "waveform": "symmetric_biphasic", "channels": channels}
    kept = {name: value for name, value in raw["settings"].items() if name != "recovery_ratio"}
    try:
        return read_settings(kept | stand_in)
    except ReadingError:
        return None


def work_out_figures(checked: CheckedExercise, t: Translate) -> Figures | None:
    """Works out the figures of an exercise; None while its times can't be read or are impossible."""
    settings = checked.settings or timing_only(checked.raw)
    if settings is None:
        return None
    try:
        cycle, dose = work_out_cycle(settings), compute_dose(settings)
    except PlanError:
        return None
    n = len(settings.channels)
    electrical, nearest = electrical_figures(checked, t)
    return Figures(
        title=_title(settings, cycle, t), rhythm=_rhythm(settings, t), cycle_ms=cycle.cycle_ms,
        hills=tuple(tuple((ms, round(level * 1000)) for ms, level in hill_points(settings, c + 1)) for c in range(n)),
        captions=tuple(caption(checked.raw, c, t) for c in range(n)), numbers=_numbers(settings, cycle, dose, t),
        electrical=electrical, nearest_limit=nearest,
    )  # fmt: skip


def _title(settings: Settings, cycle: Cycle, t: Translate) -> str:
    if settings.is_steady:
        return t("figures.steady", n=number_text(settings.session_min))
    return t("figures.cycle", n=number_text(cycle.cycle_ms / 1000))


def _rhythm(settings: Settings, t: Translate) -> str:
    if settings.is_steady:
        return t("figures.no_cycle")
    words = [t(f"figures.ramps.{settings.ramps}")]
    if len(settings.channels) == 2:
        kind = settings.alternating_rest if settings.alternates else settings.delay_effect
        words.append(t(f"figures.relation.{kind}", n=number_text(settings.delay_s)))
    return " · ".join(words)


def caption(raw: dict[str, Any], c: int, t: Translate) -> str:
    """Names a channel with its strength and its ceiling, as far as they are there."""
    channel, dosed = raw["channels"][c], raw["settings"]["channels"][c]
    unit = "" if raw["stimulator"].get("shows") == "level" else " mA"
    told = [f"{c + 1}  {channel['name']}".strip()]
    strength = dosed.get("intensity_ma", dosed.get("intensity_level"))
    ceiling = channel.get("ceiling_ma", channel.get("ceiling_level"))
    if strength is not None and not isinstance(strength, str):
        told.append(f"{number_text(strength)}{unit}")
    if ceiling is not None and not isinstance(ceiling, str):
        told.append(t("figures.ceiling", value=f"{number_text(ceiling)}{unit}"))
    return " · ".join(told)


def _minutes(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def _numbers(settings: Settings, cycle: Cycle, dose: Dose, t: Translate) -> tuple[Figure, ...]:
    which = t("figures.of_both") if len(settings.channels) == 2 else ""
    working = Figure(
        name=t("figures.working", which=which), value=_joined(dose, lambda c: _minutes(c.on_time_s)) + t("figures.min")
    )
    if settings.is_steady:
        return (working,)
    off_ms = cycle.cycle_ms - cycle.on_ms
    on, off = number_text(cycle.on_ms / 1000), number_text(off_ms / 1000)
    percent = number_text(round(dose.duty_percent, 1))
    return (
        Figure(name=t("figures.contractions", which=which), value=_joined(dose, lambda c: str(c.contractions)),
               remark=t("figures.cut_off") if any(c.begun > c.completed for c in tally(settings, cycle)) else ""),
        working,
        Figure(name=t("figures.work_rest"), value=f"{on} : {off}", remark=t("figures.duty", percent=percent, off=off)),
    )


def _joined(dose: Dose, part: Callable[[ChannelDose], str]) -> str:
    return " · ".join(part(channel) for channel in dose.channels)
