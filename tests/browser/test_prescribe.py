"""Prescribing, from sign-in to the printed sheet whose code leads to the plan; and what goes wrong on the way."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import LAPTOP, SCHEMES, add_lead
from tests.browser.phone import SMALL, Phone
from tests.browser.plan_desk import PlanDesk, decoded, fill_practice
from tests.made_once import keeps_clips_in
from tests.ports import free_port
from tests.waiting import until
from webapp.storage import drafts
from webapp.storage.database import Store

pytestmark = pytest.mark.browser
PT = 96 / 72  # CSS pixels in a point
SMALLEST_TEXT = """() => {
  const texts = document.createTreeWalker(document.querySelector('.front'), NodeFilter.SHOW_TEXT);
  let least = 1000;
  while (texts.nextNode()) if (texts.currentNode.data.trim())
    least = Math.min(least, parseFloat(getComputedStyle(texts.currentNode.parentElement).fontSize));
  return least;
}"""
# letters of pads and any other word in a drawing that is to be seen, as large as it is printed
SMALLEST_DRAWN = """() => Math.min(...[...document.querySelectorAll(".front .limb text")]
  .filter((one) => one.checkVisibility())
  .map((one) => Math.abs(one.getScreenCTM().a) * parseFloat(getComputedStyle(one).fontSize)))"""
CUT_LINES = """() => {
  const room = document.querySelector(".diary tbody").getBoundingClientRect();
  return [...document.querySelectorAll(".diary tbody tr")].map((row) => row.getBoundingClientRect())
    .filter((row) => row.left < room.right - 1 && row.bottom > room.bottom + 1).length;
}"""


@pytest.fixture
def practice(tmp_path: Path, clips: Path) -> Iterator[ClinicServer]:
    """Gives the real server over a clinic that has a unit and a client."""
    keeps_clips_in(clips, tmp_path)
    add_lead(tmp_path)
    store = Store(tmp_path / "wattlebird.db")
    fill_practice(store)
    store.close()
    server = ClinicServer(tmp_path, free_port())
    server.starts()
    yield server
    server.stops()


@pytest.fixture
def desk(browser_tool: Playwright, practice: ClinicServer) -> Iterator[PlanDesk]:
    """Gives a desk at which the lead is signed in."""
    at = PlanDesk(browser_tool, practice)
    at.signs_in()
    yield at
    at.closes()


def pages_of(pdf: bytes) -> int:
    """Counts the pages of a PDF."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_from_sign_in_to_the_printed_sheet(desk: PlanDesk, new_phone: Callable[[str], Phone]) -> None:
    """The code on the sheet, read by an independent decoder, opens the plan on a phone."""
    desk.describes_a_plan()
    desk.sees("One cycle, 29 seconds")
    desk.sees("8 : 21")
    desk.issues()
    desk.page.locator("[data-progress=done]").wait_for()
    desk.opens_the_sheet()
    link = decoded(desk.page.screenshot(full_page=True))
    assert re.fullmatch(re.escape(desk.server.public_url) + r"/join#[a-z2-7]{32}", link)
    assert "Maren" not in desk.page.title()
    phone = new_phone("first")
    phone.gets_the_plan(desk.server.public_url, link.split("#")[1])
    phone.sees("Keep it on this phone")
    desk.page.emulate_media(media="screen")
    desk.opens("clients/1/plans/1")
    desk.presses_first("Sign off the phone")
    desk.sees("It stops at its next contact")


@pytest.mark.parametrize("exercises", [1, 2, 4])
def test_the_sheet_is_one_sheet_in_large_print(desk: PlanDesk, exercises: int) -> None:
    """Front and back on either paper, nothing on the front under 12 points, in black and white."""
    desk.describes_a_plan()
    for n in range(2, exercises + 1):
        add_an_exercise(desk, n)
    desk.issues()
    desk.opens_the_sheet()
    for paper in ("A4", "Letter"):
        assert pages_of(desk.page.pdf(format=paper, print_background=False)) == 2, paper
    assert desk.page.evaluate(SMALLEST_TEXT) >= 12 * PT - 0.01
    assert desk.page.evaluate(SMALLEST_DRAWN) >= 9 * PT
    assert desk.page.evaluate(CUT_LINES) == 0
    assert "on the back" not in desk.page.locator(".back").inner_text()
    if exercises == 1:
        assert "Do not use it" in desk.page.locator(".front").inner_text()


def add_an_exercise(desk: PlanDesk, n: int) -> None:
    """Adds a shoulder as exercise n."""
    desk.presses("+ Add an exercise")
    desk.page.locator(f'[id="ex{n}.movement"]').select_option("shoulder_subluxation")
    desk.page.locator(f'input[name="ex{n}.defaults_for"][value^="shoulder"]').wait_for(state="attached")
    desk.tries_the_muscle(n, 1)
    desk.page.locator(f"#ex{n}").get_by_role("tab", name="Settings").click()
    desk.types(**{f"ex{n}__ch1__intensity": "20", f"ex{n}__ch1__ceiling": "26"})
    desk.is_saved()


