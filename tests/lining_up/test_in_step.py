"""The timer in step with its unit: the first tap starts it, later taps move it, the unit's clock goes into the log."""

from __future__ import annotations

from typing import Any

from tests.lining_up.node_run import node_value

MODULE = "tests/lining_up/in_step.js"


def told(**of: Any) -> dict[str, Any]:
    found: dict[str, Any] = node_value(MODULE, "m.session(of)", of=of)
    return found


def test_taps_at_a_slow_unit_find_its_clock() -> None:
    """A unit whose seconds are 1 % longer: after some taps the log says so, and the cues follow it."""
    seen = told(ppm=10_000, taps=8)
    assert abs(seen["periodPpm"] - 10_000) < 1500
    assert abs(seen["endErrorMs"]) < 500
    assert not seen["different"]
    assert abs(seen["remembered"]["ppm"] - 10_000) < 1500


def test_a_unit_that_is_set_differently_is_not_followed() -> None:
    """A rhythm 6 % off is said and logged, and the cues keep their own pace."""
    seen = told(ppm=60_000, taps=6)
    assert seen["different"]
    assert abs(seen["periodPpm"]) > 30_000  # how far it is off is not told apart from a whole cycle more or less
    assert abs(seen["ratio"] - 1) < 0.031
    assert seen["remembered"] is None


def test_without_a_further_tap_nothing_is_claimed() -> None:
    """One tap sets the start; the clock stays not known."""
    seen = told(ppm=4000, taps=1)
    assert seen["periodPpm"] == 1_000_000


def test_a_rest_is_found_between_its_cues() -> None:
    """Only the gap that follows the cue of a rest counts as rest."""
    assert node_value(MODULE, "[500, 9000, 14000].map((at) => m.restAt(m.SHEET, at))") == [
        None, {"fromMs": 8000, "toMs": 20000}, {"fromMs": 8000, "toMs": 20000}]
