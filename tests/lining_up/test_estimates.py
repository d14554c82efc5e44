"""The estimator against an oracle, and its rules: when it asks, what it remembers, what it does not follow."""

from __future__ import annotations

import random
from itertools import pairwise
from typing import Any

import pytest

from tests.lining_up.node_run import node_value
from tests.lining_up.oracle import posterior

ESTIMATES = "tests/lining_up/estimates.js"
LINING_UP = "static/parts/lining_up.js"


def invented_taps(seed: int) -> dict[str, Any]:
    """Makes the taps of a few minutes: one in five at the end of a hold, one unit in three set differently."""
    dice = random.Random(seed)
    cycle_s = dice.uniform(8, 24)
    hold_end_s = cycle_s * dice.uniform(0.2, 0.4)
    clock = dice.uniform(-0.02, 0.02) if seed % 3 else dice.choice((-1, 1)) * dice.uniform(0.05, 0.1)
    taps = []
    for about_s in (0, 60, 150, 270)[: 3 + seed % 2]:
        edge_s = hold_end_s if dice.random() < 0.2 else 0
        taps.append(((about_s // cycle_s + 1) * cycle_s + edge_s) * (1 + clock) + dice.gauss(0, 0.15))
    return {"tapsS": [tap - taps[0] for tap in taps], "cycleS": cycle_s, "holdEndS": hold_end_s}


def test_the_estimator_agrees_with_a_grid_of_every_phase_and_clock() -> None:
    """Where taps can be told apart: phase, clock and their standard deviations to within a tenth of these."""
    sessions = [invented_taps(seed) for seed in range(12)]
    found = node_value(ESTIMATES, "sessions.map(m.atLastTap)", sessions=sessions)
    judged = 0
    for session, ours in zip(sessions, found, strict=True):
        exact = posterior(session["tapsS"], cycle_s=session["cycleS"], hold_end_s=session["holdEndS"])
        assert ours["sure"] == pytest.approx(exact.sure, abs=0.04)
        assert ours["setDifferently"] == (exact.different > 0.95)
        if exact.sure < 0.95 or 0.02 < exact.different < 0.98:
            continue
        judged += 1
        cycle_s = session["cycleS"] * (1 + exact.clock)
        off_s = ours["phaseS"] - exact.phase_s
        assert exact.different > 0.5 or abs(off_s - cycle_s * round(off_s / cycle_s)) < 0.1 * exact.sd_phase_s
        assert abs(ours["clock"] - exact.clock) < 0.1 * exact.sd_clock
        assert ours["sdPhaseS"] == pytest.approx(exact.sd_phase_s, rel=0.1)
        assert ours["sdClock"] == pytest.approx(exact.sd_clock, rel=0.1)
    assert judged >= 8


@pytest.mark.parametrize(("cycle_ms", "ppm"), [(9000, 15_000), (29_000, 7000), (29_000, -19_000), (60_000, 5000)])
def test_it_asks_until_the_clock_is_known(cycle_ms: int, ppm: int) -> None:
    """At the start, at about a minute, then every three to five; then no more: it is right to 0.1 s a session."""
    seen = node_value(ESTIMATES, "m.asked(of)", of={"cycleMs": cycle_ms, "ppm": ppm})
    gaps = [after - before for before, after in pairwise(seen["taps"])]
    assert 50 <= gaps[0] <= 90
    assert all(50 <= gap <= 302 for gap in gaps[1:])
    assert len(seen["taps"]) <= 9
    assert seen["known"]
    assert seen["nextAskMs"] is None
    assert abs(seen["ppm"] - ppm) * 1800 / 1000 < 100


def test_it_asks_only_near_a_rise() -> None:
    """The question comes in the rest, ten seconds before a rise at the earliest, and is gone when the hold begins."""
    seen = node_value(ESTIMATES, "m.asked(of)", of={"cycleMs": 29_000, "ppm": 2000, "missEvery": 2})
    assert seen["placesOfAsking"]
    for place_ms in seen["placesOfAsking"]:
        assert place_ms >= 29_000 - 10_500 or place_ms <= 0.06 * 29_000 + 500
        assert place_ms >= seen["restMs"] or place_ms <= 0.06 * 29_000 + 500


def test_one_tap_is_enough_once_the_clock_is_known() -> None:
    """What a session found out is enough for the next one: it asks at the start and never again."""
    first = node_value(ESTIMATES, "m.asked(of)", of={"cycleMs": 29_000, "ppm": 7000})
    later = node_value(ESTIMATES, "m.asked(of)", of={"cycleMs": 24_000, "ppm": 7000, "remembered": first["remember"]})
    assert len(later["taps"]) == 1
    assert later["known"]
    assert later["remember"] == first["remember"]


def test_below_eight_seconds_only_the_phase() -> None:
    """A short cycle is lined up by the newest tap alone; the clock is not found, and it says so."""
    expression = "(() => { const l = m.createLiningUp(of); l.tap(1300); return [l.tap(181_900), l.toRemember()]; })()"
    of = {"cycleMs": 6000, "firstRiseMs": 0, "sessionMs": 1_800_000, "lagMs": 300,
          "edges": {"holdMs": 500, "holdEndMs": 2000, "restMs": 2500}}  # fmt: skip
    found, remember = node_value(LINING_UP, expression, of=of)
    assert found["phaseOnly"]
    assert not found["known"]
    assert found["ratio"] == 1
    assert (181_600 - found["zeroMs"]) % 6000 == 0
    assert remember is None


@pytest.mark.parametrize("ppm", [-60_000, 40_000, 80_000])
def test_a_unit_that_is_set_differently_is_not_followed(ppm: int) -> None:
    """More than 3 % off is no clock's error: said after a few taps; the cues keep the plan's pace, it asks no more."""
    expression = "(() => { const l = m.createLiningUp(of); return rises.map((at) => l.tap(at + 300)); })()"
    of = {"cycleMs": 29_000, "firstRiseMs": 0, "sessionMs": 1_800_000, "lagMs": 300,
          "edges": {"holdMs": 1000, "holdEndMs": 7000, "restMs": 8000}}  # fmt: skip
    rises = [n * 29_000 * (1 + ppm / 1e6) for n in (0, 2, 9, 17)]
    found = node_value(LINING_UP, expression, of=of, rises=rises)
    assert [each["setDifferently"] for each in found[:2]] == [False, False]
    assert found[-1]["setDifferently"]
    assert found[-1]["ratio"] == 1
    assert found[-1]["ppm"] == pytest.approx(ppm, abs=1500)
    assert found[-1]["nextAskMs"] is None
    assert all(abs(each["ratio"] - 1) <= 0.03 for each in found)


def test_a_second_press_at_once_is_the_same_tap() -> None:
    """Two presses within a second count as one; the first tap alone gives what the timer's simple rule gives."""
    expression = """(() => { const l = m.createLiningUp(of); const one = l.tap(50_000); const two = l.tap(50_400);
      return [one, two, m.zeroFromTap({ ...of, tapMs: 50_000, reactionMs: of.lagMs })]; })()"""
    of = {"cycleMs": 29_000, "firstRiseMs": 2000, "sessionMs": 1_800_000, "lagMs": 700, "cuedMs": 60_000,
          "edges": {"holdMs": 1000, "holdEndMs": 7000, "restMs": 8000}}  # fmt: skip
    one, two, zero = node_value(LINING_UP, expression, of=of)
    del one["sdPhaseMs"], two["sdPhaseMs"]  # a moment later it is a little larger
    assert one == two
    assert one["zeroMs"] == pytest.approx(zero, abs=1)


def test_the_lag_of_a_tap() -> None:
    """The ramp up to the first feeling, and a reaction; on the unit's own sign the reaction alone, surely."""
    felt = {"rampMs": 2000, "noticedMs": 800}
    each = "[felt, { ...felt, ownSign: true }, { rampMs: 2000 }]"
    lags = node_value(LINING_UP, f"{each}.map(m.expectedLag)", felt=felt)
    assert lags[0]["lagMs"] == 1100
    assert 0 < lags[0]["lagSdMs"] < 0.4 * 800
    assert lags[1] == {"lagMs": 300, "lagSdMs": 0}
    assert lags[2]["lagMs"] == 1300
    hill = [[0, 0], [1000, 1000], [7000, 1000], [8000, 0], [29_000, 0]]
    edges = node_value("static/parts/tap_asking.js", "m.edgesOf(hill)", hill=hill)
    assert edges == {"holdMs": 1000, "holdEndMs": 7000, "restMs": 8000}