def test_a_value_that_the_unit_cannot_set_is_mended_with_one_press(desk: PlanDesk) -> None:
    """The stop names the nearest values; pressing one sets the field, and the stop is gone."""
    desk.describes_a_plan()
    desk.types(ex1__rest_s="45")
    stop = desk.page.locator(".finding.stop")
    expect(stop).to_have_count(1)
    expect(desk.page.get_by_role("button", name="Issue: 1 thing to mend")).to_be_visible()
    stop.get_by_role("button", name="Set 30").click()
    expect(stop).to_have_count(0)
    expect(desk.page.locator('[id="ex1.rest_s"]')).to_have_value("30")
    desk.is_saved()


def test_choices_made_in_a_hurry_write_the_steps_once(desk: PlanDesk) -> None:
    """A movement, a unit and a second channel chosen without waiting: each step is there once."""
    desk.opens_the_plan()
    desk.page.locator('[id="ex1.movement"]').select_option("open_hand")
    desk.page.locator('[id="ex1.stimulator"]').select_option("1")
    desk.page.locator("label", has_text="Two").click()
    desk.page.locator('input[name="ex1.defaults_for"][value="open_hand|1|2"]').wait_for(state="attached")
    desk.tab("Set-up steps")
    steps = desk.page.locator(".steps textarea").evaluate_all("all => all.map((one) => one.value)")
    assert len(steps) == len(set(steps)) == 12


def test_nothing_typed_is_lost_while_the_server_is_away(desk: PlanDesk) -> None:
    """The page says so, keeps everything, and saves by itself once the server is back."""
    desk.describes_a_plan()
    desk.server.is_killed()
    desk.types(ex1__rest_s="14")
    desk.sees("No connection: all you type stays on this page")
    desk.types(ex1__hold_s="7")
    desk.server.starts()
    desk.is_saved()
    desk.opens_the_plan()
    expect(desk.page.locator('[id="ex1.rest_s"]')).to_have_value("14")
    expect(desk.page.locator('[id="ex1.hold_s"]')).to_have_value("7")


def test_a_sign_in_that_ran_out_keeps_what_is_typed(desk: PlanDesk) -> None:
    """Signed in again in another tab, the page saves what it had kept."""
    desk.describes_a_plan()
    desk.context.clear_cookies()
    desk.types(ex1__rest_s="15")
    desk.sees("You are signed out.")
    other = desk.context.new_page()
    other.goto(f"{desk.server.public_url}/clinic/sign-in")
    desk.signs_in(other)
    desk.page.bring_to_front()
    desk.is_saved()
    assert saved_rest(desk.server) == "15"


def saved_rest(server: ClinicServer) -> object:
    store = Store(server.data_dir / "wattlebird.db")
    db = store.connect()
    draft = drafts.read(db, 1)
    db.close()
    store.close()
    return draft.content["ex1.rest_s"] if draft else None


def test_the_builder_works_without_its_script(browser_tool: Playwright, practice: ClinicServer) -> None:
    """One long form: a press saves it, another moves a step."""
    desk = PlanDesk(browser_tool, practice, java_script_enabled=False)
    desk.signs_in()
    desk.opens("clients/1/plan")
    desk.page.locator('[id="ex1.movement"]').select_option("grasp")
    desk.page.locator('[id="ex1.stimulator"]').select_option("1")
    desk.page.get_by_role("button", name="Save the draft").first.click()
    expect(desk.page.locator('[id="ex1.title"]')).to_have_value("Closing the hand")
    first = desk.page.locator('[id="ex1.step1.text"]').input_value()
    desk.presses("Move step 1 down")
    expect(desk.page.locator('[id="ex1.step2.text"]')).to_have_value(first)
    desk.closes()


def test_everybody_can_use_the_builder(desk: PlanDesk) -> None:
    """At 360 px and at 200 % text, every tab, light and dark: axe finds nothing, nothing is wider than the screen."""
    desk.describes_a_plan()

    def is_right() -> None:
        for scheme in SCHEMES:
            desk.looks(SMALL, scheme)
            assert desk.axe() == [], scheme
            assert not desk.is_wider_than_the_screen()

    desk.looks(SMALL)
    for tab in ("Settings", "Movement, unit, pads", "Words and task", "Times", "Set-up steps", "Whole plan"):
        desk.tab(tab)
        is_right()
    desk.issues()
    for path in ("clients/1/plans/1", "clients/1/plans/1/sheet", "clients/1/issue"):
        desk.opens(path)
        for scheme in SCHEMES:
            desk.looks(SMALL, scheme)
            assert desk.axe() == [], (path, scheme)
    desk.opens_the_plan()
    desk.looks(LAPTOP)
    desk.makes_text_twice_as_large()
    until(lambda: not desk.is_wider_than_the_screen())
