"""From a new client to an issued plan on a tablet, by touch: screened, tried, shown, issued; in so many touches."""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import FilePayload, Locator, Playwright, ViewportSize, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import add_lead
from tests.browser.plan_desk import PlanDesk, decoded, fill_practice
from tests.ports import free_port
from webapp.storage.database import Store

pytestmark = pytest.mark.browser
MOST_INTERACTIONS = 40  # screening and teach-back not counted
TABLET = {"width": 820, "height": 1180}
SMALL_PHONE: ViewportSize = {"width": 360, "height": 740}


class Touching(PlanDesk):
    """A therapist with a tablet; each touch, choice and filled field is one interaction."""

    counted = 0

    def touches(self, what: Locator | str) -> None:
        self.counted += 1
        (self.page.locator(what) if isinstance(what, str) else what).first.tap()

    def fills(self, name: str, value: str) -> None:
        self.counted += 1
        self.page.locator(f'[id="{name}"]').fill(value)

    def picks(self, name: str, value: str) -> None:
        self.counted += 1
        self.chooses(name, value)

    def answers_the_screening(self) -> None:
        """Answers each row with its first choice, one by one, and signs."""
        before = self.counted
        self.touches('label:has([value="hand:left"])')
        self.touches('button:has-text("Show these questions")')
        self.page.locator("#row-consent").wait_for()
        for row in self.page.locator("fieldset.row").all():
            self.touches(row.locator("label").first)
        self.touches('button:has-text("Keep these answers")')
        self.sees("Every row is answered")
        self.counted = before

    def shows_the_steps(self) -> None:
        """Marks each step and what is done with the unit on, each of which leads to the next, then decides."""
        before = self.counted
        self.opens("clients/2/teach-back/1")
        try_the_steps_on_a_phone(self)
        self.touches('label:has([value="with"])')
        shown = self.page.locator("fieldset.step-card[data-now]")
        for n in range(self.page.locator("fieldset.step-card").count()):
            if n == 1:
                show_a_photo_with_the_step(self, shown)
            self.touches(shown.locator('label:has([value="alone"])'))
        self.touches('label:has([value="ready"])')
        self.touches('button:has-text("Keep this visit")')
        self.sees("Ready for home,")
        self.counted = before


def show_a_photo_with_the_step(tablet: Touching, shown: Locator) -> None:
    """A step that went badly: without a connection it is said and nothing is lost; then the photo stands there."""
    photo: FilePayload = {"name": "hand.jpg", "mimeType": "image/jpeg", "buffer": a_photo()}
    tablet.touches(shown.locator("summary"))
    tablet.context.set_offline(True)
    shown.locator("input[type=file]").set_input_files(photo)
    tablet.sees("No connection: the photo was not taken in")
    tablet.context.set_offline(False)
    shown.locator("input[type=file]").set_input_files(photo)
    expect(shown.get_by_role("img", name="Photo of step 2")).to_be_visible()
    expect(tablet.page.locator('[name="mark1"][value="alone"]')).to_be_checked()
    assert tablet.axe() == []
    assert not tablet.is_wider_than_the_screen()


def a_photo() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((1800, 1400), 80).convert("RGB").save(out, "JPEG")  # larger than what is sent as it is
    return out.getvalue()


def try_the_steps_on_a_phone(tablet: Touching) -> None:
    """A dry run on the client's own phone, before there is a plan: from the code to the last step, nothing kept."""
    tablet.touches('label:has([value="phone"])')
    code = decoded(tablet.page.locator(".phone-run .qr").screenshot())
    assert tablet.axe() == []
    browser = tablet.context.browser
    assert browser
    phone = browser.new_context(viewport=SMALL_PHONE, has_touch=True, is_mobile=True)
    shown = phone.new_page()
    shown.goto(code)
    assert "#" not in shown.url
    shown.get_by_role("button", name="Start").tap()
    shown.wait_for_url("**/rehearse/steps?l=en")
    shown.wait_for_load_state("networkidle")  # a press before the script is there would go nowhere
    expect(shown.locator("[data-now] .instruction")).to_have_text("Check that the unit is off.")
    for _ in range(shown.locator("[data-done]").count()):
        shown.locator("[data-now] [data-done]").tap()
        assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth")
    expect(shown.get_by_text("nothing is kept")).to_be_visible()
    assert shown.evaluate("async () => [(await indexedDB.databases()).length, (await caches.keys()).length]") == [0, 0]
    shown.get_by_role("button", name="Try it again").tap()
    expect(shown.locator("[data-now] .instruction")).to_have_text("Check that the unit is off.")
    tablet.touches('button:has-text("Take the steps back")')
    tablet.sees("the phone shows them no longer")
    shown.wait_for_load_state("networkidle")
    shown.locator("[data-now] [data-done]").tap()
    expect(shown.get_by_role("heading", name="The try is over")).to_be_visible()
    phone.close()


