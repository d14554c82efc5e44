"""What a new version changes, in the client's words and as steps on the unit."""

from __future__ import annotations

from typing import Any

from tests.prescribing.invented import T, known, typed_draft
from webapp.formats.issued_json import read_issued, write_issued
from webapp.prescribing.changes import compare
from webapp.prescribing.drafting import read_draft
from webapp.prescribing.editing import apply_action


def issued(**changed: str) -> dict[str, Any]:
    """Gives an issued plan whose steps are those of its settings."""
    draft = apply_action(typed_draft(**changed), "steps_again:1", known(), T)
    return write_issued(read_issued(read_draft(draft, known())))


def test_the_same_plan_changes_nothing() -> None:
    """No words, nothing to set."""
    assert compare(issued(), issued(), T) == {"version": 1, "words": [], "unit_changed": False, "unit_steps": []}


def test_a_setting_of_the_unit_becomes_a_step_on_the_unit() -> None:
    """In its own words, with the value."""
    told = compare(issued(), issued(ex1__rest_s="15", ex1__session_min="15"), T)
    assert told["unit_changed"] is True
    assert told["unit_steps"] == ["Set the rest to 15 seconds.", "Set the time to 15 minutes."]
    assert "15 minutes, not 20." in told["words"]


def test_words_and_ceilings_leave_the_unit_alone() -> None:
    """The client reads them; nothing is set."""
    told = compare(issued(), issued(ex1__task="Hold the comb", ex1__ch2__ceiling="26"), T)
    assert told["words"] == [
        "closing the hand: the strength may go up to 26, not more.",
        "Your task is now: Hold the comb",
    ]
    assert told["unit_changed"] is False


def test_another_unit_is_set_from_the_start() -> None:
    """Every line of its menu."""
    other = issued()
    other["exercises"][0]["stimulator"]["name"] = "Blue unit"
    told = compare(issued(), other, T)
    assert "You now use another unit: Blue unit." in told["words"]
    assert len(told["unit_steps"]) == 8
