"""Lining up by taps, the dot on the hill, and a session that ends sooner than its cue sheet."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from tests.client_pages.invented_plan import invented_plan
from tests.client_pages.phone_modules import evaluate
from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.issuing import cue_sheet
from webapp.translations import translator

FEW = effort(max_examples=12, deadline=None)


def sheet() -> dict[str, Any]:
    return dict(write_cue_sheet(cue_sheet(invented_plan()["exercises"][0], {}, translator("en"))))


@FEW
@given(
    st.integers(0, 10**7), st.integers(0, 400), st.integers(0, 20_000), st.integers(2000, 60_000), st.integers(0, 10**6)
)
def test_the_first_tap_is_a_rise(tap: int, reaction: int, first_rise: int, cycle: int, cued: int) -> None:
    """At the tap, less the reaction, a cycle starts; whole cycles that were done before are not done again."""
    zero = evaluate("lining_up", "m.zeroFromTap(of)", of={
        "tapMs": tap, "reactionMs": reaction, "firstRiseMs": first_rise, "cycleMs": cycle, "cuedMs": cued})
    position = tap - reaction - zero
    assert (position - first_rise) % cycle == 0
    assert 0 <= cued - (position - first_rise) < cycle


@FEW
@given(st.integers(-900, 900), st.integers(0, 30), st.integers(2000, 60_000))
def test_a_further_tap_moves_the_phase_by_what_it_is_off(off: int, cycles: int, cycle: int) -> None:
    """A unit that rises later than the cues moves them later, one that rises sooner moves them sooner."""
    shift = evaluate("lining_up", "m.phaseShift(of)", of={
        "positionMs": 500 + cycles * cycle + off + 200, "reactionMs": 200, "firstRiseMs": 500, "cycleMs": cycle})
    assert shift == off


def test_the_dot_walks_over_the_corners_of_the_hill() -> None:
    """On the ramp it climbs with the time, on the flat top it is at the top, in the rest on the ground."""
    hill = [[0, 0], [1000, 1000], [7000, 1000], [8000, 0], [20_000, 0]]
    heights = evaluate("hill_dot", "[0, 250, 1000, 4000, 7500, 8000].map((ms) => m.heightAt(hill, ms))", hill=hill)
    assert heights == [0, 250, 1000, 1000, 500, 0]
    upright = [[0, 0], [0, 1000], [5000, 1000], [5000, 0], [9000, 0]]
    assert evaluate("hill_dot", "[100, 4999, 5001].map((ms) => m.heightAt(hill, ms))", hill=upright) == [1000, 1000, 0]
    assert evaluate("hill_dot", "[m.cyclePlace(500, 1000, 9000), m.cyclePlace(10500, 1000, 9000)]") == [8500, 500]


def test_the_seconds_count_to_the_next_words_even_where_the_other_channel_brings_them() -> None:
    """In turns a channel rests past the other one's turn: what is shown is how long the words on the screen hold."""
    whole = sheet()
    shown = [n for n, row in enumerate(whole["cues"]) if whole["phrases"][row[1]]["seconds"]]
    asked = "shown.map((n) => m.changesAt(sheet, { index: n, untilMs: sheet.cues[n][2] }))"
    until = evaluate("timer_face", asked, sheet=whole, shown=shown)
    assert until[:-1] == [min(whole["cues"][n][2], whole["cues"][m][0]) for n, m in pairwise(shown)]
    resting = [end - whole["cues"][n][0] for n, end in zip(shown, until, strict=True)
               if whole["phrases"][whole["cues"][n][1]]["phase"] == "rest"]
    assert max(resting) < whole["cycle_ms"] / 2


def test_a_session_of_the_build_up_ends_sooner() -> None:
    """It keeps every cue before its end, ends with *finished*, and counts no contraction that is cut."""
    whole = sheet()
    cut = evaluate("cue_cut", "m.cutSheet(sheet, 65000)", sheet=whole)
    assert cut["cues"][:-1] == [cue if cue[2] <= 65_000 else [*cue[:2], 65_000, *cue[3:]] for cue in whole["cues"]
                                if cue[0] < 65_000]
    last = cut["cues"][-1]
    assert (last[0], cut["phrases"][last[1]]["phase"], cut["session_ms"]) == (65_000, "finished", 65_000)
    assert last[5:7] == [channel["contractions"] for channel in cut["channels"]]
    assert all(a[0] <= b[0] for a, b in pairwise(cut["cues"]))


def test_a_session_as_long_as_its_sheet_is_not_cut() -> None:
    """The sheet of an ordinary day is played as it came."""
    whole = sheet()
    assert evaluate("cue_cut", "m.cutSheet(sheet, sheet.session_ms)", sheet=whole) == whole
