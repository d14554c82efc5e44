"""The screening, the teach-back, the draft seen as the client, and the trail, on the real app."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from tests.prescribing.invented import UNIT, T, known, typed_draft
from tests.prescribing.ready import answers, show
from tests.therapist.house import Browser, House
from tests.therapist.test_kept_forms import CLINIC
from webapp.practice.thresholds import STANDARD
from webapp.prescribing.drafting import read_draft
from webapp.prescribing.editing import apply_action
from webapp.prescribing.practised import ROWS
from webapp.settings import PACKAGE
from webapp.storage import assessments, audit, clients, clinic, drafts, plans, stimulators
from webapp.storage.clients import ClientDetails
from webapp.therapist.trail import OWN_ROW
from webapp.translations import catalogue

CLIENT = "/clinic/clients/1"
SCREENING, TEACH = f"{CLIENT}/screening", f"{CLIENT}/teach-back/1"
HAND, SHOULDER = "hand:left", "shoulder:left"
DRAFT = apply_action(typed_draft(), "save", known(), T)
STEPS = read_draft(DRAFT, known())["exercises"][0]["set_up_steps"]


@pytest.fixture
def desk(house: House) -> Browser:
    """A therapist at a clinic with a client whose draft is whole."""
    with house.practice.store.write(house.db):
        stimulators.add(house.db, UNIT, 1)
        clients.add(house.db, code="SL-07", first_name="Maren", working_side="right", language="en",
                    details=ClientDetails(), therapist_id=1, created_ms=1)
        clinic.change(house.db, clinic.Clinic(name="Larkfield Therapy", call_who="Imogen Vale", call_phone="0555 0101",
                                              call_skin="The same day", emergency="Call 999"))
        drafts.save(house.db, 1, DRAFT, user_id=2, now_ms=house.clock.ms, seen_ms=None)
    return house.browser("otto")


def typed(**changed: str) -> dict[str, str]:
    return {name: told["answer"] for name, told in answers().items()} | changed


def test_the_questions_follow_the_plan_and_the_place(desk: Browser) -> None:
    """The draft's own place is asked for; another one that is ticked as well."""
    page = desk.get(SCREENING).text
    assert "Hand, wrist, forearm, left" in page
    assert "Left shoulder: does any pad" not in page
    assert "Left shoulder: does any pad" in desk.get(f"{SCREENING}?place={SHOULDER}").text
    assert 'value="no" checked' not in page
    assert "All no" not in page


def test_answers_are_kept_row_by_row_with_day_and_name(desk: Browser) -> None:
    """What is not answered stays open; nothing typed is lost where a day is mistyped."""
    desk.send(SCREENING, place=HAND, implant="no", cancer="no")
    page = desk.get(SCREENING).text
    assert len(re.findall(r"No, \d+ \w+ \d{4}, Otto Brindle", page)) == 2
    refused = desk.send(SCREENING, **typed(repair="yes", **{"repair.on": "soon", "repair.word": "It holds"}))
    assert refused.status_code == 422
    assert 'value="It holds"' in refused.text
    assert 'value="soon"' in refused.text


def test_only_a_lead_overrides_and_only_with_a_reason(desk: Browser, house: House) -> None:
    """It is shown in the builder, on the check page, with the issued plan, on the sheet and on the review."""
    desk.send(SCREENING, **typed(implant="yes"))
    assert "Not at home: Device in the body." in desk.get(f"{CLIENT}/issue").text
    told = {"item": "implant", "implant.reason": "Off for years; its specialist agreed."}
    assert desk.send(f"{SCREENING}/override", **told).status_code == 403
    lead = house.browser("ines")
    assert lead.send(f"{SCREENING}/override", **told | {"implant.reason": "ok"}).status_code == 422
    assert lead.send(f"{SCREENING}/override", **told).status_code == 303
    assert lead.send(f"{SCREENING}/override", **told).status_code == 422
    exercises = read_draft(DRAFT, known())["exercises"]
    with house.practice.store.write(house.db):
        show(house.db, 1, exercises, house.clock.ms, user_id=2)
    for path in (f"{CLIENT}/plan", f"{CLIENT}/issue"):
        assert "Off for years" in desk.get(path).text, path
    assert desk.send(f"{CLIENT}/issue", why="First plan").status_code == 303
    for path in (f"{CLIENT}/plans/1", f"{CLIENT}/plans/1/sheet", CLIENT):
        page = desk.get(path).text
        assert "Off for years" in page, path
        assert "Ines Wallaroo" in page, path


