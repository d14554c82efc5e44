"""What leaves the house, in a real Chromium: goals, measures, the report and its PDF, files, the calendar, erasing."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from playwright.sync_api import Playwright, ViewportSize, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import Desk
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN
from tests.exports.invented_practice import CODE, InventedPractice
from tests.ports import free_port
from tests.therapist.house import House

pytestmark = pytest.mark.browser
CLIENT = "clients/1"
SMALL: ViewportSize = {"width": 360, "height": 740}


@pytest.fixture(scope="module")
def made_practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Makes a clinic with one client whose log reaches up to today."""
    folder = tmp_path_factory.mktemp("practice")
    house = House(folder)
    house.clock.ms = time.time_ns() // 1_000_000
    InventedPractice(house)
    house.close()
    return folder


@pytest.fixture
def desk(browser_tool: Playwright, made_practice: Path, tmp_path: Path) -> Iterator[Desk]:
    folder = shutil.copytree(made_practice, tmp_path / "clinic")
    server = ClinicServer(folder, free_port())
    server.starts()
    desk = Desk(browser_tool, server, accept_downloads=True)
    desk.signs_in()
    yield desk
    desk.closes()
    server.stops()


def takes(desk: Desk, press: Callable[[], None]) -> bytes:
    """Takes a file that a press hands out."""
    with desk.page.expect_download() as coming:
        press()
    return Path(coming.value.path()).read_bytes()


def looks_right(desk: Desk) -> None:
    """Nothing that axe finds, and nothing wider than a small screen."""
    desk.page.eval_on_selector_all("details", "all => all.forEach((one) => { one.open = true; })")
    assert desk.axe() == [], desk.page.url
    desk.page.set_viewport_size(SMALL)
    assert not desk.is_wider_than_the_screen(), desk.page.url
    desk.page.set_viewport_size({"width": 1280, "height": 800})


def test_from_the_review_to_a_goal_its_score_and_a_measure(desk: Desk) -> None:
    """The review leads to goals; one is set, a review noted, the score shown with its working; a measure is drawn."""
    desk.opens(CLIENT)
    desk.page.get_by_role("link", name="Goals and measures").click()
    expect(desk.page.get_by_text("55.8").first).to_be_visible()
    looks_right(desk)
    desk.page.get_by_role("link", name="New goal").click()
    looks_right(desk)
    desk.page.get_by_label("In the client's words").fill("Zip up my coat")
    for n, words in enumerate(("teeth", "slips", "three tries", "one try", "standing")):
        desk.page.locator(f"#level{n}").fill(words)
    desk.presses("Save")
    expect(desk.page.get_by_role("heading", name="“Zip up my coat”")).to_be_visible()
    desk.page.get_by_role("combobox", name="“Zip up my coat”").select_option("1")
    desk.page.get_by_role("textbox", name="Grip").fill("11,5")
    desk.presses("Save the review")
    expect(desk.page.get_by_role("status")).to_contain_text("Saved")
    desk.page.get_by_text("The working").click()
    expect(desk.page.locator(".formula").last).to_contain_text("√(0.7 ×")
    expect(desk.page.get_by_role("img", name="Grip over time, 3 readings")).to_be_visible()
    assert desk.complaints == []


def test_a_report_from_its_form_to_paper_and_pdf(desk: Desk) -> None:
    """What is chosen goes in; the page prints on two sides, the PDF is the same report."""
    desk.opens(f"{CLIENT}/report")
    looks_right(desk)
    desk.page.get_by_role("link", name="New report").click()
    looks_right(desk)
    desk.page.get_by_label("Insurer").check()
    desk.page.get_by_label("In the client’s words").check()
    desk.presses("Make the report")
    expect(desk.page.get_by_role("alert")).to_contain_text("only when the client agreed")
    desk.page.get_by_label("The client agreed").check()
    desk.presses("Make the report")
    expect(desk.page.get_by_role("heading", level=1).first).to_contain_text("Report to the insurer")
    looks_right(desk)
    desk.page.emulate_media(media="print")
    expect(desk.page.get_by_role("button", name="Print")).to_be_hidden()
    assert desk.page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") == 2
    desk.page.emulate_media(media="screen")
    pdf = takes(desk, lambda: desk.page.get_by_role("link", name="PDF").click())
    assert pdf.startswith(b"%PDF-")
    assert desk.complaints == []


def test_files_are_taken_and_the_client_is_erased(desk: Desk) -> None:
    """FHIR, table, calendar, everything; then both steps of erasing, after which nobody finds the client."""
    desk.opens(f"{CLIENT}/report")
    for name, check in (
            ("FHIR bundle", lambda found: json.loads(found)["resourceType"] == "Bundle"),
            ("Sessions as a table", lambda found: found.startswith(b"\xef\xbb\xbfday,")),
            ("Everything held", lambda found: "README.txt" in ZipFile(BytesIO(found)).namelist())):
        button = desk.page.get_by_role("button", name=name)
        assert check(takes(desk, button.click)), name
    calendar = takes(desk, desk.page.get_by_role("link", name="Calendar file").click)
    assert calendar.startswith(b"BEGIN:VCALENDAR\r\n")
    desk.page.get_by_role("link", name="Erase this client").click()
    looks_right(desk)
    desk.presses("Go on to the second step")
    desk.page.get_by_label("Type the client’s code").fill("SL-1")
    desk.presses("Erase for good")
    expect(desk.page.get_by_role("alert")).to_contain_text("not the code of this client")
    desk.page.get_by_label("Type the client’s code").fill(CODE)
    desk.presses("Erase for good")
    expect(desk.page.get_by_role("status")).to_contain_text(f"{CODE} is erased")
    desk.opens(CLIENT)
    expect(desk.page.get_by_text("is not here").or_(desk.page.get_by_text("not found")).first).to_be_visible()


def test_the_phone_hands_out_its_calendar_without_a_network(server: ClinicServer, phone: Phone) -> None:
    """The first page leads to the planned sessions as a calendar file, from the pack: no network is asked."""
    phone.gets_the_plan(server.public_url, TOKEN)
    phone.opens("today")
    phone.context.set_offline(True)
    with phone.page.expect_download() as coming:
        phone.page.get_by_role("link", name="My calendar").click()
    content = Path(coming.value.path()).read_bytes()
    assert content.startswith(b"BEGIN:VCALENDAR\r\n")
    assert b"RRULE:FREQ=WEEKLY" in content
    assert b"BEGIN:VALARM" in content
