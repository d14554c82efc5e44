"""A few hundred simulated sessions; `python -m tests.bench lining_up` does the same with ten thousand."""

from __future__ import annotations

from typing import Any

from tests.lining_up.node_run import node_value

SESSIONS = 600
MOST_RATIO = 1.25


def simulated(**world: Any) -> Any:
    """Simulates sessions in a world (see simulation.js), the same ones each time."""
    of = {"sessions": SESSIONS, "seed": 7, **world}
    return node_value("tests/lining_up/simulation.js", "m.simulateMany(of)", of=of)


def test_the_cues_are_as_near_the_unit_as_taps_allow() -> None:
    """From the third tap on: near the Cramér–Rao bound of the honest taps, far from what simpler ways give."""
    seen = simulated()
    assert seen["pooled"]["ratio"] <= MOST_RATIO
    assert seen["identifiable"]["atTapRatio"] <= MOST_RATIO
    assert seen["pooled"]["phaseOnlyMs"] > 5 * seen["pooled"]["rmsMs"]
    assert seen["pooled"]["firstMs"] > 20 * seen["pooled"]["rmsMs"]
    assert seen["byTap"][5]["all"]["p95Ms"] < seen["byTap"][1]["all"]["p95Ms"] / 2
    assert seen["differentShare"] == 0
    assert seen["knownShare"] > 0.97


def test_taps_at_no_edge_at_all_are_borne() -> None:
    """Wrong taps anywhere in the cycle, where the model hardly expects them, leave 19 cues of 20 within 0.5 s."""
    seen = simulated(wrongAt="anywhere")["pooled"]
    assert seen["p95Ms"] < 500
    assert seen["phaseOnlyP95Ms"] > 8 * seen["p95Ms"]


def test_where_the_lag_is_not_known_the_cues_err_early() -> None:
    """Lags of 0.3 to 2 s known to 40 %, taps twice as shaky: early on average by under 0.5 s, seldom late by more."""
    seen = simulated(jitterMs=300, lagMs=[300, 2000], lagKnownTo=0.4)["pooled"]
    assert -500 < seen["biasMs"] < -100
    assert seen["halfLateShare"] < 0.05


def test_a_unit_that_is_set_differently_is_found_out() -> None:
    """Off by five to ten per cent: found out in nearly every session, and never within the clocks' own two per cent."""
    assert simulated(clockShare=[0.05, 0.1])["differentShare"] > 0.98
    assert simulated(clockShare=[0.019, 0.02])["differentShare"] == 0


def test_a_remembered_clock_needs_one_tap() -> None:
    """With the clock remembered it asks once, and an honest tap keeps the cues within half a second to the end."""
    seen = simulated(remembered=True)
    assert seen["tapsAsked"] == 1
    assert seen["byTap"][0]["mostHonest"]["p95Ms"] < 500
