"""A draft as typed: read as an issued plan and back, with everything that is wrong named at its field."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.prescribing.invented import TYPED, UNIT, T, known, typed_draft
from webapp.formats.issued_json import read_issued, write_issued
from webapp.prescribing.checking import check_draft
from webapp.prescribing.drafting import Typed, number, read_draft, read_exercise
from webapp.prescribing.editing import apply_action, new_draft
from webapp.prescribing.figures import work_out_figures
from webapp.prescribing.redrafting import draft_of
from webapp.prescribing.step_editing import remember_steps, steps_are_stale


def test_a_typed_draft_is_a_whole_plan() -> None:
    """Movement, unit and channel defaults fill the rest, and nothing stops it."""
    checked = check_draft(typed_draft(), known())
    assert checked.troubles == ()
    assert checked.stops == 0
    assert read_issued(checked.issued).exercises[0].channels[1].name == "closing the hand"


def test_a_plan_written_as_a_draft_reads_back_the_same() -> None:
    """What a client has is what the next version starts from."""
    issued = write_issued(read_issued(read_draft(typed_draft(), known())))
    again = write_issued(read_issued(read_draft(draft_of(issued, known()), known())))
    assert again == issued


@given(st.dictionaries(st.sampled_from(sorted(typed_draft())), st.text(max_size=20), max_size=6))
def test_whatever_is_typed_is_read_without_falling_over(typed: dict[str, str]) -> None:
    """Every text in every field gives a plan or problems at fields, never an error."""
    draft = apply_action({**typed_draft(), **typed}, "steps_again:1", known(), T)
    checked = check_draft(draft, known())
    for exercise in checked.exercises:
        work_out_figures(exercise, T)
    assert all(trouble.field for trouble in checked.troubles)


def test_a_wrong_number_is_named_at_its_field() -> None:
    """All of them at once, beside what is missing."""
    draft = typed_draft(ex1__rest_s="soon", ex1__ch2__pad_a__width_cm="900", ex1__title="", ex1__ch1__ceiling="")
    checked = check_draft(draft, known())
    told = {trouble.field: trouble.key for trouble in checked.troubles}
    assert told["ex1.rest_s"] == "tenths"
    assert told["ex1.ch2.pad_a.width_cm"] == "number"
    assert told["ex1.title"] == "missing"
    assert checked.exercises[0].findings[0].finding.rule == "no_ceiling"


def test_no_ceiling_is_a_stop_at_the_ceiling() -> None:
    """Once, not as a finding and a problem."""
    checked = check_draft(typed_draft(ex1__ch2__ceiling=""), known())
    assert [(f.finding.rule, f.field) for f in checked.exercises[0].findings if f.finding.severity == "stop"] == [
        ("no_ceiling", "ex1.ch2.ceiling")]
    assert checked.stops == 1


def test_numbers_are_read_as_people_write_them() -> None:
    """A decimal comma is one; words stay words."""
    assert (number("1,5"), number(" 2".strip()), number("12 s")) == (1.5, 2, "12 s")


def test_what_the_unit_fixes_is_not_the_therapists_choice() -> None:
    """A known behaviour is taken from its description, an unknown one from the form."""
    inside = known(stimulators={"1": {**UNIT, "ramps": "inside"}})
    unknown = known(stimulators={"1": {**UNIT, "ramps": "unknown"}})
    draft = typed_draft(ex1__ramps="split")
    assert read_exercise(draft, 1, inside)["settings"]["ramps"] == "inside"
    assert read_exercise(draft, 1, unknown)["settings"]["ramps"] == "split"


def test_a_unit_with_levels_gets_levels() -> None:
    """No milliampere is guessed."""
    draft = typed_draft()
    levels = known(stimulators={"1": {**UNIT, "shows": "level"}})
    channel = read_exercise(draft, 1, levels)
    assert channel["settings"]["channels"][0]["intensity_level"] == 22
    assert "ceiling_ma" not in channel["channels"][0]


def test_the_smallest_pad_counts() -> None:
    """A round one by its circle."""
    draft = typed_draft(ex1__ch1__pad_b__width_cm="3", ex1__ch1__pad_b__height_cm="3", ex1__ch1__pad_b__shape="round")
    assert read_exercise(draft, 1, known())["settings"]["channels"][0]["pad_cm2"] == 7.07


def test_a_movement_fills_blanks_and_leaves_what_was_typed() -> None:
    """Another movement replaces the first one's words, not the therapist's."""
    draft = apply_action(new_draft(known()) | {"ex1.movement": "open_hand"}, "restructure", known(), T)
    draft["ex1.title"] = "Reaching for the tap"
    changed = apply_action({**draft, "ex1.movement": "knee_extension"}, "restructure", known(), T)
    assert changed["ex1.title"] == "Reaching for the tap"
    assert changed["ex1.ch1.say_hold"] == "Keep it straight"


def test_a_field_that_was_emptied_stays_empty() -> None:
    """Defaults come once, with the choice."""
    draft = apply_action(typed_draft(ex1__looks_right=""), "step_add:1", known(), T)
    assert draft["ex1.looks_right"] == ""


MOVED = {"ex1.ch1.pad_a.place": "a hand's width higher"}


def _steps(draft: Typed, n: int = 1) -> list[str]:
    return [step["text"] for step in read_exercise(draft, n, known())["set_up_steps"]]


def test_set_up_steps_follow_the_unit_until_someone_changes_them() -> None:
    """Socket sides and places are in them; a change of theirs is kept and said to be stale."""
    draft = apply_action(typed_draft(), "restructure", known(), T)
    assert any("left socket" in step for step in _steps(draft))
    own = {**draft, "ex1.step1.text": "Put the kettle on.", **MOVED}
    kept = apply_action(own, "restructure", known(), T)
    assert _steps(kept)[0] == "Put the kettle on."
    assert steps_are_stale(kept, 1, known(), T)
    again = apply_action(kept, "steps_again:1", known(), T)
    assert any("a hand's width higher" in step for step in _steps(again))
    assert not steps_are_stale(again, 1, known(), T)


def _next_version(draft: Typed) -> Typed:
    issued = write_issued(read_issued(read_draft(draft, known())))
    again = draft_of(issued, known())
    remember_steps(again, issued, T)
    return again


def test_a_new_versions_steps_follow_its_pads() -> None:
    """Where the client is told to put a pad is where the new version has it."""
    again = _next_version(apply_action(typed_draft(), "save", known(), T))
    changed = apply_action({**again, **MOVED}, "save", known(), T)
    assert any("a hand's width higher" in step for step in _steps(changed))
    assert not steps_are_stale(changed, 1, known(), T)


def test_a_new_version_keeps_steps_written_by_hand_and_says_when_they_are_old() -> None:
    """Nobody's words are overwritten, and nobody is told the old place unseen."""
    own = {**apply_action(typed_draft(), "save", known(), T), "ex1.step1.text": "Put the kettle on."}
    again = apply_action(_next_version(own), "save", known(), T)
    assert not steps_are_stale(again, 1, known(), T)
    changed = apply_action({**again, **MOVED}, "save", known(), T)
    assert _steps(changed)[0] == "Put the kettle on."
    assert steps_are_stale(changed, 1, known(), T)