def test_one_verdict_stands_first_and_counts_every_part(desk: Browser, house: House) -> None:
    """Settings, first trial, screening and teach-back as they stand; nothing says otherwise beside it."""
    desk.send(SCREENING, **typed(implant="yes"))
    with house.practice.store.write(house.db):
        drafts.save(house.db, 1, DRAFT | {"ex1.ch1.moved": "", "ex1.skin_at_rest": ""}, user_id=2,
                    now_ms=house.clock.ms, seen_ms=drafts.read(house.db, 1).saved_ms)  # type: ignore[union-attr]
    page = desk.get(f"{CLIENT}/issue").text
    assert "Not yet: 3 of four parts keep this plan in the clinic" in page
    assert "2 things are to be found out" in page
    assert "Settings and words:</b> nothing stops them." in page
    assert "can be issued" not in page
    desk.send(SCREENING, **typed())
    with house.practice.store.write(house.db):
        drafts.save(house.db, 1, DRAFT, user_id=2, now_ms=house.clock.ms,
                    seen_ms=drafts.read(house.db, 1).saved_ms)  # type: ignore[union-attr]
        show(house.db, 1, read_draft(DRAFT, known())["exercises"], house.clock.ms, user_id=2)
    assert "This plan can be issued" in desk.get(f"{CLIENT}/issue").text


def marks(mark: str = "alone") -> dict[str, str]:
    return {f"mark{step['step']}": mark for step in STEPS} | {f"mark_{row}": mark for row in ROWS}


def test_ready_for_home_needs_every_step_and_is_kept_with_the_visit(desk: Browser) -> None:
    """A visit without a decision is kept too; help with nobody beside does not fit *ready*."""
    told = {"where": "screen", "unit": "with"}
    assert desk.send(TEACH, **told, decision="ready", mark1="alone").status_code == 422
    assert desk.send(TEACH, **told, decision="later", mark1="prompt").status_code == 303
    desk.send(SCREENING, **typed(helper="nobody"))
    refused = desk.send(TEACH, **told, decision="ready", **marks("help"))
    assert "nobody is beside them" in refused.text
    assert desk.send(TEACH, **told, decision="ready", **marks()).status_code == 303
    page = desk.get(TEACH).text
    assert "Ready for home," in page
    assert page.count('<th scope="row">') == 2


@pytest.mark.parametrize("row", ROWS)
def test_ready_for_home_needs_what_is_done_with_the_unit_on(desk: Browser, house: House, row: str) -> None:
    """Turning up, the quickest stop, trouble, off before the pads, the skin: each of them; a dry run is not enough."""
    told = {"where": "screen", "decision": "ready"}
    page = desk.get(TEACH).text
    assert "The quickest way to stop this unit: " + UNIT["quickest_stop"] in unescape(page)
    assert "Never above" in page
    assert "needs a run with the unit" in desk.send(TEACH, unit="dry", **told, **marks()).text
    assert "1 step has no mark" in desk.send(TEACH, unit="with", **told, **marks() | {f"mark_{row}": ""}).text
    assert desk.send(TEACH, unit="with", **told, **marks() | {f"mark_{row}": "prompt"}).status_code == 303
    visit = assessments.of_client(house.db, 1, "teach_back")[0]
    assert {one["row"]: one["mark"] for one in visit.content["steps"] if "row" in one} == {
        name: "prompt" if name == row else "alone" for name in ROWS}


def test_new_words_for_a_step_go_into_the_draft_and_end_ready(desk: Browser) -> None:
    """Split on the spot; the page then shows the new steps, and says what lapsed."""
    desk.send(TEACH, where="phone", unit="with", decision="ready", **marks())
    desk.send(TEACH, do="reword:2", words2="Wash the skin.\nDry it well.")
    page = desk.get(TEACH).text
    assert "Dry it well." in page
    assert f"Step 1 of {len(STEPS) + 1}" in page
    assert "lapsed, because this changed: a step" in page


def test_a_draft_is_seen_as_the_client_and_nothing_is_recorded(desk: Browser, house: House) -> None:
    """The pack's own pages and data, marked on each; no version, no pack, no device comes of it."""
    for path in ("today", "set-up-1", "turn-up-1", "timer-1", "help"):
        page = desk.get(f"{CLIENT}/preview/{path}")
        assert page.status_code == 200
        assert "Preview of the draft: nothing here is recorded" in page.text
    plan = desk.get(f"{CLIENT}/preview/data/plan.json").get_json()
    assert plan["days"][plan["first_day"]]
    assert plan["pain_after"]["5"] == "fine"
    with house.practice.store.write(house.db):
        clinic.change_thresholds(house.db, replace(STANDARD, pain_severe_n=5))
    assert desk.get(f"{CLIENT}/preview/data/plan.json").get_json()["pain_after"]["5"] == "tell"
    assert desk.get(f"{CLIENT}/preview/data/cues-1.json").get_json()["cues"]
    assert desk.get(f"{CLIENT}/preview/static/styles/client.css").status_code == 200
    assert desk.get(f"{CLIENT}/preview/nothing").status_code == 404
    assert plans.newest(house.db, 1) is None
    assert list(house.db.query("SELECT 1 FROM jobs UNION SELECT 1 FROM records UNION SELECT 1 FROM devices")) == []


