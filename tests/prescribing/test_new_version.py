"""What a version that follows another takes over of it: not its first day, and no first trial as if it were today's."""

from __future__ import annotations

from tests.prescribing.invented import T, known, typed_draft
from webapp.formats.issued_json import read_issued
from webapp.prescribing.checking import check_draft
from webapp.prescribing.drafting import Typed, read_draft
from webapp.prescribing.finding_words import finding_text
from webapp.prescribing.first_day import begin_today
from webapp.prescribing.redrafting import draft_of
from webapp.prescribing.tested import TESTED_RULES, Tried, signed, tried_of

FIRST_DAY, LATER = "2026-11-24", "2026-12-15"
BUILD_UP = {"ex1__build1__from": "2026-12-01", "ex1__build1__session_min": "15",
            "ex1__build2__from": "2026-12-22", "ex1__build2__session_min": "20"}


def follows(today: str, **changed: str) -> Typed:
    draft = draft_of(read_draft(typed_draft(**changed), known()), known(today=today, version=2))
    begin_today(draft, known(today=today, version=2))
    return draft


def test_a_new_version_begins_today_where_the_last_first_day_is_past() -> None:
    """A build-up goes on where it stands: its steps keep their dates; a plan that is over gets eight weeks more."""
    draft = follows(LATER, **BUILD_UP)
    last_day = typed_draft()["last_day"]
    assert (draft["first_day"], draft["last_day"]) == (LATER, last_day)
    assert [draft[f"ex1.build{n}.from"] for n in (1, 2)] == ["2026-12-01", "2026-12-22"]
    assert follows("2026-11-20")["first_day"] == FIRST_DAY
    over = follows("2027-03-01")
    assert (over["first_day"], over["last_day"]) == ("2027-03-01", "2027-04-25")


def test_a_first_day_that_is_past_is_a_finding_with_the_day_that_mends_it() -> None:
    """Also where a draft has lain for some days."""
    found = [one for one in check_draft(typed_draft(), known(today=LATER)).exercises[0].findings
             if one.field == "first_day"]
    assert [(one.finding.severity, one.finding.nearest) for one in found] == [("caution", (LATER,))]
    assert "24 November 2026, is past" in finding_text(found[0].finding, "first day", T)
    assert not [one for one in check_draft(typed_draft(), known()).exercises[0].findings if one.field == "first_day"]


def before(draft: Typed, on: str = FIRST_DAY) -> dict[int, Tried]:
    """What the newest version says of its trial, issued on a day by Otto."""
    issued = read_draft(draft, known())
    exercises = [signed(one, None, "", today=on, by="Otto Brindle") for one in issued["exercises"]]
    return tried_of([({**issued, "exercises": exercises}, "Ines Wallaroo")])


def asked_anew(draft: Typed, **told: object) -> list[str]:
    found = check_draft(draft, known(version=2, tested=before(typed_draft()), **told)).exercises[0].findings
    return [one.finding.rule for one in found if one.finding.rule in TESTED_RULES]


def test_a_first_trial_taken_over_keeps_its_day_and_tester() -> None:
    """Until it is tested again: ticked, or other values found."""
    exercise, old = read_draft(typed_draft(), known())["exercises"][0], before(typed_draft())[1]
    kept = signed(exercise, old, "", today=LATER, by="Ines Wallaroo")
    assert (kept["tried_on"], kept["tried_by"]) == (FIRST_DAY, "Otto Brindle")
    anew = signed(exercise, old, LATER, today="2026-12-16", by="Ines Wallaroo")
    assert (anew["tried_on"], anew["tried_by"]) == (LATER, "Ines Wallaroo")
    other = read_draft(typed_draft(ex1__ch1__most="19"), known())["exercises"][0]
    assert signed(other, old, "", today=LATER, by="Ines Wallaroo")["tried_on"] == LATER
    assert read_issued({**read_draft(typed_draft(), known()), "exercises": [kept]}).exercises[0].tried_by


def test_it_is_asked_anew_when_it_is_old_or_was_of_other_pads() -> None:
    """After the clinic's period, and whenever pads, unit or channels differ; a tick or new values answer it."""
    assert asked_anew(typed_draft(), today=LATER) == []
    assert asked_anew(typed_draft(), today=LATER, tested_days=20) == ["trial_old"]
    moved = typed_draft(ex1__ch1__pad_a__place="A hand's width higher")
    assert asked_anew(moved) == ["trial_elsewhere"]
    assert asked_anew(moved | {"ex1.tested": FIRST_DAY}) == []
    assert asked_anew(moved | {"ex1.ch1.most": "19"}) == []
    assert asked_anew(typed_draft(ex1__two="1")) == ["trial_elsewhere"]


def test_a_plan_of_an_earlier_release_is_as_old_as_the_first_version_with_its_values() -> None:
    """It does not say who tested; a later version with the same values tested nothing."""
    first = read_draft(typed_draft(), known())
    later = {**first, "version": 2, "issued_on": LATER}
    found = tried_of([(later, "Ines Wallaroo"), (first, "Otto Brindle")])[1]
    assert (found.on, found.by, found.version) == (FIRST_DAY, "Otto Brindle", 1)
