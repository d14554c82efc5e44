"""Where the pads go, at the builder: by pointer and keys, a photo of the real size; a starting point by one press."""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Locator, Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import LAPTOP, add_lead
from tests.browser.plan_desk import PlanDesk, fill_practice
from tests.ports import free_port
from webapp.storage.database import Store

pytestmark = pytest.mark.browser

CUT = """() => [...document.querySelectorAll("#plan-form :is(textarea, input:not([type]), input[type='text'])")]
    .filter((one) => one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1)
    .map((one) => one.id)"""


@pytest.fixture
def desk(browser_tool: Playwright, tmp_path: Path) -> Iterator[PlanDesk]:
    """Gives the lead at a desk, signed in at a clinic that has a unit and a client."""
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


def drags(desk: PlanDesk, pad: Locator, across: float, down: float) -> None:
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    desk.page.mouse.move(x, y)
    desk.page.mouse.down()
    desk.page.mouse.move(x + across, y + down, steps=3)
    desk.page.mouse.up()


def at(desk: PlanDesk, name: str) -> int:
    return int(desk.page.locator(f'[name="ex1.ch1.{name}"]').input_value())


def photo_of_24_megapixels() -> bytes:
    """Makes a photo as large as a camera's, with the place where it was taken."""
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "S", 2: (33.0, 52.0, 10.0)})
    small = Image.frombytes("RGB", (150, 100), os.urandom(45_000))
    out = io.BytesIO()
    small.resize((6000, 4000)).save(out, "JPEG", exif=exif, quality=92)
    return out.getvalue()


class Tablet(PlanDesk):
    """The same plan on a tablet, by a finger."""

    def draws_a_finger(self, begins: Locator, across: float, down: float) -> None:
        """Puts a finger down in the middle of something, draws it over the screen, lifts it."""
        begins.scroll_into_view_if_needed()
        box = begins.bounding_box()
        assert box
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        hand = self.context.new_cdp_session(self.page)
        for part in (0, 0.3, 0.7, 1):
            point = {"x": x + across * part, "y": y + down * part}
            kind = "touchMove" if part else "touchStart"
            hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [point]})
        hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        hand.detach()

    def moves_a_pad(self) -> None:
        """Drags a pad; a swipe over the drawing scrolls the page and moves no pad; a touch elsewhere puts it there."""
        drawing = self.page.locator("[data-drawing] svg[data-view]:not(.photo)").first
        before = at(self, "pad_a.y_mm")
        self.draws_a_finger(drawing.locator('[data-pad="ch1.pad_a"]'), 8, -40)
        dragged = at(self, "pad_a.y_mm")
        assert dragged < before - 10
        self.draws_a_finger(drawing.locator(".limb-side"), 0, -90)
        self.page.wait_for_function("scrollY > 0")
        assert at(self, "pad_a.y_mm") == dragged
        drawing.locator(".limb-side").tap()
        assert at(self, "pad_a.y_mm") < dragged - 50

    def shows_every_part(self) -> None:
        """Nothing is wider than the screen, and no words are cut: two leads that differ at the end are told apart."""
        self.page.locator('[id="ex1.ch1.pad_b.mark"]').fill("white lead with the long sleeve, the ringed plug")
        for width, height in ((1280, 800), (800, 1280), (768, 1024)):
            self.page.set_viewport_size({"width": width, "height": height})
            for tab in (*self.page.locator("#ex1 [role=tab]").all(), self.page.get_by_role("tab", name="Whole plan")):
                tab.tap()
                assert not self.is_wider_than_the_screen(), (width, tab.inner_text())
                assert self.page.evaluate(CUT) == [], (width, tab.inner_text())
            self.page.locator('[data-choose="ex1"]').tap()


