"""Following a new line: no cue is repeated or swallowed, nothing jumps but a rest, and it gets there."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.lining_up.node_run import node_value

MODULE = "tests/lining_up/following.js"

GOALS = st.lists(
    st.fixed_dictionaries(
        {"atMs": st.integers(0, 600_000), "byMs": st.integers(-60_000, 60_000), "ppm": st.integers(-30_000, 30_000)}
    ),
    min_size=1,
    max_size=6,
).map(lambda found: sorted(found, key=lambda goal: goal["atMs"]))
WALKS = st.fixed_dictionaries(
    {
        "seed": st.integers(0, 10**6),
        "cycleMs": st.integers(8000, 60_000),
        "goals": GOALS,
        "tickMs": st.integers(50, 600),
        "cycles": st.integers(20, 40),
    }
)


@settings(max_examples=10)
@given(st.lists(WALKS, min_size=1, max_size=10))
def test_each_cue_is_passed_once_and_in_order(walks: list[dict[str, Any]]) -> None:
    """Whatever lines the taps give: each cue comes once, and the place jumps only within a rest."""
    for seen in node_value(MODULE, "walks.map(m.follow)", walks=walks):
        assert seen["inOrder"]
        assert seen["all"]
        assert seen["wentBack"] == 0
        assert seen["mostJumpMs"] < 1e-3


@settings(max_examples=10)
@given(st.integers(8000, 60_000), st.integers(-60_000, 60_000), st.integers(-20_000, 20_000))
def test_a_new_line_is_reached_within_a_few_cycles(cycle_ms: int, by_ms: int, ppm: int) -> None:
    """Three cycles after the unit was found to be elsewhere, by half a cycle at most, the cues are there."""
    goal = {"atMs": 0, "byMs": by_ms, "ppm": ppm}
    walk = {"seed": 1, "cycleMs": cycle_ms, "goals": [goal], "tickMs": 250, "cycles": 4}
    assert node_value(MODULE, "m.follow(walk)", walk=walk)["lastOffMs"] <= 25