@pytest.fixture
def tablet(browser_tool: Playwright, tmp_path: Path) -> Iterator[Touching]:
    """Gives the lead a tablet, signed in at a clinic that has a unit."""
    add_lead(tmp_path)
    store = Store(tmp_path / "wattlebird.db")
    fill_practice(store)
    store.close()
    server = ClinicServer(tmp_path, free_port())
    server.starts()
    at = Touching(browser_tool, server, viewport=TABLET, has_touch=True)
    at.signs_in()
    yield at
    at.closes()
    server.stops()


def test_a_new_client_has_an_issued_plan_in_under_forty_touches(
    tablet: Touching, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is wider than the tablet on the way; the draft is seen as the client, through a step of the set-up."""
    begun = time.monotonic()
    tablet.opens("clients/new")
    tablet.fills("code", "SL-31")
    tablet.fills("first_name", "Solveig")
    tablet.touches('label:has([name="working_side"][value="right"])')
    tablet.touches('button:has-text("Add")')
    tablet.page.wait_for_url("**/clients/2/screening")
    tablet.answers_the_screening()
    assert not tablet.is_wider_than_the_screen()
    tablet.touches('a:has-text("To the plan")')
    tablet.page.locator("form[data-ready]").wait_for()
    tablet.picks("ex1.movement", "open_hand")
    if tablet.page.locator('[id="ex1.stimulator"]').input_value() != "2":
        tablet.picks("ex1.stimulator", "1")
    tablet.touches('[data-tab="ex1-trial"]')
    for pad in ("pad_a", "pad_b"):
        tablet.touches(f'label:has([name="ex1.ch1.{pad}.sensation"][value="full"])')
    for name, value in (("felt", "8"), ("moved", "13"), ("most", "27")):
        tablet.fills(f"ex1.ch1.{name}", value)
    tablet.fills("ex1.skin_at_rest", "Even, as on the other arm")
    tablet.touches('[value="use_trial:1"]')
    expect(tablet.page.locator('[id="ex1.ch1.ceiling"]')).to_have_value("27")
    assert not tablet.is_wider_than_the_screen()
    tablet.touches('[data-tab="ex1-words"]')
    tablet.fills("ex1.task", "Reach for a cup and open your hand round it")
    tablet.is_saved()
    tablet.shows_the_steps()
    tablet.opens_the_plan_of(2)
    see_it_as_the_client(tablet)
    tablet.touches("button[data-issue]")
    tablet.page.wait_for_url("**/issue")
    assert tablet.axe() == []
    tablet.touches('button:has-text("Issue the plan")')
    tablet.page.wait_for_url("**/clients/2/plans/1")
    took_s = time.monotonic() - begun
    with capsys.disabled():
        sys.stdout.write(f"\na new client to an issued plan: {tablet.counted} touches, {took_s:.0f} s\n")
    assert tablet.counted < MOST_INTERACTIONS


def see_it_as_the_client(tablet: Touching) -> None:
    """Begins a session in the preview: skin, then the first step; nothing reaches the practice."""
    before = tablet.counted
    shown = tablet.context.new_page()
    shown.goto(f"{tablet.server.public_url}/clinic/clients/2/preview/today?fresh=1")
    shown.get_by_role("link", name="Start").tap()
    shown.wait_for_url("**/skin?exercise=1")
    shown.wait_for_load_state("networkidle")  # a press before the script is there would go nowhere
    pressed = shown.locator("[data-step=look][data-now][data-place='0'] [data-skin='0']")
    pressed.evaluate("one => { one.click(); one.click(); }")  # pressed twice, the next place is asked all the same
    shown.locator("[data-step=look][data-now][data-place='1'] [data-skin='0']").tap()
    shown.locator("[data-step=pain][data-now] [data-value='0']").tap()
    shown.wait_for_url("**/set-up-1")
    expect(shown.locator("[data-now] .instruction")).to_have_text("Check that the unit is off.")
    expect(shown.get_by_text("Preview of the draft")).to_be_visible()
    shown.close()
    tablet.counted = before
