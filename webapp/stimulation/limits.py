"""Sourced limits, and `check`: every finding about a plan at once. It shows arithmetic; it never says "safe"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from webapp.stimulation.cycle import timing_problems, work_out_cycle
from webapp.stimulation.dose import (
    power_density_w_cm2,
    pulse_energy_mj,
    rms_density_ma_cm2,
    rms_ma,
)
from webapp.stimulation.finding import CAUTION, NOTE, SEVERITIES, STOP, Finding, make_finding
from webapp.stimulation.plan import Channel, Settings
from webapp.stimulation.ranges import practice_findings
from webapp.stimulation.stimulator import Stimulator
from webapp.stimulation.unit_fit import unit_findings
from webapp.stimulation.units import number_text

TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A limit with the id of its source."""

    value: float
    source: str


RMS_MA = Limit(value=50, source="S1")  # into 500 Ω, at 400 Hz or less
RMS_LIMIT_UP_TO_HZ = 400
PULSE_ENERGY_MJ = Limit(value=300, source="S1")  # into 500 Ω, a pulse under 0.1 s
POWER_DENSITY_W_CM2 = Limit(value=0.25, source="S3")
RMS_DENSITY_MA_CM2 = Limit(value=2, source="S2")
SHORTEST_RAMP_UP_S = Limit(value=0.5, source="practice")
MOST_DUTY_PERCENT = Limit(value=50, source="practice")
LEAST_PAD_GAP_CM = Limit(value=3, source="practice")
FIRST_EXERCISE_MIN = Limit(value=15, source="practice_memory")


def _above(value: float | None, limit: float) -> bool:
    return value is not None and value > limit * (1 + TOLERANCE)


def _at_or_above(value: float | None, limit: float) -> bool:
    return value is not None and value >= limit * (1 - TOLERANCE)


def _below(value: float | None, limit: float) -> bool:
    return value is not None and value < limit * (1 - TOLERANCE)


def _strength(channel: Channel) -> tuple[float, str]:
    if channel.intensity_ma is not None:
        return channel.intensity_ma, "intensity_ma"
    return channel.intensity_level or 0, "intensity_level"


def _electrical(s: Settings, n: int, channel: Channel) -> Iterator[Finding]:
    field, frequency_hz = f"channels[{n}].intensity_ma", s.frequency_of(channel)
    rms, energy = rms_ma(s, channel), pulse_energy_mj(s, channel)
    power, density = power_density_w_cm2(s, channel), rms_density_ma_cm2(s, channel)
    if frequency_hz <= RMS_LIMIT_UP_TO_HZ and _above(rms, RMS_MA.value):
        yield _on_channel(STOP, "rms_limit", n, field, rms, RMS_MA, frequency_hz=number_text(frequency_hz))
    if _above(energy, PULSE_ENERGY_MJ.value):
        yield _on_channel(STOP, "pulse_energy", n, field, energy, PULSE_ENERGY_MJ)
    if _at_or_above(power, POWER_DENSITY_W_CM2.value):
        yield _on_channel(STOP, "power_density", n, field, power, POWER_DENSITY_W_CM2)
    if _above(density, RMS_DENSITY_MA_CM2.value):
        pad = number_text(channel.pad_cm2)
        yield _on_channel(CAUTION, "current_density", n, field, density, RMS_DENSITY_MA_CM2, pad_cm2=pad)


ELECTRICAL_RULES = frozenset({"rms_limit", "pulse_energy", "power_density", "current_density"})


def at_ceilings(settings: Settings, ceilings: Sequence[float | None]) -> Settings:
    """Gives the settings with each strength in mA at its ceiling; a channel without one keeps its strength."""
    told = [*ceilings, *[None] * len(settings.channels)]
    channels = tuple(
        channel if ceiling is None or channel.intensity_ma is None else replace(channel, intensity_ma=ceiling)
        for channel, ceiling in zip(settings.channels, told, strict=False)
    )
    return replace(settings, channels=channels)


def ceiling_findings(settings: Settings, ceilings: Sequence[float | None]) -> Iterator[Finding]:
    """Gives what a client reaches by turning up as far as the plan allows: the electrical limits, at the ceiling.

    Only where a ceiling lies above its strength; `check` looks at the strengths.
    """
    for n, channel in enumerate(at_ceilings(settings, ceilings).channels):
        if _above(channel.intensity_ma, settings.channels[n].intensity_ma or 0):
            for one in _electrical(settings, n, channel):
                params = {**one.params, "ceiling": number_text(channel.intensity_ma or 0)}
                yield replace(one, field=f"channels[{n}].ceiling_ma", params=params)


def _on_channel(
    severity: str,
    rule: str,
    n: int,
    field: str,
    value: float | None,
    limit: Limit,
    nearest: tuple[float | str, ...] = (),
    **params: str,
) -> Finding:
    return make_finding(
        severity,
        rule,
        source=limit.source,
        field=field,
        value=value,
        limit=limit.value,
        nearest=nearest,
        channel=n + 1,
        **params,
    )


