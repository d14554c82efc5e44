"""What the same numbers on a screen mean under each ramp convention, in sessions worked out by hand.

Sources: that units differ in where the ramps belong is common practice, no source (from memory); that duty cycles are
reported inconsistently: Taylor, Fornusek, Ruys, "Reporting for Duty" part I, Eur J Transl Myol 2018 (abstract). The
sessions are derived: counted by hand, 30 minutes at 35 Hz with a constant rate through the ramps.
"""

from __future__ import annotations

import pytest

from tests.stimulation.plans import plan
from webapp.stimulation.dose import compute_dose
from webapp.stimulation.plan import Settings
from webapp.stimulation.timetable import build_timetable


def screen(ramps: str) -> Settings:
    """Gives "on 10, off 20, ramp 2 up, 1 down", 30 minutes, as each convention reads it."""
    return plan(ramps=ramps, hold_s=10, rest_s=20, ramp_up_s=2, ramp_down_s=1, session_min=30)


@pytest.mark.parametrize(
    ("ramps", "cycle_s", "plateau_s", "silent_s"),
    [("outside", 33, 10, 20), ("inside", 30, 7, 20), ("split", 30, 8, 19)],
)
def test_cycle_plateau_and_silent_rest(ramps: str, cycle_s: int, plateau_s: int, silent_s: int) -> None:
    """Ramps outside, inside, and up inside with down in the rest."""
    table = build_timetable(screen(ramps))
    assert (table.cycle_ms, table.flat_ms, table.off_ms) == (cycle_s * 1000, plateau_s * 1000, silent_s * 1000)


@pytest.mark.parametrize(
    ("ramps", "contractions", "on_s", "plateau_s", "pulses"),
    [("outside", 55, 715, 550, 25_025), ("inside", 60, 600, 420, 21_000), ("split", 60, 660, 480, 23_100)],
)
def test_thirty_minutes(ramps: str, contractions: int, on_s: int, plateau_s: int, pulses: int) -> None:
    """Outside: 54 cycles are 1782 s, and the 18 s left hold one more contraction of 13 s."""
    table, dose = build_timetable(screen(ramps)), compute_dose(screen(ramps)).channels[0]
    assert (table.contractions, table.on_time_ms, table.flat_time_ms) == (
        (contractions,),
        (on_s * 1000,),
        (plateau_s * 1000,),
    )
    assert (dose.pulses, dose.on_time_s, dose.contractions) == (pulses, on_s, contractions)


def test_same_numbers_differ_by_31_percent_in_plateau_time() -> None:
    """550 against 420 s."""
    outside, inside = build_timetable(screen("outside")), build_timetable(screen("inside"))
    assert outside.flat_time_ms[0] / inside.flat_time_ms[0] == pytest.approx(1.31, abs=5e-3)


@pytest.mark.parametrize(
    ("on_s", "off_s", "minutes", "cycle_s", "duty", "contractions"),
    [(6, 18, 20, 24, 25, 50), (5, 10, 30, 15, 100 / 3, 120), (10, 50, 10, 60, 100 / 6, 10)],
)
def test_sessions_with_the_ramps_inside(
    on_s: int, off_s: int, minutes: int, cycle_s: int, duty: float, contractions: int
) -> None:
    """6/18, 5/10, 10/50: cycle, duty cycle, contractions."""
    settings = plan(ramps="inside", hold_s=on_s, rest_s=off_s, session_min=minutes)
    assert build_timetable(settings).cycle_ms == cycle_s * 1000
    assert compute_dose(settings).duty_percent == pytest.approx(duty)
    assert compute_dose(settings).channels[0].contractions == contractions


def test_one_to_three_is_a_quarter() -> None:
    """A duty cycle of 1:3 is 25 %, not 33 %."""
    assert compute_dose(plan(ramps="inside", hold_s=6, rest_s=18)).duty_percent == 25


def test_channels_in_turns_with_a_gap_of_a_second() -> None:
    """Each 5 s with 1 s between: a cycle of 12 s, 41.7 % and 7 s of rest a channel, 100 contractions in 20 minutes."""
    settings = plan(
        2, ramps="inside", hold_s=5, rest_s=1, relation="alternating", delay_s=1, alternating_rest="after_both"
    )
    table, dose = build_timetable(settings), compute_dose(settings)
    assert (table.cycle_ms, table.contractions) == (12_000, (100, 100))
    assert dose.duty_percent == pytest.approx(41.7, abs=0.05)
    rests = {
        row.end_ms - row.start_ms for row in table.intervals if row.phase == "rest" and 0 < row.start_ms < 1_100_000
    }
    assert rests == {7_000}


@pytest.mark.parametrize(("effect", "last_s"), [("shift", 8), ("shorten", 6)])
def test_delayed_channel_is_shifted_or_shortened(effect: str, last_s: int) -> None:
    """On 6, off 12, channel 2 two seconds later: it runs from 2 to 8 s, or from 2 to 6 s."""
    settings = plan(2, ramps="inside", hold_s=6, rest_s=12, delay_s=2, delay_effect=effect)
    first = [row for row in build_timetable(settings).intervals if row.channel == 2 and row.phase != "rest"][:3]
    assert (first[0].start_ms, first[-1].end_ms) == (2_000, last_s * 1000)


def test_programme_of_sixty_sessions_is_thirty_hours() -> None:
    """30 minutes, twice a day, 5 days, 6 weeks: 60 sessions of 1 800 000 ms."""
    assert 2 * 5 * 6 * build_timetable(screen("inside")).session_ms == 30 * 3_600_000
