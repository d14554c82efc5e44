"""Laws of the timetable and of the dose, for any plan whose timing is possible."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.laws.drawn import settings
from webapp.stimulation.cycle import timing_problems, work_out_cycle
from webapp.stimulation.dose import compute_dose
from webapp.stimulation.hill import hill_points
from webapp.stimulation.plan import Settings
from webapp.stimulation.timetable import Interval, Timetable, build_timetable

CYCLES = ("cycled", "switched")


def by_channel(table: Timetable) -> list[list[Interval]]:
    """Gives the rows of each channel."""
    return [list(rows) for _, rows in groupby(table.intervals, key=lambda row: row.channel)]


@given(settings())
def test_each_channel_covers_the_session_without_gap_or_overlap(drawn: Settings) -> None:
    """From 0 to the end, no row empty, the rows adding up to the session."""
    table = build_timetable(drawn)
    assert len(by_channel(table)) == len(drawn.channels)
    for rows in by_channel(table):
        assert (rows[0].start_ms, rows[-1].end_ms) == (0, table.end_ms)
        assert all(row.start_ms < row.end_ms for row in rows)
        assert all(before.end_ms == after.start_ms for before, after in pairwise(rows))
        assert sum(row.end_ms - row.start_ms for row in rows) == table.end_ms


@given(settings())
def test_session_ends_when_planned_or_with_the_contraction_under_way(drawn: Settings) -> None:
    """A unit that cuts never runs on; one that finishes runs on by less than a contraction."""
    table = build_timetable(drawn)
    longest = max(c.on_ms for c in work_out_cycle(drawn).contractions)
    run_on_ms = table.end_ms - table.session_ms
    assert run_on_ms == 0 if drawn.at_end == "cut" else 0 <= run_on_ms < longest


@given(settings())
def test_phases_follow_one_another_and_cycles_count_on(drawn: Settings) -> None:
    """Up, hold, down, rest; the cycle goes on by one with each contraction and never back."""
    order = ["ramp_up", "hold", "ramp_down", "rest"]
    for rows in by_channel(build_timetable(drawn)):
        assert rows[0].cycle == 1
        for before, after in pairwise(rows):
            first = before.start_ms == 0 and before.phase == "rest"
            if after.cycle == before.cycle:
                assert first or order.index(before.phase) < order.index(after.phase)
            else:
                assert after.cycle == before.cycle + 1


@given(settings())
def test_times_and_counts_are_those_of_the_rows(drawn: Settings) -> None:
    """On-time, flat time and completed contractions, summed from the list itself."""
    table = build_timetable(drawn)
    for n, rows in enumerate(by_channel(table)):
        on_ms = sum(row.end_ms - row.start_ms for row in rows if row.phase != "rest")
        flat_ms = sum(row.end_ms - row.start_ms for row in rows if row.phase == "hold")
        assert (table.on_time_ms[n], table.flat_time_ms[n]) == (on_ms, flat_ms)
        if drawn.drive == "steady":
            assert table.contractions[n] == 0
            continue
        whole_ms = work_out_cycle(drawn).contractions[n].on_ms
        worked = [[row for row in rows if row.cycle == c and row.phase != "rest"] for c in range(1, rows[-1].cycle + 1)]
        lengths = [sum(row.end_ms - row.start_ms for row in cycle) for cycle in worked]
        assert table.contractions[n] == sum(length == whole_ms for length in lengths)


@given(settings())
def test_channels_in_turns_never_work_at_once(drawn: Settings) -> None:
    """Counted from the contraction's end, both contractions are apart."""
    if not drawn.alternates or drawn.delay_from == "hold_end":
        return
    work = sorted((r.start_ms, r.end_ms) for r in build_timetable(drawn).intervals if r.phase != "rest")
    assert all(before[1] <= after[0] for before, after in pairwise(work))


@given(settings())
def test_dose_is_rate_times_on_time_and_adds_up_over_channels(drawn: Settings) -> None:
    """Pulses = frequency × on-time, channel by channel, whatever the other one does."""
    table, dose = build_timetable(drawn), compute_dose(drawn)
    for n, channel in enumerate(dose.channels):
        assert channel.on_time_s == pytest.approx(table.on_time_ms[n] / 1000)
        assert channel.pulses == pytest.approx(drawn.frequency_of(drawn.channels[n]) * table.on_time_ms[n] / 1000)
        assert channel.contractions == table.contractions[n]


@given(settings(drives=CYCLES), st.integers(1, 20), st.floats(1, 5))
def test_dose_of_whole_cycles_and_of_what_follows_adds(drawn: Settings, cycles: int, more_min: float) -> None:
    """k whole cycles and then a session make the same on-time as both in one, where the unit begins with a rise."""
    cut = replace(drawn, at_end="cut", starts_with="rise", delay_s=0, relation="together")
    assume(not timing_problems(cut))  # without the other channel's turn a cycle may be too short
    cycle_min = work_out_cycle(cut).cycle_ms / 60_000
    more_ms = round(more_min * 60_000)
    apart = [build_timetable(replace(cut, session_min=m)) for m in (cycles * cycle_min, more_ms / 60_000)]
    whole = build_timetable(replace(cut, session_min=cycles * cycle_min + more_ms / 60_000))
    assert whole.on_time_ms[0] == sum(part.on_time_ms[0] for part in apart)
    assert whole.contractions[0] == sum(part.contractions[0] for part in apart)


@given(settings())
def test_longer_session_never_has_less(drawn: Settings) -> None:
    """Half a minute more."""
    longer = build_timetable(replace(drawn, session_min=drawn.session_min + 0.5))
    table = build_timetable(drawn)
    for before, after in zip(table.on_time_ms, longer.on_time_ms, strict=True):
        assert before <= after
    for before, after in zip(table.contractions, longer.contractions, strict=True):
        assert before <= after


@given(settings(drives=CYCLES), st.data())
def test_hill_is_the_timetable_drawn(drawn: Settings, data: st.DataObject) -> None:
    """Up exactly in a hold, down exactly in a rest, between in a ramp."""
    table = build_timetable(drawn)
    row = data.draw(st.sampled_from(table.intervals))
    at_ms = data.draw(st.integers(row.start_ms, row.end_ms - 1)) + 0.5
    place = (at_ms - table.first_rise_ms) % table.cycle_ms
    points = hill_points(drawn, row.channel)
    (low, before), (high, after) = next((a, b) for a, b in pairwise(points) if a[0] <= place < b[0])
    level = before + (after - before) * (place - low) / (high - low)
    if at_ms < table.first_rise_ms or (row.phase == "rest" and row.end_ms == table.end_ms):
        assert row.phase == "rest"
    else:
        assert {"rest": level == 0, "hold": level == 1}.get(row.phase, 0 < level < 1)