def _ceilings(s: Settings, ceilings: Sequence[float | None] | None) -> Iterator[Finding]:
    if ceilings is None:
        return
    for n, channel in enumerate(s.channels):
        ceiling = ceilings[n] if n < len(ceilings) else None
        strength, name = _strength(channel)
        field = f"channels[{n}].{name}"
        if ceiling is None:
            yield make_finding(STOP, "no_ceiling", source="clinic", field=field, value=strength, channel=n + 1)
        elif _above(strength, ceiling):
            limit = Limit(value=ceiling, source="clinic")
            unit = " mA" if name == "intensity_ma" else ""
            yield _on_channel(STOP, "above_ceiling", n, field, strength, limit, nearest=(ceiling,), unit=unit)


def _timing(s: Settings) -> Iterator[Finding]:
    for problem in timing_problems(s):
        texts = {name: str(text) for name, text in problem.params.items()}
        limit = next((texts[name] for name in ("least", "most", "above", "below") if name in texts), "")
        yield Finding(
            severity=STOP,
            rule=problem.key,
            value=float(texts["value"]),
            limit=float(limit),
            source="definition",
            field=problem.path,
            params=_timing_params(texts, limit),
        )


def _timing_params(texts: dict[str, str], limit: str) -> dict[str, object]:
    edge, settable = float(limit), next(iter(texts.keys() & {"above", "below"}), "at")
    nearest = {"above": edge + 0.1, "below": edge - 0.1, "at": edge}[settable]
    return {**texts, "limit": limit, "nearest": (round(nearest, 3),), "nearest_text": number_text(nearest)}


def _rhythm(s: Settings) -> Iterator[Finding]:
    if s.is_steady:
        return
    if _below(s.ramp_up_s, SHORTEST_RAMP_UP_S.value):
        limit = SHORTEST_RAMP_UP_S
        yield make_finding(
            CAUTION, "short_ramp_up", source=limit.source, field="ramp_up_s", value=s.ramp_up_s, limit=limit.value
        )
    if timing_problems(s):
        return
    cycle = work_out_cycle(s)
    duty = 100 * cycle.on_ms / cycle.cycle_ms
    if _above(duty, MOST_DUTY_PERCENT.value):
        yield make_finding(
            CAUTION,
            "more_work_than_rest",
            source=MOST_DUTY_PERCENT.source,
            field="rest_s",
            value=duty,
            limit=MOST_DUTY_PERCENT.value,
            on_s=number_text(cycle.on_ms / 1000),
            off_s=number_text((cycle.cycle_ms - cycle.on_ms) / 1000),
        )


def _waveform(s: Settings) -> Iterator[Finding]:
    if s.waveform == "monophasic":
        yield make_finding(CAUTION, "monophasic", source="derived", field="waveform", value=s.waveform)


def _pads(pads_apart_cm: Sequence[float | None] | None) -> Iterator[Finding]:
    for n, gap in enumerate(pads_apart_cm or ()):
        if _below(gap, LEAST_PAD_GAP_CM.value):
            yield _on_channel(CAUTION, "pads_close", n, f"channels[{n}].pads", gap, LEAST_PAD_GAP_CM)


def _first_exercise(s: Settings) -> Iterator[Finding]:
    limit = FIRST_EXERCISE_MIN
    if _above(s.session_min, limit.value):
        yield make_finding(
            NOTE,
            "first_exercise_long",
            source=limit.source,
            field="session_min",
            value=s.session_min,
            limit=limit.value,
        )


def _practice(s: Settings, goal: str | None) -> Iterator[Finding]:
    if timing_problems(s):
        return
    cycle = work_out_cycle(s)
    yield from practice_findings(s, cycle.on_ms, cycle.cycle_ms - cycle.on_ms, goal)


def _all(
    s: Settings,
    stimulator: Stimulator | None,
    ceilings: Sequence[float | None] | None,
    first_exercise: bool,
    pads_apart_cm: Sequence[float | None] | None,
    goal: str | None,
) -> Iterator[Finding]:
    yield from _timing(s)
    if stimulator is not None:
        yield from unit_findings(s, stimulator)
    yield from _ceilings(s, ceilings)
    for n, channel in enumerate(s.channels):
        yield from _electrical(s, n, channel)
    yield from _waveform(s)
    yield from _rhythm(s)
    yield from _pads(pads_apart_cm)
    yield from _practice(s, goal)
    if first_exercise:
        yield from _first_exercise(s)


def check(
    settings: Settings,
    stimulator: Stimulator | None = None,
    ceilings: Sequence[float | None] | None = None,
    first_exercise: bool = False,
    pads_apart_cm: Sequence[float | None] | None = None,
    goal: str | None = None,
) -> tuple[Finding, ...]:
    """Gives every finding at once, stops first, then cautions, then notes.

    `ceilings` are one for each channel, in the measure of its strength (mA or level), None where there is none: that is
    a stop. `ceilings=None` means that they are not known here (a bare plan file): then no finding speaks of them.
    `pads_apart_cm` is the gap between each channel's pads where it was measured. `goal` is one of `ranges.GOALS`.
    Comparisons have a relative tolerance of 1e-9.
    """
    found = list(_all(settings, stimulator, ceilings, first_exercise, pads_apart_cm, goal))
    return tuple(sorted(found, key=lambda finding: SEVERITIES.index(finding.severity)))