def test_a_gap_between_pads_is_kept_from_version_to_version() -> None:
    """Too small a gap is a caution in the next version too; one that is no number is named."""
    again = _next_version(typed_draft(ex1__ch2__apart_cm="2,5"))
    found = check_draft(again, known()).exercises[0].findings
    assert [(one.field, one.finding.rule) for one in found if one.finding.severity == "caution"] == [
        ("ex1.ch2.apart_cm", "pads_close")]
    told = check_draft(typed_draft(ex1__ch1__apart_cm="wide"), known()).troubles
    assert [trouble.field for trouble in told] == ["ex1.ch1.apart_cm"]


def test_the_unit_speaks_up_before_a_strength_is_found() -> None:
    """A rest that it cannot set is a stop from the first keystroke, beside the missing strength."""
    checked = check_draft(typed_draft(ex1__rest_s="45", ex1__ch1__intensity=""), known())
    stops = [found.field for found in checked.exercises[0].findings if found.finding.severity == "stop"]
    assert stops == ["ex1.rest_s"]
    assert [trouble.field for trouble in checked.troubles] == ["ex1.ch1.intensity"]


def test_who_uses_both_hands_has_the_treated_side_chosen() -> None:
    """No side is guessed; without one the plan is not whole."""
    assert new_draft(known(working_side="left"))["ex1.side"] == "right"
    draft = typed_draft(ex1__side=str(new_draft(known(working_side="both"))["ex1.side"]))
    told = [(trouble.field, trouble.key) for trouble in check_draft(draft, known()).troubles]
    assert told == [("ex1.side", "missing")]


def test_steps_move_come_and_go() -> None:
    """Nothing else moves with them."""
    draft = apply_action(typed_draft(), "restructure", known(), T)
    first, second, *rest = _steps(draft)
    assert _steps(apply_action(draft, "step_up:1:2", known(), T)) == [second, first, *rest]
    assert _steps(apply_action(draft, "step_down:1:1", known(), T)) == [second, first, *rest]
    assert _steps(apply_action(draft, "step_remove:1:1", known(), T)) == [second, *rest]


def test_removing_an_exercise_moves_the_others_up() -> None:
    """The second becomes the first, whole."""
    two = apply_action(typed_draft(), "exercise_add", known(), T) | {"ex2.title": "Second", "ex2.rest_s": "17"}
    left = apply_action(two, "exercise_remove:1", known(), T)
    assert (left["exercises"], left["ex1.title"], left["ex1.rest_s"]) == ("1", "Second", "17")
    assert not any(name.startswith("ex2.") for name in left)


def test_the_clinics_cautions_come_with_the_plan_once() -> None:
    """Beside the client's own."""
    issued = read_draft(typed_draft(), known())
    assert issued["cautions"] == [TYPED["cautions"], "Never in the bath"]
    assert draft_of(write_issued(read_issued(issued)), known())["cautions"] == TYPED["cautions"]
