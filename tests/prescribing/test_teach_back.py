"""Ready for home: the therapist's decision about what was shown, and what makes it lapse."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.prescribing.invented import T, known, typed_draft
from tests.prescribing.ready import make_ready, screen, show
from webapp.errors import Refusal
from webapp.prescribing.drafting import read_draft
from webapp.prescribing.editing import apply_action
from webapp.prescribing.issue import issue_plan
from webapp.prescribing.readiness import read_standing
from webapp.prescribing.screening import places_of, record_answers
from webapp.prescribing.step_editing import reword_step
from webapp.prescribing.teach_back import key_of, last_marks, read_readiness, record_ready
from webapp.storage import assessments, clients, users
from webapp.storage.assessments import Assessment
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Db, Store

NOW_MS = 1_795_000_000_000


@pytest.fixture
def db(tmp_path: Path) -> Db:
    db = Store(tmp_path / "wattlebird.db").connect()
    users.add(db, login="otto", name="Otto Brindle", role="therapist", password_hash="", created_ms=1)
    clients.add(db, code="SL-07", first_name="Maren", working_side="right", language="en", details=ClientDetails(),
                therapist_id=1, created_ms=1)
    return db


def plan(**typed: str) -> dict[str, Any]:
    draft = apply_action(typed_draft(), "save", known(), T) | {
        name.replace("__", "."): value for name, value in typed.items()}
    return read_draft(draft, known())


def state(db: Db, issued: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
    [one] = read_readiness(db, 1, issued["exercises"])
    return one.state, one.changed


def test_it_lapses_after_a_changed_step_pad_place_or_unit(db: Db) -> None:
    """Not after a changed setting, and not for another client's reasons."""
    issued = plan()
    assert state(db, issued) == ("never", ())
    show(db, 1, issued["exercises"], NOW_MS)
    assert state(db, issued) == ("holds", ())
    assert state(db, plan(ex1__rest_s="17")) == ("holds", ())
    assert state(db, plan(ex1__step2__text="Another way")) == ("lapsed", ("steps",))
    assert state(db, plan(ex1__ch1__pad_a__place="Higher up")) == ("lapsed", ("pads",))
    assert state(db, plan(ex1__ch1__pad_a__x_mm="120")) == ("lapsed", ("pads",))
    assert state(db, plan(ex1__ch1__photo="ab" * 32, ex1__ch1__photo_height="900")) == ("lapsed", ("pads",))
    assert state(db, plan(ex1__step2__photo="ab" * 32)) == ("lapsed", ("steps",))
    other = issued["exercises"][0] | {"stimulator": issued["exercises"][0]["stimulator"] | {"name": "Another unit"}}
    assert state(db, {"exercises": [other]}) == ("lapsed", ("unit",))
    stops = issued["exercises"][0]["stimulator"] | {"quickest_stop": "Pull the red tab."}
    assert state(db, {"exercises": [issued["exercises"][0] | {"stimulator": stops}]}) == ("lapsed", ("stop",))


def test_decisions_from_before_places_on_the_drawing_were_kept_still_hold(db: Db) -> None:
    """What was shown then is compared as far as it was kept."""
    [exercise] = plan()["exercises"]
    record_ready(db, 1, exercise, ready=True, user_id=1, now_ms=NOW_MS)
    kept = json.loads(next(db.query("SELECT content FROM assessments WHERE kind = 'ready'"))["content"])
    del kept["shown"]["drawn"], kept["shown"]["stop"]
    assessments.add(db, client_id=1, kind="ready", subject=key_of(exercise), content=kept, made_ms=NOW_MS + 1,
                    made_by=1)
    assert state(db, plan(ex1__ch1__pad_a__x_mm="120")) == ("holds", ())
    assert state(db, plan(ex1__ch1__pad_a__place="Higher up")) == ("lapsed", ("pads",))


def test_decisions_from_before_anything_was_shown_with_the_unit_on_have_lapsed(db: Db) -> None:
    """Nothing says that the client can stop the unit; the next version goes home with a reason, or with a run."""
    issued = plan()
    make_ready(db, 1, issued["exercises"], NOW_MS)
    kept = json.loads(next(db.query("SELECT content FROM assessments WHERE kind = 'ready'"))["content"])
    del kept["shown"]["practised"], kept["shown"]["stop"]
    assessments.add(db, client_id=1, kind="ready", subject=key_of(issued["exercises"][0]), content=kept,
                    made_ms=NOW_MS + 1, made_by=1)
    assert state(db, issued) == ("lapsed", ("practised",))
    assert issue_plan(db, 1, issued, user_id=1, now_ms=NOW_MS, lapsed_reason="Shown by video").version == 1


