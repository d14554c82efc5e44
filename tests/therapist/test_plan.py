"""The plan builder on the real app: drafts kept as typed, figures, the check, issuing, links."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.prescribing.invented import UNIT, T, known, typed_draft
from tests.prescribing.ready import make_ready, screen, show
from tests.therapist.house import Browser, House
from webapp.prescribing.drafting import Typed, read_draft
from webapp.prescribing.editing import apply_action
from webapp.storage import clients, clinic, drafts, jobs, links, plans, stimulators
from webapp.storage.clients import ClientDetails

PLAN = "/clinic/clients/1/plan"
ISSUE = "/clinic/clients/1/issue"
WHY = {"why": "First plan"}


@pytest.fixture
def desk(house: House) -> Browser:
    """A therapist at a clinic with one client and one unit."""
    with house.practice.store.write(house.db):
        stimulators.add(house.db, UNIT, 1)
        for code in ("SL-07", "SL-08"):
            clients.add(house.db, code=code, first_name="Maren", working_side="right", language="en",
                        details=ClientDetails(), therapist_id=1, created_ms=1)
        clinic.change(house.db, replace(
            clinic.Clinic(), name="Larkfield Therapy", call_who="Imogen Vale", call_phone="0555 0101",
            call_skin="The same day", emergency="Call 999", time_zone="Europe/London"))
    return house.browser("otto")


def save(desk: Browser, draft: Typed, **more: str) -> int:
    """Sends a draft as the page's script does."""
    answer = desk.client.post(PLAN, data={**draft, "csrf_token": desk.token(), "do": "save", **more},
                              headers={"Accept": "application/json"})
    return answer.status_code


def issue(desk: Browser, **fields: str) -> int:
    """Sends the check page's form."""
    return desk.send(ISSUE, **fields).status_code


def get_ready(house: House) -> None:
    """Screens the client for what the draft asks for and shows its steps."""
    saved = drafts.read(house.db, 1)
    assert saved
    exercises = read_draft(saved.content, known())["exercises"]
    with house.practice.store.write(house.db):
        make_ready(house.db, 1, exercises, house.clock.ms)


def test_a_draft_is_kept_exactly_as_typed(desk: Browser) -> None:
    """Wrong and unfinished as it is."""
    assert save(desk, typed_draft(ex1__rest_s="a while", ex1__task="<b>Tee & Löffel</b>")) == 200
    shown = desk.get(PLAN).text
    assert 'value="a while"' in shown
    assert "&lt;b&gt;Tee &amp; Löffel&lt;/b&gt;" in shown


def test_what_wraps_on_the_page_stays_one_line(desk: Browser) -> None:
    """A pasted line break would make a lead's mark unreadable to the format of plans."""
    assert save(desk, typed_draft(ex1__ch1__pad_a__mark="white lead,\r\nplain plug")) == 200
    assert "white lead, plain plug" in desk.get(PLAN).text


def test_a_draft_changed_elsewhere_is_not_overwritten(desk: Browser) -> None:
    """Both stay: one on the server, one on the page, until somebody chooses."""
    assert save(desk, typed_draft(ex1__task="First")) == 200
    assert save(desk, typed_draft(ex1__task="Second"), seen_ms="0") == 409
    page = desk.send(PLAN, **typed_draft(ex1__task="Second"), seen_ms="0", do="restructure")
    assert page.status_code == 409
    assert "Second" in page.text
    assert desk.send(PLAN, **typed_draft(ex1__task="Second"), seen_ms="0", do="keep_mine").status_code == 303
    assert "Second" in desk.get(PLAN).text


def test_figures_answer_what_is_typed(desk: Browser) -> None:
    """The hill, the numbers, the finding with its nearest values; never the word safe."""
    told = desk.send(f"{PLAN}/figures", **typed_draft(ex1__rest_s="12.5")).text
    assert "One cycle, 29.5 seconds" in told
    assert told.count('class="hill-work"') == 2
    assert 'data-set="ex1.rest_s" data-value="12"' in told.replace("12.0", "12")
    assert "Where from" in told
    assert not re.search(r"\bsafe\b", told)


def test_a_stop_cannot_be_issued_by_anybody(desk: Browser, house: House) -> None:
    """The button is off, and a form sent all the same is refused."""
    save(desk, typed_draft(ex1__ch1__intensity="40"))
    assert "Cannot be issued yet" in desk.get(ISSUE).text
    assert issue(desk, **WHY) == 409
    assert plans.newest(house.db, 1) is None


def test_screening_and_teach_back_come_before_issuing(desk: Browser, house: House) -> None:
    """Neither alone will do; then a reason is needed, and it stands with the version, with the name and the day."""
    save(desk, typed_draft())
    assert "it is not yet recorded that the client has shown" in desk.get(ISSUE).text
    assert issue(desk, **WHY) == 409
    exercises = read_draft(typed_draft(), known())["exercises"]
    with house.practice.store.write(house.db):
        screen(house.db, 1, exercises, house.clock.ms)
    assert issue(desk, **WHY) == 409
    with house.practice.store.write(house.db):
        show(house.db, 1, exercises, house.clock.ms)
    assert issue(desk, why=" ") == 422
    assert issue(desk, why="Wants to hold a cup again") == 303
    assert "plan_issued" in house.actions()
    page = desk.get("/clinic/clients/1/plans/1").text
    assert "Why: Wants to hold a cup again" in page
    assert "Otto Brindle" in page