def test_the_trail_is_shown_to_the_lead_with_filters(desk: Browser, house: House) -> None:
    """Who, what, whom, when; a row that was changed is named."""
    desk.get(f"{CLIENT}/plan")
    desk.send(SCREENING, **typed())
    assert desk.get("/clinic/trail").status_code == 403
    assert house.browser("rui").get("/clinic/trail").status_code == 403
    lead = house.browser("ines")
    everything = lead.get("/clinic/trail").text
    assert "The chain is whole" in everything
    assert "answered the screening" in everything
    only = lead.get("/clinic/trail?action=client_read&code=sl-07&person=2").text
    assert "read a client" in table(only)
    assert "answered the screening" not in table(only)
    with house.practice.store.write(house.db):
        told = {"rule": "above_ceiling", "seq": 8}
        audit.append(house.db, at_ms=house.clock.ms, user_id=2, action="finding_answered", client_id=1, detail=told)
    assert "finding: above the ceiling, record: 8" in lead.get("/clinic/trail").text
    assert "0 rows" in lead.get("/clinic/trail?code=SL-99").text
    assert "0 rows" in lead.get("/clinic/trail?to=2001-01-01").text
    house.db.conn.executescript("DROP TRIGGER audit_keeps; UPDATE audit SET action = 'nothing' WHERE id = 2")
    assert audit.first_broken(house.db) == 2
    assert "The chain breaks at row 2" in lead.get("/clinic/trail").text


def test_every_page_of_a_client_leaves_a_row(desk: Browser, house: House) -> None:
    """In words: the paper diary, the equipment, the reports, whatever page is added next."""
    rules = [rule for rule in house.app.url_map.iter_rules() if "GET" in (rule.methods or ())
             and "client_id" in rule.arguments and rule.endpoint.startswith("therapist.")]
    pages = {rule.endpoint.removeprefix("therapist.") for rule in rules if rule.endpoint not in OWN_ROW}
    assert {page for page in pages if f"trail.page_of.{page}" not in catalogue("en")} == set()
    for path in ("paper", "equipment", "equipment/list", "report", "report/new"):
        assert desk.get(f"{CLIENT}/{path}").status_code == 200
    shown = table(house.browser("ines").get("/clinic/trail?action=client_read").text)
    assert all(f"page: {page}" in shown for page in (
        "paper diary", "equipment and days off", "equipment list", "reports and files", "new report"))


def table(page: str) -> str:
    return page[page.index("<tbody>"):page.index("</tbody>")]


def test_every_action_of_the_trail_has_its_words() -> None:
    """Each action that is written anywhere has a text."""
    written = re.compile(r'audit\(\s*db,\s*"([a-z_]+)"|action="([a-z_]+)",\s*client_id')
    found = {a or b for file in sorted(Path(PACKAGE).rglob("*.py")) for a, b in written.findall(file.read_text())}
    assert len(found) > 30
    assert {action for action in found if f"trail.action.{action}" not in catalogue("en")} == set()


def test_the_clinic_sets_how_long_a_screening_holds(house: House, desk: Browser) -> None:
    """The lead or the administrator; within bounds."""
    assert desk.send("/clinic/practice", **CLINIC, screening_days="30").status_code == 403
    lead = house.browser("ines")
    refused = lead.send("/clinic/practice", **CLINIC, screening_days="3")
    assert refused.status_code == 422
    assert 'value="3"' in refused.text
    assert lead.send("/clinic/practice", **CLINIC, screening_days="30").status_code == 303
    page = lead.get("/clinic/practice").text
    assert 'value="30"' in page
    assert page.split("<main")[1].count("<button") == 1


def test_each_text_and_range_is_shown_with_where_it_comes_from(desk: Browser) -> None:
    """Cautions with the standard that asks for them, a range with its review, memory called memory."""
    page = desk.get("/clinic/sources").text
    never = page.split("What the client is told never to do")[1].split("<summary>")[0]
    told = next(card for card in never.split('<section class="card">') if "over the eyes or over the mouth" in card)
    assert "IEC 60601-2-10" in told
    assert "Strengthening: frequency in Hz, 30 to 75" in page
    assert "from memory, no source at hand" in page
    assert "⟦" not in page
    assert 'href="/clinic/sources"' in desk.get(SCREENING).text
