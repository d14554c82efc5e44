"""Build-up over weeks: said in words as it will go, checked step by step, told to the client as news."""

from __future__ import annotations

from typing import Any

from tests.prescribing.invented import UNIT, T, known, typed_draft
from webapp.prescribing.build_up import build_up_words
from webapp.prescribing.changes import compare
from webapp.prescribing.checking import CheckedDraft, check_draft
from webapp.prescribing.drafting import Known
from webapp.prescribing.issue import complete

STEPS = {"first_day": "2026-11-24", "last_day": "2027-01-10", "ex1.session_min": "10",
         "ex1.build1.from": "2026-12-01", "ex1.build1.session_min": "15",
         "ex1.build2.from": "2026-12-08", "ex1.build2.session_min": "20"}  # fmt: skip


def checked(changed: dict[str, str] | None = None, at: Known | None = None) -> CheckedDraft:
    return check_draft(typed_draft(**{**STEPS, **(changed or {})}), at or known())


def words(found: CheckedDraft) -> list[str]:
    return build_up_words(found.issued["exercises"][0], found.issued["first_day"], found.issued["last_day"], T)


def without_minutes() -> Known:
    settings = [one for one in UNIT["settings"] if one["name"] != "session_min"]
    return known(stimulators={"1": {**UNIT, "settings": settings}})


def test_the_steps_are_said_as_they_will_go() -> None:
    """In order of their days, each with what was before, and that the client sets the unit first."""
    assert words(checked())[:3] == [
        "From the first day: 10 minutes.", "From 1 December 2026: 15 minutes instead of 10.",
        "From 8 December 2026: 20 minutes instead of 15."]
    assert "the minutes before hold" in words(checked())[3]


def test_a_unit_without_minutes_needs_nothing_set() -> None:
    """There the phone counts."""
    assert words(checked(at=without_minutes()))[-1].startswith("Nothing is set on the unit")


def test_steps_that_never_come_or_come_at_once_are_said_to() -> None:
    """A day outside the plan is an oversight."""
    said = words(checked({"ex1.build1.from": "2026-11-24", "ex1.build2.from": "2027-02-01"}))
    assert "from the first day on" in said[1]
    assert "never come" in said[2]


def test_half_typed_steps_and_none_say_nothing_wrong() -> None:
    """What cannot be read yet is left out."""
    assert len(words(checked({"ex1.build2.from": "soon", "ex1.build1.session_min": ""}))) == 0
    assert words(check_draft(typed_draft(), known())) == []


def test_what_the_unit_cannot_do_is_found_at_its_step() -> None:
    """A step over the unit's longest session stops the plan, at that step and no other."""
    found: list[tuple[str, str]] = [(one.field, one.finding.rule) for one in
                                    checked({"ex1.build2.session_min": "90"}).exercises[0].findings
                                    if ".build" in one.field and one.finding.severity == "stop"]
    assert found == [("ex1.build2.session_min", "unit_session_min")]
    assert not [one for one in checked().exercises[0].findings if ".build" in one.field]


def test_a_client_is_told_the_steps_that_are_new() -> None:
    """And that the minutes stay, where steps were taken away."""
    stepped: Any = complete(checked().issued)
    plain: Any = {**stepped, "exercises": [{**stepped["exercises"][0], "minutes_by_date": []}]}
    told = compare(plain, stepped, T)
    assert told["words"] == ["From 1 December 2026: 15 minutes.", "From 8 December 2026: 20 minutes."]
    assert told["unit_changed"] is False, "each step brings its own, on its day"
    assert compare(stepped, plain, T)["words"] == ["It stays at 10 minutes."]