def test_pads_are_moved_on_a_tablet_that_shows_every_part(browser_tool: Playwright, desk: PlanDesk) -> None:
    """By a finger; with two channels, a photo and the lookups open, on the two usual widths."""
    tablet = Tablet(browser_tool, desk.server, viewport={"width": 768, "height": 1024}, has_touch=True)
    tablet.signs_in()
    tablet.opens_the_plan()
    tablet.chooses("ex1.movement", "open_hand")
    tablet.moves_a_pad()
    photo = io.BytesIO()
    Image.new("RGB", (1200, 900), "tan").save(photo, "JPEG")
    choose = tablet.page.locator("[data-photo]").last
    choose.set_input_files({"name": "p.jpg", "mimeType": "image/jpeg", "buffer": photo.getvalue()})
    tablet.page.locator("svg.photo").wait_for()
    before = at(tablet, "pad_a.photo_x")
    tablet.draws_a_finger(tablet.page.locator('svg.photo [data-pad="ch1.pad_a"]'), 25, 10)
    assert at(tablet, "pad_a.photo_x") > before
    tablet.page.locator("label", has_text="Two").tap()
    tablet.page.locator('[id="ex1.ch2.name"]').wait_for(state="attached")
    tablet.page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    tablet.shows_every_part()
    tablet.is_saved()
    tablet.closes()


def test_pads_are_moved_by_pointer_and_keys_photographed_and_kept(desk: PlanDesk) -> None:
    """One visit: the drawing is mirrored for the left arm, what is moved is found too close, and all is there again."""
    page = desk.page
    desk.opens_the_plan()
    desk.chooses("ex1.movement", "open_hand")
    expect(page.get_by_text("Left forearm and hand").first).to_be_visible()
    pad = page.locator('svg:not(.photo) [data-pad="ch1.pad_a"]')
    before = (at(desk, "pad_a.x_mm"), at(desk, "pad_a.y_mm"))
    drags(desk, pad, 12, -60)
    assert at(desk, "pad_a.x_mm") < before[0], "to the right on a left arm is towards the thumb"
    assert at(desk, "pad_a.y_mm") < before[1]
    expect(page.locator("[data-placing] .finding.caution")).to_contain_text("less than one pad width")
    put_back = at(desk, "pad_a.y_mm")
    pad.focus()
    for _ in range(20):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Shift+ArrowLeft")
    assert at(desk, "pad_a.y_mm") == put_back + 100
    expect(page.locator("[data-placing] .finding")).to_have_count(0)
    choose = page.locator("[data-photo]").last
    choose.set_input_files({"name": "p.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8 no photo"})
    expect(page.get_by_text("not a photo that can be read")).to_be_visible()
    choose.set_input_files({"name": "p.jpg", "mimeType": "image/jpeg", "buffer": photo_of_24_megapixels()})
    page.locator("svg.photo").wait_for()
    drags(desk, page.locator('svg.photo [data-pad="ch1.pad_b"]'), 20, 10)
    assert at(desk, "pad_b.photo_x") > 650
    desk.is_saved()
    kept = {name: at(desk, name) for name in ("pad_a.x_mm", "pad_a.y_mm", "pad_b.photo_x", "pad_b.photo_y")}
    file = page.request.get(f"{desk.server.public_url}{page.locator('svg.photo image').get_attribute('href')}").body()
    assert not dict(Image.open(io.BytesIO(file)).getexif())
    assert desk.axe() == []
    desk.opens_the_plan()
    desk.tab("Movement, unit, pads")
    assert {name: at(desk, name) for name in kept} == kept


def test_a_starting_point_is_one_press_and_a_setting_says_what_it_does(desk: PlanDesk) -> None:
    """The press fills the settings; the setting in hand shows its note and the step away, and a press takes that."""
    page = desk.page
    desk.opens_the_plan()
    desk.chooses("ex1.movement", "ankle_dorsiflexion")
    desk.tab("Settings")
    page.get_by_text("Start from").click()
    page.get_by_role("button", name="Use: Foot: lifting it").click()
    frequency = page.locator('[id="ex1.frequency_hz"]')
    expect(frequency).to_have_value("40")
    told = page.locator("[data-told]:visible")
    expect(told).to_contain_text("frequency 35 → 40 Hz")
    expect(told).to_be_focused()
    expect(page.locator("#ex1 .starts")).not_to_have_attribute("open", "")
    page.locator('[id="ex1.rest_s"]').focus()
    expect(page.locator(".in-hand")).to_contain_text("the muscle recovers")
    page.get_by_text("What if: 13 · 15 · 17").click()
    page.get_by_role("button", name="Set 17").click()
    expect(page.locator('[id="ex1.rest_s"]')).to_have_value("17")
    page.set_viewport_size(LAPTOP)
    desk.is_saved()
