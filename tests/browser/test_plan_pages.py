"""The builder by keys alone, on one laptop screen; the next version's steps; the sheet read on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import LAPTOP, add_lead
from tests.browser.plan_desk import PlanDesk, fill_practice
from tests.made_once import keeps_clips_in
from tests.ports import free_port
from webapp.storage.database import Store

pytestmark = pytest.mark.browser
FOCUS_IS_SEEN = """() => {
  const at = document.activeElement; // an input that is drawn by what stands beside it is transparent itself
  const drawn = getComputedStyle(at).opacity === "0" ? [at.nextElementSibling] : [at, at.closest("label")];
  return drawn.filter(Boolean).some((one) => {
    const { x, y, width, height } = one.getBoundingClientRect(), style = getComputedStyle(one);
    const inView = y + height > 0 && y < innerHeight && x + width > 0 && x < innerWidth;
    return inView && style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  });
}"""


@pytest.fixture
def desk(browser_tool: Playwright, tmp_path: Path, clips: Path) -> Iterator[PlanDesk]:
    """Gives the lead at a desk, signed in at a clinic that has a unit and a client."""
    keeps_clips_in(clips, tmp_path)
    add_lead(tmp_path)
    store = Store(tmp_path / "wattlebird.db")
    fill_practice(store)
    store.close()
    server = ClinicServer(tmp_path, free_port())
    server.starts()
    at = PlanDesk(browser_tool, server)
    at.signs_in()
    yield at
    at.closes()
    server.stops()


class Keys:
    """A keyboard alone: what it reaches has to be seen and to show that it has the focus."""

    def __init__(self, desk: PlanDesk) -> None:
        self.desk, self.page, self.keyboard = desk, desk.page, desk.page.keyboard

    def goes_to(self, css: str, *, back: bool = False) -> None:
        """Tabs until an element has the focus."""
        for _ in range(90):
            if self.page.evaluate("css => document.activeElement.matches(css)", css):
                assert self.page.evaluate(FOCUS_IS_SEEN), f"nobody sees that the focus is on {css}"
                return
            self.keyboard.press("Shift+Tab" if back else "Tab")
        raise AssertionError(f"the keyboard does not reach {css}")

    def presses(self, css: str, key: str = "Enter", *, back: bool = False) -> None:
        self.goes_to(css, back=back)
        self.keyboard.press(key)

    def puts(self, css: str, value: str) -> None:
        """Goes to a field and types over what is in it."""
        self.goes_to(css)
        self.keyboard.press("ControlOrMeta+a")
        self.keyboard.type(value)

    def answers_the_screening(self) -> None:
        """Says where, then gives each row its first answer, one by one, and signs; the connection fails at first."""
        self.presses('[value="hand:right"]', "Space")
        self.presses('fieldset:has([value="hand:right"]) + button')
        self.page.locator("#row-consent").wait_for()
        rows = self.page.locator("fieldset.row").evaluate_all("all => all.map((one) => one.id)")
        for row in rows:
            self.presses(f"#{row} input[type=radio]", "Space")
        self.desk.server.is_killed()
        self.presses(".bar button.go")
        self.page.get_by_text("The server cannot be reached. Nothing is lost").wait_for()
        self.desk.server.starts()
        self.presses(".bar button.go")
        self.page.get_by_text("Every row is answered").first.wait_for()

    def tries_the_muscle(self) -> None:
        for pad in ("pad_a", "pad_b"):
            self.presses(f'[id="ex1.ch1.{pad}.sensation"]', "Space")
        for name, value in (("skin_at_rest", "even"), ("ch1.felt", "9"), ("ch1.moved", "16"), ("ch1.most", "28")):
            self.puts(f'[id="ex1.{name}"]', value)
        self.presses('[value="use_trial:1"]')
        expect(self.page.locator('[id="ex1.ch1.intensity"]')).to_have_value("22")

    def marks_the_steps(self) -> None:
        """Runs it with the unit: marks each step alone, decides, keeps the visit."""
        self.goes_to('[name="unit"]:checked', back=True)
        self.keyboard.press("ArrowRight")
        for _ in range(self.page.locator("fieldset.step-card").count()):
            self.presses('fieldset.step-card[data-now] input[value="alone"]', "Space")
            self.keyboard.press("Enter")  # on to the next: the arrows only choose
        self.goes_to('[name="decision"]:checked')
        for _ in ("not yet", "ready"):
            self.keyboard.press("ArrowRight")
        self.presses('button.go[value="keep"]')
        self.page.get_by_text("Ready for home,").first.wait_for()


def test_a_new_client_gets_a_plan_with_keys_alone(desk: PlanDesk) -> None:
    """Client, screening, lists, tabs, the first trial, the nearest value, teach-back, issue; the focus always seen."""
    keys, page = Keys(desk), desk.page
    desk.opens("")
    keys.presses('a[href$="/clients/new"]')
    page.wait_for_url("**/clients/new")
    keys.puts('[name="code"]', "SL-31")
    keys.puts('[name="first_name"]', "Solveig")
    keys.presses('[name="working_side"]', "Space")
    keys.presses('main form button:not([type="button"])')
    page.wait_for_url("**/clients/2/screening")
    keys.answers_the_screening()
    keys.presses('a[href$="/clients/2/plan"]', back=True)
    page.locator("form[data-ready]").wait_for()
    keys.goes_to('[id="ex1.movement"]')
    keys.keyboard.type("Closing")
    page.locator('input[name="ex1.defaults_for"][value^="grasp"]').wait_for(state="attached")
    keys.presses('[data-tab="ex1-place"]', "ArrowRight", back=True)
    keys.tries_the_muscle()
    keys.presses('[data-tab="ex1-trial"]', "ArrowRight", back=True)
    keys.puts('[id="ex1.rest_s"]', "45")
    stop = page.locator("#ex1-settings .finding.stop")
    expect(stop).to_have_count(1)
    keys.presses('[data-set="ex1.rest_s"]')
    expect(stop).to_have_count(0)
    desk.is_saved()
    keys.presses('a[href*="/teach-back"]', back=True)
    page.wait_for_url("**/teach-back/1")
    keys.marks_the_steps()
    keys.presses('a[href$="/clients/2/plan"]', back=True)
    page.locator("form[data-ready]").wait_for()
    keys.presses("button[data-issue]")
    page.wait_for_url("**/issue")
    keys.presses(".confirm button")
    page.wait_for_url("**/plans/1")


def test_the_settings_of_two_channels_fit_a_laptop_screen(desk: PlanDesk) -> None:
    """Every field, the hills, the numbers and a first finding, without scrolling, while no setting is in hand."""
    desk.describes_a_plan()
    desk.page.get_by_role("tab", name="Settings").focus()
    expect(desk.page.locator("#ex1-settings .finding")).to_have_count(1)
    assert desk.page.evaluate("document.documentElement.scrollHeight") <= LAPTOP["height"]


def test_the_next_version_tells_its_own_settings(desk: PlanDesk) -> None:
    """The sheet names the new rest, not the old one."""
    desk.describes_a_plan()
    desk.issues()
    desk.opens_the_plan()
    desk.tab("Settings")
    desk.types(ex1__rest_s="17")
    desk.is_saved()
    desk.issues()
    desk.opens_the_sheet(2)
    settings = desk.page.locator("body").inner_text()
    assert "17 seconds" in settings
    assert "12 seconds" not in settings


FIRST_FIELDS_END = """() => [...document.querySelectorAll("#ex1 [data-tab]")].map((tab) => {
  tab.click();
  const fields = [...document.querySelectorAll("#ex1 [data-panel]:not([hidden]) :is(input, select, textarea)")];
  return fields.find((one) => one.checkVisibility() && one.type !== "hidden").getBoundingClientRect().bottom;
})"""


def test_sheet_teach_back_trail_and_builder_are_read_on_a_phone(desk: PlanDesk) -> None:
    """In one column, nothing cut off sideways; each tab of the builder shows its first field without scrolling."""
    desk.describes_a_plan()
    desk.issues()
    desk.page.set_viewport_size({"width": 360, "height": 740})
    desk.opens("clients/1/plans/1/sheet")
    assert not desk.is_wider_than_the_screen()
    lefts = desk.page.locator(".halves > *").evaluate_all("all => all.map((one) => one.getBoundingClientRect().left)")
    assert len(set(lefts)) == 1
    for page in ("clients/1/teach-back/1", "trail"):
        desk.opens(page)
        assert desk.page.locator("table.visits tbody tr").count()
        assert not desk.is_wider_than_the_screen()
    desk.opens_the_plan()
    assert max(desk.page.evaluate(FIRST_FIELDS_END)) <= 740
    assert not desk.is_wider_than_the_screen()
