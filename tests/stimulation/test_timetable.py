"""The timetable of each convention, its end and its start."""

from __future__ import annotations

from typing import Any

import pytest

from tests.stimulation.plans import plan
from tests.vectors.laying_over import cases
from webapp.formats.plan_json import read_settings
from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.plan import PlanError
from webapp.stimulation.timetable import Interval, build_timetable

VALID = [pytest.param(d, c, id=n) for n, d, c in cases("plans", "valid")]
IMPOSSIBLE = [pytest.param(d, c["problems"], id=n) for n, d, c in cases("plans", "impossible")]


@pytest.mark.parametrize(("document", "expected"), VALID)
def test_cycle_is_that_of_the_vectors(document: Any, expected: dict[str, Any]) -> None:
    """Cycle, contraction, pause, flat top, channel 2's start, contractions."""
    settings = read_settings(document)
    cycle, table = work_out_cycle(settings), build_timetable(settings)
    found = {"cycle_ms": table.cycle_ms, "on_ms": table.on_ms, "off_ms": table.off_ms, "flat_ms": table.flat_ms}
    assert found == {name: expected[name] for name in found}
    assert list(table.contractions) == expected["contractions"]
    assert [c.start_ms for c in cycle.contractions[1:]] == [ms for ms in [expected.get("second_ms")] if ms is not None]


@pytest.mark.parametrize(("document", "problems"), IMPOSSIBLE)
def test_impossible_timing_names_every_problem(document: Any, problems: list[list[str]]) -> None:
    """All of them at once."""
    with pytest.raises(PlanError) as caught:
        build_timetable(read_settings(document))
    assert [[p.path, p.key] for p in caught.value.problems] == problems


def rows(settings_rows: tuple[Interval, ...], channel: int) -> list[tuple[int, int, str, int]]:
    """Gives (start, end, phase, cycle) of one channel."""
    return [(r.start_ms, r.end_ms, r.phase, r.cycle) for r in settings_rows if r.channel == channel]


def test_contraction_that_the_end_cuts_is_shown_cut_and_not_counted() -> None:
    """60 s of 7 + 10 s hold four contractions; with a rest of 11 s the fourth, from 54 s, would end at 61 s."""
    whole = build_timetable(plan(session_min=1, rest_s=10))
    cut = build_timetable(plan(session_min=1, rest_s=11))
    assert (whole.contractions, whole.on_time_ms) == ((4,), (28_000,))
    assert rows(cut.intervals, 1)[-2:] == [(54_000, 55_000, "ramp_up", 4), (55_000, 60_000, "hold", 4)]
    assert (cut.contractions, cut.on_time_ms, cut.flat_time_ms) == ((3,), (27_000,), (20_000,))


def test_contraction_that_ends_with_the_session_is_counted() -> None:
    """A contraction from 53 s to 60 s is complete."""
    table = build_timetable(plan(session_min=1, rest_s=46))
    assert rows(table.intervals, 1)[-1] == (59_000, 60_000, "ramp_down", 2)
    assert table.contractions == (2,)


def test_finished_contraction_runs_past_the_session_and_both_channels_last_as_long() -> None:
    """Channel 2's third contraction, from 55 s, is finished at 62 s; channel 1 rests until then."""
    table = build_timetable(
        plan(2, session_min=1, rest_s=10, relation="alternating", delay_s=0, at_end="finish_contraction")
    )
    assert table.cycle_ms == 24_000
    assert (table.session_ms, table.end_ms) == (60_000, 62_000)
    assert rows(table.intervals, 2)[-1] == (61_000, 62_000, "ramp_down", 3)
    assert rows(table.intervals, 1)[-1] == (55_000, 62_000, "rest", 3)
    assert table.contractions == (3, 3)


def test_unit_that_begins_with_a_pause_rests_first_in_cycle_one() -> None:
    """The first rest is cycle 1, and so is the first contraction."""
    table = build_timetable(plan(starts_with="rest"))
    assert rows(table.intervals, 1)[:2] == [(0, 10_000, "rest", 1), (10_000, 11_000, "ramp_up", 1)]
    assert table.first_rise_ms == 10_000


def test_rest_before_the_second_channel_is_cycle_one() -> None:
    """Channel 2 waits in cycle 1; the rest after its contraction n is cycle n."""
    table = build_timetable(plan(2, delay_s=3))
    assert rows(table.intervals, 2)[0] == (0, 3_000, "rest", 1)
    assert rows(table.intervals, 2)[4:6] == [(10_000, 20_000, "rest", 1), (20_000, 21_000, "ramp_up", 2)]


def test_empty_phase_has_no_row() -> None:
    """Without ramps there are holds and rests; without a rest, holds alone."""
    bare = build_timetable(plan(ramp_up_s=0, ramp_down_s=0))
    assert {row.phase for row in bare.intervals} == {"hold", "rest"}
    endless = build_timetable(plan(ramp_up_s=0, ramp_down_s=0, rest_s=0, session_min=1))
    assert [row.phase for row in endless.intervals] == ["hold"] * 12


def test_shortened_channel_starts_late_and_ends_with_the_first() -> None:
    """Only its flat top is shorter."""
    table = build_timetable(plan(2, delay_s=2, delay_effect="shorten"))
    assert rows(table.intervals, 2)[1:4] == [
        (2_000, 3_000, "ramp_up", 1),
        (3_000, 6_000, "hold", 1),
        (6_000, 7_000, "ramp_down", 1),
    ]


def test_delay_from_the_holds_end_may_overlap_the_ramp_down() -> None:
    """Channel 2 rises while channel 1 eases."""
    table = build_timetable(plan(2, relation="alternating", delay_from="hold_end"))
    assert rows(table.intervals, 1)[2] == (6_000, 7_000, "ramp_down", 1)
    assert rows(table.intervals, 2)[1] == (6_000, 7_000, "ramp_up", 1)


def test_steady_plan_is_one_hold_after_its_ramp() -> None:
    """No cycle, no contraction; on from the start to the end."""
    table = build_timetable(plan(drive="steady", hold_s=None, rest_s=None, session_min=30))
    assert rows(table.intervals, 1) == [(0, 1_000, "ramp_up", 1), (1_000, 1_800_000, "hold", 1)]
    assert (table.contractions, table.on_time_ms) == ((0,), (1_800_000,))


def test_session_shorter_than_its_first_rest_is_all_rest() -> None:
    """A pause of 300 s in a session of one minute."""
    table = build_timetable(plan(session_min=1, rest_s=300, starts_with="rest"))
    assert rows(table.intervals, 1) == [(0, 60_000, "rest", 1)]
    assert (table.contractions, table.on_time_ms, table.flat_time_ms) == ((0,), (0,), (0,))
