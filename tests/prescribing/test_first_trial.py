"""The first trial: what it proposes, what it finds, and what the phone is told of it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.prescribing.invented import UNIT, T, known, typed_draft
from webapp.issuing import expected_lag_ms
from webapp.prescribing.checking import check_draft
from webapp.prescribing.editing import apply_action
from webapp.prescribing.first_trial import TRIAL_RULES
from webapp.stimulation.finding import STOP
from webapp.stimulation.first_trial import proposed_ceiling, proposed_strength, tap_lag_ms
from webapp.translations import catalogue


def rules(**typed: str) -> dict[str, str]:
    """Gives what the check says of the trial: rule → severity."""
    found = check_draft(typed_draft(**typed), known()).exercises[0].findings
    return {one.finding.rule: one.finding.severity for one in found if one.finding.rule in TRIAL_RULES}


def missing(**typed: str) -> set[str]:
    return {one.field for one in check_draft(typed_draft(**typed), known()).troubles if one.key == "missing"}


def test_a_trial_that_is_not_done_is_named_field_by_field() -> None:
    """Feeling under each pad, first movement, maximum, the skin at rest; a first feeling may be lost."""
    assert missing() == set()
    assert missing(ex1__ch1__moved="", ex1__ch2__pad_b__sensation="", ex1__skin_at_rest="", ex1__ch1__felt="") == {
        "ex1.ch1.moved", "ex1.ch2.pad_b.sensation", "ex1.skin_at_rest"}


def test_no_movement_is_not_issued() -> None:
    """Whatever else was found."""
    assert rules(ex1__ch1__no_movement="yes") == {"no_movement": STOP}
    assert missing(ex1__ch1__no_movement="yes", ex1__ch1__moved="", ex1__ch1__most="") == set()


def test_the_ceiling_follows_what_was_found() -> None:
    """Above the comfortable maximum, or without full feeling above the movement seen, nothing was tried: a stop."""
    assert rules(ex1__ch1__ceiling="30") == {"above_trial": STOP}
    less = {"ex1__ch1__pad_a__sensation": "less", "ex1__session_min": "10"}
    assert rules(ex1__ch1__ceiling="30", **less) == {"above_trial_seen": STOP}
    assert rules(**less) == {}


def test_first_sessions_without_feeling_are_ten_minutes() -> None:
    """At first a stop with the nearest value as a button; in a later version a caution."""
    typed = typed_draft(ex1__ch2__pad_a__sensation="none")
    [found] = [one.finding for one in check_draft(typed, known()).exercises[0].findings
               if one.finding.rule == "first_sessions_long"]
    assert (found.severity, found.nearest) == (STOP, (10.0,))
    later = check_draft(typed, known(version=2)).exercises[0].findings
    assert [one.finding.severity for one in later if one.finding.rule == "first_sessions_long"] == ["caution"]


def test_what_is_proposed_can_be_set_and_is_never_above_what_was_found() -> None:
    """Half way from first movement to maximum, rounded down to the unit's step."""
    assert proposed_strength(14, 28, 1) == 21
    assert proposed_strength(14, 25, 1) == 19
    assert proposed_strength(14, 15, 2) == 14
    assert proposed_ceiling(25.5, 1) == 25
    assert proposed_ceiling(12.5, 0.5) == 12.5


def test_one_press_takes_over_what_is_proposed() -> None:
    """For each channel; what is not found yet stays as it is."""
    draft = apply_action(typed_draft(ex1__ch2__moved=""), "use_trial:1", known(), T)
    assert [draft[f"ex1.ch1.{name}"] for name in ("intensity", "ceiling")] == ["21", "28"]
    assert [draft[f"ex1.ch2.{name}"] for name in ("intensity", "ceiling")] == ["18", "24"]


@pytest.mark.parametrize(("ramp_s", "noticed", "strength", "lag"), [
    (2, 8, 20, 800), (2, 30, 20, 2000), (0, 8, 20, 0), (2, None, 20, 0), (2, 8, None, 0),
])  # fmt: skip
def test_a_straight_ramp_reaches_the_threshold_late(
    ramp_s: float, noticed: float | None, strength: float | None, lag: int
) -> None:
    """Ramp × threshold ÷ strength; nothing is guessed where one is not known."""
    assert tap_lag_ms(ramp_s, noticed, strength) == lag


def exercise(**changed: Any) -> dict[str, Any]:
    issued: dict[str, Any] = check_draft(typed_draft(), known()).issued["exercises"][0]
    return issued | changed


def test_the_pack_tells_when_the_client_notices_a_rise() -> None:
    """By the feeling; who does not feel it, by the movement."""
    assert expected_lag_ms(exercise()) == round(1000 * 9 / 22)
    assert expected_lag_ms(exercise(sensory_loss=True)) == round(1000 * 14 / 22)


def test_every_rule_has_its_words() -> None:
    """Long and short."""
    assert {f"finding.{rule}{end}" for rule in TRIAL_RULES for end in ("", ".short")} <= catalogue("en").keys()
    assert UNIT["shows"] == "ma"