def test_an_issued_plan_is_a_version_with_a_pack_to_come(desk: Browser, house: House) -> None:
    """The draft is gone, the pack is queued, a link is made, the first name is nowhere in it."""
    save(desk, typed_draft())
    get_ready(house)
    issue(desk, **WHY)
    plan = plans.newest(house.db, 1)
    assert plan is not None
    assert plan.version == 1
    assert "Maren" not in str(plan.issued)
    job = jobs.latest(house.db, "make_pack", plan.id)
    assert job is not None
    assert job.state == "waiting"
    assert len(links.of_client(house.db, 1)) == 1


def test_the_second_version_says_what_is_new_as_the_therapist_words_it(desk: Browser, house: House) -> None:
    """Found by comparing, changed by hand, carried along."""
    save(desk, typed_draft())
    get_ready(house)
    issue(desk, **WHY)
    assert 'value="22"' in desk.get(PLAN).text
    save(desk, typed_draft(ex1__rest_s="15"))
    shown = desk.get(ISSUE).text
    assert "Set the rest to 15 seconds." in shown
    assert issue(desk, **WHY, words="More rest between.\n", unit_steps="Rest: 15") == 303
    plan = plans.newest(house.db, 1)
    assert plan is not None
    assert plan.issued["changes"] == [
        {"version": 2, "words": ["More rest between."], "unit_changed": True, "unit_steps": ["Rest: 15"]}]


def test_a_new_version_knows_which_steps_nobody_changed(desk: Browser, house: House) -> None:
    """So that they follow its settings; those changed by hand are named before they are issued with old settings."""
    save(desk, apply_action(typed_draft(), "save", known(), T))
    get_ready(house)
    issue(desk, **WHY)
    made = re.search(r'name="ex1.steps_made" value="([0-9a-f]{16})"', desk.get(PLAN).text)
    assert made
    own = apply_action(typed_draft(), "save", known(), T) | {"ex1.step1.text": "Put the kettle on.",
                                                               "ex1.ch1.pad_a.place": "Higher up"}
    save(desk, own | {"ex1.steps_made": made[1]})
    assert "changed by hand" in desk.get(ISSUE).text


def test_a_clinic_without_a_number_to_call_issues_nothing(desk: Browser, house: House) -> None:
    """A client's sheet must say whom to call."""
    with house.practice.store.write(house.db):
        clinic.change(house.db, clinic.Clinic(name="Larkfield Therapy"))
    save(desk, typed_draft())
    assert issue(desk, **WHY) == 409


def test_a_codes_secret_is_shown_for_half_an_hour_and_stored_nowhere(desk: Browser, house: House) -> None:
    """The page forgets it, the database never had it."""
    save(desk, typed_draft())
    get_ready(house)
    issue(desk, **WHY)
    page = desk.get("/clinic/clients/1/plans/1").text
    typed = re.search(r'class="typed">(\w{5}) (\w{5})<', page)
    assert typed
    assert typed[1] + typed[2] not in "".join(house.db.conn.iterdump())
    house.clock.pass_minutes(29)
    assert "QR code that opens the plan" in desk.get("/clinic/clients/1/plans/1").text
    house.clock.pass_minutes(2)
    desk = house.browser("otto")
    assert "QR code that opens the plan" not in desk.get("/clinic/clients/1/plans/1").text


def test_a_link_is_withdrawn_in_one_action_and_only_the_clients_own(desk: Browser, house: House) -> None:
    """Another client's address does not reach it."""
    save(desk, typed_draft())
    get_ready(house)
    issue(desk, **WHY)
    link = links.of_client(house.db, 1)[0]
    desk.send(f"/clinic/clients/2/links/{link.id}/withdraw")
    assert links.of_client(house.db, 1)[0].withdrawn_ms is None
    assert desk.send(f"/clinic/clients/1/links/{link.id}/withdraw", version="1").status_code == 303
    assert links.of_client(house.db, 1)[0].withdrawn_ms == house.clock.ms
    assert "QR code that opens the plan" not in desk.get("/clinic/clients/1/plans/1").text


def test_an_administrator_sees_no_plan(desk: Browser, house: House) -> None:
    """No clinical content for that role."""
    save(desk, typed_draft())
    assert house.browser("rui").get(PLAN).status_code == 403


def test_treated_and_good_side_are_told_alike_everywhere(desk: Browser) -> None:
    """The part with its side, and the good hand, at the builder; a two-channel limb is named once."""
    assert save(desk, typed_draft()) == 200
    assert "Treated: left forearm and hand · good hand: right" in desk.get(PLAN).text
    assert "Good hand: right" in desk.get("/clinic/clients/1").text
