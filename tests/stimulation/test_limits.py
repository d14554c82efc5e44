"""What `check` finds: each rule with its severity, on both sides of its limit, with a source that exists."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.stimulation.plans import plan
from webapp.guidance.sources import sources
from webapp.stimulation import ranges
from webapp.stimulation.finding import Finding
from webapp.stimulation.limits import check
from webapp.stimulation.placement import MOVEMENTS
from webapp.stimulation.plan import Channel, Settings
from webapp.translations import catalogue, translator


def rules(*findings: Finding) -> dict[str, str]:
    """Gives rule → severity."""
    return {finding.rule: finding.severity for finding in findings}


def strong(intensity_ma: float, width_us: float, frequency_hz: float, pad_cm2: float = 100) -> Settings:
    """Gives a plan of one strength."""
    channel = Channel(intensity_ma=intensity_ma, pad_cm2=pad_cm2)
    return plan(channels=(channel,), pulse_width_us=width_us, frequency_hz=frequency_hz)


def test_plain_plan_has_no_findings() -> None:
    """35 Hz, 300 µs, 24 mA on 25 cm²; 7 s of work, 10 s of rest."""
    assert check(plan()) == ()


def test_ceiling_that_is_unknown_missing_kept_or_passed() -> None:
    """A bare plan file says nothing of ceilings; an issued one has to have them."""
    assert check(plan(2), ceilings=None) == ()
    assert rules(*check(plan(2), ceilings=(24, 30))) == {}
    assert rules(*check(plan(2), ceilings=(None, 24))) == {"no_ceiling": "stop"}
    assert rules(*check(plan(2), ceilings=(24,))) == {"no_ceiling": "stop"}
    (above,) = check(plan(2), ceilings=(23.5, 24))
    assert (above.rule, above.severity, above.value, above.limit, above.nearest) == (
        "above_ceiling",
        "stop",
        24,
        23.5,
        (23.5,),
    )


def test_level_is_compared_with_a_ceiling_in_levels() -> None:
    """And has no electrical finding."""
    levels = plan(channels=(Channel(intensity_level=900, pad_cm2=0.5),))
    assert rules(*check(levels, ceilings=(899,))) == {"above_ceiling": "stop"}


def test_power_density_stops_at_the_limit_itself() -> None:
    """0.25 W/cm² exactly is a stop: 50 mA rms into 500 Ω are 1.25 W, here on 5 cm²."""
    at, below = strong(100, 500, 250, 5), strong(100, 500, 250, 5.001)
    assert rules(*check(at))["power_density"] == "stop"
    assert "power_density" not in rules(*check(below))


def test_monophasic_pulse_is_a_caution() -> None:
    """It leaves a mean direct current."""
    assert rules(*check(plan(waveform="monophasic"))) == {"monophasic": "caution"}


@pytest.mark.parametrize(("ramp_up_s", "found"), [(0, True), (0.4, True), (0.5, False)])
def test_ramp_up_under_half_a_second_is_a_caution(ramp_up_s: float, found: bool) -> None:
    """0.5 s itself is not."""
    assert ("short_ramp_up" in rules(*check(plan(ramp_up_s=ramp_up_s)))) is found


@pytest.mark.parametrize(("rest_s", "found"), [(6.9, True), (7, False), (7.1, False)])
def test_more_work_than_rest_is_a_caution(rest_s: float, found: bool) -> None:
    """As much rest as work is not."""
    assert ("more_work_than_rest" in rules(*check(plan(rest_s=rest_s)))) is found


def test_channels_in_turns_rest_while_the_other_works() -> None:
    """7 s of work in a cycle of 17 s, with a rest of 3 s after both."""
    assert check(plan(2, rest_s=3, relation="alternating")) == ()


def test_steady_plan_has_no_ramp_and_rest_findings() -> None:
    """It has no cycle."""
    assert (
        check(plan(drive="steady", hold_s=None, rest_s=None, ramp_up_s=0, frequency_hz=100, pulse_width_us=150)) == ()
    )


def test_pads_under_three_centimetres_apart_are_a_caution() -> None:
    """Each channel by itself; not measured says nothing."""
    found = check(plan(2), pads_apart_cm=(3, 2.9))
    assert [(f.rule, f.severity, f.params["channel"]) for f in found] == [("pads_close", "caution", 2)]
    assert check(plan(2), pads_apart_cm=(None, None)) == ()


def test_first_exercise_over_fifteen_minutes_is_a_note() -> None:
    """Only for a first one."""
    assert rules(*check(plan(session_min=16), first_exercise=True)) == {"first_exercise_long": "note"}
    assert check(plan(session_min=16)) == ()
    assert check(plan(session_min=15), first_exercise=True) == ()


def test_impossible_timing_is_a_stop_that_names_what_would_do() -> None:
    """The hold has to be above the ramps that are part of it."""
    (found,) = check(plan(ramps="inside", hold_s=2))
    assert (found.rule, found.severity, found.field, found.nearest) == ("timing_flat_top", "stop", "hold_s", (2.1,))
    (late,) = check(plan(2, delay_s=11))
    assert (late.rule, late.nearest) == ("timing_delay_shift", (10,))


def test_every_finding_comes_at_once_stops_first() -> None:
    """One plan with much wrong."""
    channel = Channel(intensity_ma=200, pad_cm2=0.5)
    much = plan(
        channels=(channel, channel), pulse_width_us=1000, frequency_hz=250, waveform="monophasic", ramp_up_s=0, rest_s=1
    )
    found = check(much, ceilings=(None, 20), pads_apart_cm=(1, 1), first_exercise=True)
    assert set(rules(*found)) >= {
        "no_ceiling",
        "above_ceiling",
        "rms_limit",
        "power_density",
        "current_density",
        "monophasic",
        "short_ramp_up",
        "more_work_than_rest",
        "pads_close",
        "first_exercise_long",
        "practice_frequency_hz",
    }
    order = [("stop", "caution", "note").index(f.severity) for f in found]
    assert order == sorted(order)


def every_finding() -> list[Finding]:
    """Gives findings of every kind that plain settings can lead to."""
    strongest = Channel(intensity_ma=200, pad_cm2=0.5)
    worst = plan(channels=(strongest,), pulse_width_us=1000, frequency_hz=250, rest_s=0, ramp_up_s=0, session_min=90)
    worst = replace(worst, waveform="monophasic")
    found = list(check(worst, ceilings=(None,), first_exercise=True, pads_apart_cm=(1,)))
    found += check(worst, ceilings=(1,))
    for goal in ranges.GOALS:
        for drive in ("cycled", "steady"):
            found += check(replace(worst, drive=drive, ramp_up_s=9.9), goal=goal)
    return found


def test_every_source_resolves() -> None:
    """Of findings, ranges and movements: a number carries its source."""
    used = {f.source for f in every_finding()} | {one.source for one in (*ranges.MUSCLE_RANGES, *ranges.STEADY_RANGES)}
    used |= {one.source for one in MOVEMENTS} | {"unit", "clinic", "definition"}
    assert used <= sources().keys()


def test_every_finding_has_both_texts_with_values_in_them() -> None:
    """And the catalogue knows no rule that the text lacks a value for."""
    t = translator("en")
    for one in every_finding():
        for key in (f"finding.{one.rule}", f"finding.{one.rule}.short"):
            assert "{" not in t(key, **one.params)


def test_no_finding_calls_anything_safe() -> None:
    """It shows arithmetic, limit and source."""
    texts = [text for key, text in catalogue("en").items() if key.startswith(("finding.", "check."))]
    assert len(texts) > 50
    assert not [text for text in texts if "safe" in text.lower()]


def test_every_movement_has_its_texts_and_a_goal_that_exists() -> None:
    """Titles, muscles, nerves, pads and cautions are in the catalogue."""
    known = catalogue("en")
    for one in MOVEMENTS:
        keys = (one.title, one.nerve, one.pads.first, one.pads.second, *one.muscles, *one.cautions)
        assert [key for key in keys if key not in known] == []
        assert one.goal is None or one.goal in ranges.GOALS
