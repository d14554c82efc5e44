"""Rates and pulse widths that trials and reviews used, at their edges.

Sources: NMES is usually given at 20 to 50 Hz: Doucet, Lam, Griffin, Yale J Biol Med 2012 (abstract). About 1 to 10
pulses a second give twitches, 15 to 25 are partly fused, above some 45 to 50 they are fused: online excerpt of a
textbook chapter (book not identified). Strengthening 30 to 75 Hz, 250 to 400 µs: Sports Health 2021;13:116 (Table 5).
Shoulder subluxation 10 to 36 Hz, 200 to 300 µs: scoping review, NeuroRehabilitation 2023 (abstract). TENS: 80 to 150
Hz with 50 to 200 µs, or 1 to 5 Hz with 200 to 250 µs: Syst Rev 2017, s13643-017-0532-5 (table); against spasticity 50
to 200 Hz: Mahmood et al., Arch Phys Med Rehabil 2019 (abstract).
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.stimulation.plans import plan
from webapp.stimulation.finding import Finding
from webapp.stimulation.limits import check


def notes(goal: str | None = None, **different: Any) -> list[Finding]:
    """Gives the notes about a plan."""
    return [found for found in check(plan(**different), goal=goal) if found.severity == "note"]


def steady(frequency_hz: float, pulse_width_us: float) -> list[Finding]:
    """Gives the notes about a steady plan."""
    return notes(
        drive="steady",
        hold_s=None,
        rest_s=None,
        frequency_hz=frequency_hz,
        pulse_width_us=pulse_width_us,
        session_min=40,
    )


@pytest.mark.parametrize("frequency_hz", [20, 35, 50])
def test_usual_rates_that_fuse_a_contraction_get_no_note(frequency_hz: float) -> None:
    """20 to 50 Hz."""
    assert notes(frequency_hz=frequency_hz) == []


@pytest.mark.parametrize(("frequency_hz", "nearest"), [(5, (10, 36)), (9.9, (10, 36)), (76, (30, 75)), (100, (30, 75))])
def test_twitching_and_very_high_rates_are_noted_with_the_nearest_range(
    frequency_hz: float, nearest: tuple[float, float]
) -> None:
    """Below 10 Hz there are twitches; above 75 Hz no range of the table is left."""
    (found,) = notes(frequency_hz=frequency_hz)
    assert (found.rule, found.limit) == ("practice_frequency_hz", nearest)


@pytest.mark.parametrize(
    ("goal", "frequency_hz", "noted"),
    [
        ("strengthening", 29, True),
        ("strengthening", 30, False),
        ("strengthening", 75, False),
        ("shoulder_subluxation", 36, False),
        ("shoulder_subluxation", 37, True),
        ("wrist_extension", 35, False),
        ("wrist_extension", 51, True),
    ],
)
def test_rates_at_the_edges_of_each_goal(goal: str, frequency_hz: float, noted: bool) -> None:
    """The edges themselves are inside."""
    found = {one.rule for one in notes(goal, frequency_hz=frequency_hz, pulse_width_us=275)}
    assert ("practice_frequency_hz" in found) is noted


@pytest.mark.parametrize("width_us", [199, 401])
def test_pulse_widths_that_no_trial_of_the_table_used_are_noted(width_us: float) -> None:
    """200 to 400 µs over all goals."""
    assert [one.rule for one in notes(pulse_width_us=width_us)] == ["practice_pulse_width_us"]


@pytest.mark.parametrize(("frequency_hz", "width_us"), [(80, 50), (150, 200), (1, 200), (5, 250)])
def test_both_ways_of_tens_get_no_note(frequency_hz: float, width_us: float) -> None:
    """High rate and low rate, at their edges."""
    assert steady(frequency_hz, width_us) == []


def test_rate_between_the_ways_of_tens_is_noted() -> None:
    """20 Hz is neither 1 to 5 nor 80 to 150 Hz; the nearest that trials used is 50 to 200 Hz, against spasticity."""
    (found,) = steady(20, 200)
    assert (found.rule, found.source, found.limit) == ("practice_frequency_hz", "S26", (50, 200))