def test_a_visit_repeated_shows_how_each_step_went_last() -> None:
    """The newest mark of each step counts; a visit on which it was not tried says nothing of it."""
    made = [Assessment(id=n, client_id=1, kind="teach_back", subject="", made_ms=n, made_by=1, made_by_name="Otto",
                       content={"steps": [{"text": text, "mark": mark} for text, mark in steps.items()]})
            for n, steps in ((3, {"Wash": "alone", "Dry": ""}), (2, {"Wash": "prompt", "Dry": "help"}))]
    assert {text: (mark, visit.id) for text, (mark, visit) in last_marks(made).items()} == {
        "Wash": ("alone", 3), "Dry": ("help", 2)}


def test_not_yet_is_a_decision_too(db: Db) -> None:
    """The newest one counts."""
    issued = plan()
    show(db, 1, issued["exercises"], NOW_MS)
    record_ready(db, 1, issued["exercises"][0], ready=False, user_id=1, now_ms=NOW_MS + 1)
    assert state(db, issued) == ("not_yet", ())


def issue(db: Db, issued: dict[str, Any], **more: str) -> dict[str, Any]:
    return dict(issue_plan(db, 1, issued, user_id=1, now_ms=NOW_MS, **more).issued)


def test_no_plan_goes_home_around_screening_and_teach_back(db: Db) -> None:
    """Whoever calls the function that issues: both are asked for there."""
    issued = plan()
    with pytest.raises(Refusal, match="plan_not_ready"):
        issue(db, issued)
    screen(db, 1, issued["exercises"], NOW_MS)
    assert [one.key for one in read_standing(db, 1, issued, NOW_MS, T).obstacles] == ["teach_back_never"]
    with pytest.raises(Refusal, match="plan_not_ready"):
        issue(db, issued)
    show(db, 1, issued["exercises"], NOW_MS)
    assert issue(db, issued)["helper"] == "each_time"


def test_what_has_lapsed_goes_home_only_with_a_reason(db: Db) -> None:
    """Kept with the version."""
    issued = plan()
    make_ready(db, 1, issued["exercises"], NOW_MS)
    changed = plan(ex1__step2__text="Another way")
    with pytest.raises(Refusal, match="plan_not_ready"):
        issue(db, changed)
    made = issue_plan(db, 1, changed, user_id=1, now_ms=NOW_MS, note="Smaller pads", lapsed_reason="Shown by video")
    assert made.note.splitlines() == ["Smaller pads", "Shown by video"]


def test_the_surgeons_word_holds_from_its_day(db: Db) -> None:
    """A plan that begins before is kept back."""
    issued = plan()
    make_ready(db, 1, issued["exercises"], NOW_MS)
    told = {"answer": "yes", "who": "Her surgeon", "on": "2026-12-01", "word": "The join holds by then."}
    record_answers(db, 1, {"repair": told}, places_of(issued["exercises"]), user_id=1, now_ms=NOW_MS + 1)
    assert [one.key for one in read_standing(db, 1, issued, NOW_MS, T).obstacles] == ["word_not_yet"]
    assert read_standing(db, 1, issued | {"first_day": "2026-12-01"}, NOW_MS, T).obstacles == ()


def test_a_step_that_went_badly_is_reworded_or_split_on_the_spot() -> None:
    """Two lines make two steps of the same part; nothing else moves."""
    draft = apply_action(typed_draft(), "save", known(), T)
    before = [one["text"] for one in read_draft(draft, known())["exercises"][0]["set_up_steps"]]
    after = reword_step(draft, 1, 2, ["Wash the skin.", "Dry it well."])
    steps = read_draft(after, known())["exercises"][0]["set_up_steps"]
    assert [one["text"] for one in steps] == [before[0], "Wash the skin.", "Dry it well.", *before[2:]]
    assert {one["part"] for one in steps[1:3]} == {"pads"}
    assert reword_step(draft, 1, 2, []) == draft
