"""Measuring a unit: simulated taps give back the conventions that made them, or say that they cannot be told apart."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from tests.stimulation.plans import plan
from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.measuring import Measurement, Watched, measure
from webapp.stimulation.plan import Settings
from webapp.stimulation.taps_seen import Tap
from webapp.stimulation.timetable import build_timetable

JITTER_MS = 150
CYCLES = 5


def watched(truth: Settings, seed: int, cycles: int = CYCLES, slips: int = 0) -> Watched:
    """Taps at a unit that follows `truth`, by somebody late by 0.2 s and 150 ms uneven, its clock up to 2 % off."""
    chance = Random(seed)
    cycle, clock = work_out_cycle(truth), 1 + chance.uniform(-0.02, 0.02)
    first = cycle.contractions[0]
    places = {"rise": 0, "hold": first.ramp_up_ms, "ease": first.ramp_up_ms + first.flat_ms, "rest": first.on_ms}

    def seen(ms: float) -> float:
        return 7_000 + clock * ms + 200 + chance.gauss(0, JITTER_MS)

    taps = [Tap(edge=edge, at_ms=seen(cycle.first_rise_ms + n * cycle.cycle_ms + at))
            for n in range(cycles) for edge, at in places.items()]
    for n in chance.sample(range(len(taps)), slips):
        taps[n] = replace(taps[n], at_ms=taps[n].at_ms + 2_500)
    end_ms = build_timetable(truth).end_ms
    unknown = replace(truth, ramps="outside", starts_with="rise", at_end="cut", alternating_rest="after_both",
                      delay_from="contraction_end")
    return Watched(settings=unknown, taps=tuple(taps), started_ms=seen(0) - 200, ended_ms=seen(end_ms))


def found(measured: Measurement | None) -> dict[str, str]:
    assert measured is not None
    return {verdict.name: verdict.value or verdict.reason for verdict in measured.verdicts}


@pytest.mark.parametrize("ramps", ["outside", "inside", "split"])
@pytest.mark.parametrize("starts_with", ["rise", "rest"])
@pytest.mark.parametrize("at_end", ["cut", "finish_contraction"])
def test_each_convention_is_found_again(ramps: str, starts_with: str, at_end: str) -> None:
    """With ramps of 1 and 1.5 s, 150 ms uneven taps, a clock up to 2 % off: in 49 of 50 units or more, never wrong."""
    truth = plan(ramp_up_s=1, hold_s=6, ramp_down_s=1.5, rest_s=10, session_min=1.1, ramps=ramps,
                 starts_with=starts_with, at_end=at_end)
    told = [found(measure(watched(truth, seed))) for seed in range(50)]
    assert sum(one["ramps"] == ramps for one in told) >= 49
    assert sum(one["starts_with"] == starts_with for one in told) >= 49
    assert {one["ramps"] for one in told} <= {ramps, "alike", "no_fit"}
    assert {one["starts_with"] for one in told} <= {starts_with, "alike", "odd"}
    assert {one["at_end"] for one in told} <= {at_end, "alike", "odd"}


@pytest.mark.parametrize("rest", ["after_both", "within_rest"])
@pytest.mark.parametrize("start", ["contraction_end", "hold_end"])
def test_two_channels_in_turn_are_measured_on_the_first(rest: str, start: str) -> None:
    """Which rest, and from where the delay counts, where that shows on channel 1; where it does not, it is said."""
    truth = plan(2, relation="alternating", delay_s=1, ramp_up_s=1, hold_s=5, ramp_down_s=2, rest_s=14,
                 alternating_rest=rest, delay_from=start)
    told = [found(measure(watched(truth, seed))) for seed in range(20)]
    assert {one["alternating_rest"] for one in told} == {rest}
    assert {one["ramps"] for one in told} <= {"outside", "alike"}
    assert {one["delay_from"] for one in told} == ({"alike"} if rest == "within_rest" else {start})


def test_conventions_that_look_alike_are_not_told_apart() -> None:
    """Without ramps all three are one; nothing is offered for writing down."""
    told = measure(watched(plan(ramp_up_s=0, ramp_down_s=0, hold_s=5, rest_s=10), 1))
    assert found(told)["ramps"] == "alike"
    assert told is not None
    assert {round(fit.weight, 2) for fit in told.fits} == {0.33}


def test_short_ramps_are_decided_rightly_or_not_at_all() -> None:
    """Ramps of 0.3 s, near what a person can see: of 200 units at most 5 in a hundred are called wrongly."""
    wrong = 0
    for seed in range(200):
        truth = plan(ramp_up_s=0.3, ramp_down_s=0.3, hold_s=4, rest_s=8, ramps=("outside", "inside", "split")[seed % 3])
        wrong += found(measure(watched(truth, seed)))["ramps"] not in (truth.ramps, "alike", "no_fit")
    assert wrong <= 10


def test_a_unit_set_differently_fits_nothing() -> None:
    """Its rest is 4 s longer than was typed: no convention is offered."""
    seen = watched(plan(ramp_up_s=1, hold_s=6, ramp_down_s=1, rest_s=14), 3)
    told = found(measure(replace(seen, settings=replace(seen.settings, rest_s=10))))
    assert told["ramps"] == "no_fit"


def test_slips_and_missed_taps_are_left_out() -> None:
    """Two taps far off, one cycle not tapped, one edge missed: the same answer, the slips counted."""
    truth = plan(ramp_up_s=1, hold_s=6, ramp_down_s=1.5, rest_s=10, ramps="inside")
    for seed in range(20):
        seen = watched(truth, seed, cycles=6, slips=2)
        fewer = tuple(tap for n, tap in enumerate(seen.taps) if not 8 <= n < 12 and n != 4)
        told = measure(replace(seen, taps=fewer))
        assert found(told)["ramps"] in ("inside", "alike"), seed
        assert told is not None
        assert told.seen.slips <= 2


def test_measured_times_come_with_a_true_uncertainty() -> None:
    """Of 100 units the measured flat top lies within two of its standard uncertainties in at least 90."""
    truth = plan(ramp_up_s=1, hold_s=6, ramp_down_s=1.5, rest_s=10)
    near = 0
    for seed in range(100):
        told = measure(watched(truth, seed))
        assert told is not None
        near += abs(told.parts["hold"].ms - 6_000) <= 2 * told.parts["hold"].sd_ms + 0.02 * 6_000
    assert near >= 90


def test_too_little_is_said_to_be_too_little() -> None:
    """Two cycles are none; an end that was not seen, or that did not come, is told from one that was."""
    seen = watched(plan(ramp_up_s=1, hold_s=6, ramp_down_s=1.5, rest_s=10), 1)
    assert measure(replace(seen, taps=seen.taps[:8])) is None
    assert measure(replace(seen, taps=())) is None
    assert found(measure(replace(seen, ended_ms=None)))["at_end"] == "not_seen"
    assert found(measure(replace(seen, ended_ms=None, goes_on=True)))["at_end"] == "goes_on"
    assert found(measure(replace(seen, started_ms=None)))["starts_with"] == "not_seen"
