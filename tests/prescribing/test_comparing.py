"""Two plans side by side, in words that can go to the client."""

from __future__ import annotations

import pytest

from tests.prescribing.invented import T, known, typed_draft
from webapp.prescribing.changes import compare
from webapp.prescribing.checking import check_draft
from webapp.prescribing.comparing import differences
from webapp.prescribing.drafting import Raw
from webapp.prescribing.issue import complete


def plan(**changed: str) -> Raw:
    return complete(check_draft(typed_draft(**changed), known()).issued)


def said(**changed: str) -> list[str]:
    return [one.words for one in differences(plan(), plan(**changed), T)]


@pytest.mark.parametrize(("changed", "words"), [
    ({"ex1.session_min": "10"}, "Time: ten minutes instead of twenty"),
    ({"ex1.rest_s": "1"}, "Rest: 1 second instead of twelve"),
    ({"ex1.ramp_up_s": "1.5"}, "Ramp up: 1.5 seconds instead of one"),
    ({"ex1.frequency_hz": "20"}, "Frequency: twenty Hz instead of thirty-five"),
    ({"ex1.relation": "together"}, "Both channels: together instead of in turns"),
    ({"ex1.ch1.ceiling": "30"}, "Channel 1: Ceiling: 30 mA instead of 28 mA"),
])  # fmt: skip
def test_a_change_is_said_as_one_would_say_it(changed: dict[str, str], words: str) -> None:
    """Small whole numbers in words, the unit once, new before old."""
    assert words in said(**changed)


def test_plans_that_are_alike_differ_in_nothing() -> None:
    """The same plan twice gives no row."""
    assert differences(plan(), plan(), T) == []


def test_a_pad_that_was_moved_is_a_difference_and_news_for_the_client() -> None:
    """On the drawing alone, with the words for the place as they were."""
    moved = plan(**{"ex1.ch1.pad_a.x_mm": "120"})
    assert [one.name for one in differences(plan(), moved, T)] == ["Channel 1, on the drawing"]
    assert compare(plan(), moved, T)["words"] == ["New places for the pads: opening the hand."]


def test_a_draft_that_is_not_whole_can_be_compared() -> None:
    """Blank and half-typed fields are shown as they are."""
    half = check_draft(typed_draft(**{"ex1.rest_s": "", "ex1.hold_s": "six", "last_day": "soon"}), known()).issued
    names = {one.name for one in differences(plan(), half, T)}
    assert {"rest", "Last day"} <= names
