"""Draws plans, words and records for the laws."""

from __future__ import annotations

from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from webapp.formats.log_record import COMMON, FIELDS, FORMAT, OPTIONAL, STRENGTHS, Field
from webapp.stimulation import plan
from webapp.stimulation.cycle import timing_problems
from webapp.stimulation.plan import Channel, Settings


def tenths(least: float, most: float) -> st.SearchStrategy[float]:
    """Draws seconds in steps of 0.1."""
    return st.integers(round(least * 10), round(most * 10)).map(lambda n: n / 10)


@st.composite
def channels(draw: st.DrawFn) -> Channel:
    """Draws a channel, by milliamperes or by level."""
    pad_cm2 = draw(st.floats(0.5, 200))
    own_hz = draw(st.none() | st.integers(1, 250))
    if draw(st.booleans()):
        return Channel(intensity_ma=draw(st.floats(0.5, 200)), pad_cm2=pad_cm2, frequency_hz=own_hz)
    return Channel(intensity_level=draw(st.integers(0, 1000)), pad_cm2=pad_cm2, frequency_hz=own_hz)


@st.composite
def settings(draw: st.DrawFn, drives: tuple[str, ...] = plan.DRIVES, most_min: float = 8) -> Settings:
    """Draws settings whose timing is possible; short ones, so that many are tried."""
    drive = draw(st.sampled_from(drives))
    steady = drive == "steady"
    ratio = draw(st.none() | st.floats(1.1, 20))
    drawn = Settings(
        drive=drive,
        frequency_hz=draw(st.integers(1, 250)),
        pulse_width_us=draw(st.integers(20, 1000)),
        waveform="symmetric_biphasic" if ratio is None else "asymmetric_biphasic",
        recovery_ratio=ratio,
        session_min=draw(st.integers(2, round(most_min * 2)).map(lambda n: n / 2)),
        ramp_up_s=draw(tenths(0, 3)),
        hold_s=None if steady else draw(tenths(0.5, 12)),
        ramp_down_s=draw(tenths(0, 3)),
        rest_s=None if steady else draw(tenths(0, 30)),
        ramps=draw(st.sampled_from(plan.RAMPS)),
        channels=tuple(draw(st.lists(channels(), min_size=1, max_size=2))),
        relation=draw(st.sampled_from(plan.RELATIONS)),
        delay_s=draw(st.just(0) | tenths(0, 4)),
        delay_effect=draw(st.sampled_from(plan.DELAY_EFFECTS)),
        delay_from=draw(st.sampled_from(plan.DELAY_FROM)),
        alternating_rest=draw(st.sampled_from(plan.ALTERNATING_RESTS)),
        starts_with=draw(st.sampled_from(plan.STARTS_WITH)),
        at_end=draw(st.sampled_from(plan.AT_END)),
    )
    assume(not timing_problems(drawn))
    return drawn


def _one(field: Field) -> st.SearchStrategy[int]:
    drawn = st.integers(field.lo, field.hi)
    return drawn if field.not_answered is None else drawn | st.just(field.not_answered)


TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=70)
LETTERS = st.sampled_from("0123456789abcdef")


def field_values(field: Field) -> st.SearchStrategy[Any]:
    """Draws a value that a field of a record may hold."""
    if field.type == "int":
        return _one(field)
    if field.type == "ints":
        return st.lists(_one(field), max_size=field.most_entries)
    if field.type == "hex":
        return st.text(LETTERS, min_size=field.lo, max_size=field.hi)
    return TEXT if field.type == "text" else st.dictionaries(TEXT, st.integers(-5, 5) | TEXT, max_size=4)


@st.composite
def records(draw: st.DrawFn) -> dict[str, Any]:
    """Draws a record of any known kind."""
    kind = draw(st.sampled_from(sorted(FIELDS)))
    fields = {**COMMON, **FIELDS[kind]}
    if kind == "session":
        fields.pop(draw(st.sampled_from(STRENGTHS)))
    if draw(st.booleans()):
        fields.update(OPTIONAL.get(kind, {}))
    return {"format": FORMAT, "kind": kind, **{name: draw(field_values(one)) for name, one in fields.items()}}
