"""The clinic's pages in a real browser: nothing typed is lost, everybody can use them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import LAPTOP, SCHEMES, Desk, add_lead
from tests.browser.phone import SMALL
from tests.ports import free_port
from webapp.storage import clinic, stimulators
from webapp.storage.database import Store

pytestmark = pytest.mark.browser
PAGES = ("practice", "people", "sources", "clients/new", "clients/archived", "stimulators", "stimulators/new",
         "password", "nothing")
REFUSED_EMPTY = ("practice", "clients/new", "people")
CONTRAST = ["color-contrast", "color-contrast-enhanced"]


@pytest.fixture
def empty_clinic(tmp_path: Path) -> Iterator[ClinicServer]:
    """Gives the real server over a new clinic with one lead."""
    add_lead(tmp_path)
    server = ClinicServer(tmp_path, free_port())
    server.starts()
    yield server
    server.stops()


@pytest.fixture
def new_desk(browser_tool: Playwright, empty_clinic: ClinicServer) -> Iterator[Callable[..., Desk]]:
    """Makes desks whose browsers end with the test."""
    made: list[Desk] = []

    def make(**options: Any) -> Desk:
        made.append(Desk(browser_tool, empty_clinic, **options))
        return made[-1]

    yield make
    for desk in made:
        desk.closes()


@pytest.fixture
def desk(new_desk: Callable[..., Desk]) -> Desk:
    """Gives one desk at which the lead is signed in."""
    desk = new_desk()
    desk.signs_in()
    return desk


def database(server: ClinicServer) -> Store:
    return Store(server.data_dir / "wattlebird.db")


def fill_clinic(desk: Desk) -> None:
    for label, typed in (("Name of the clinic", "Saltmarsh Lane Rehab"), ("Who", "The front desk"),
                         ("For a skin burn or broken skin", "The desk"),
                         ("Emergency words of your country", "Call 999")):
        desk.page.get_by_label(label, exact=True).fill(typed)
    desk.page.get_by_label("Phone", exact=True).fill("0100 200")


def saved_name(server: ClinicServer) -> str:
    store = database(server)
    db = store.connect()
    name = clinic.read(db).name
    db.close()
    store.close()
    return name


def test_lost_connection_keeps_the_page(desk: Desk, empty_clinic: ClinicServer) -> None:
    """With the server gone a form stays on the page, says so, and is saved by the same button once it is back."""
    fill_clinic(desk)
    empty_clinic.stops()
    desk.presses("Save")
    desk.sees("The server cannot be reached. Nothing is lost")
    expect(desk.page.get_by_label("Name of the clinic", exact=True)).to_have_value("Saltmarsh Lane Rehab")
    empty_clinic.starts()
    desk.presses("Save")
    desk.sees("Saved.")
    assert saved_name(empty_clinic) == "Saltmarsh Lane Rehab"


def test_ended_sign_in_brings_the_form_back(desk: Desk, empty_clinic: ClinicServer) -> None:
    """When the sign-in has run out, signing in leads back to the form with everything in it."""
    fill_clinic(desk)
    (empty_clinic.data_dir / "clock_ahead_ms").write_text(str(45 * 60_000))
    desk.presses("Save")
    desk.page.wait_for_url(lambda url: "/sign-in" in url)
    desk.signs_in(desk.page)
    desk.sees("This is what you had typed before. It is not saved yet.")
    expect(desk.page.get_by_label("Emergency words of your country", exact=True)).to_have_value("Call 999")
    desk.presses("Save")
    desk.sees("Saved.")
    assert saved_name(empty_clinic) == "Saltmarsh Lane Rehab"


def test_sign_in_in_another_tab_needs_no_second_typing(desk: Desk, empty_clinic: ClinicServer) -> None:
    """A page left open through a sign-out and sign-in in another tab saves with the first press."""
    fill_clinic(desk)
    other = desk.context.new_page()
    other.goto(f"{empty_clinic.public_url}/clinic/people")
    other.get_by_role("button", name="Sign out").click()
    desk.signs_in(other)
    desk.presses("Save")
    desk.sees("Saved.")
    assert saved_name(empty_clinic) == "Saltmarsh Lane Rehab"


def test_forgotten_browser_is_told_to_sign_in_elsewhere(desk: Desk, empty_clinic: ClinicServer) -> None:
    """Where the server cannot know whose form it is, the page keeps it and offers the sign-in in a new tab."""
    fill_clinic(desk)
    desk.context.clear_cookies()
    desk.presses("Save")
    desk.sees("You are signed out. Nothing is lost")
    with desk.context.expect_page() as opened:
        desk.page.get_by_role("link", name="Sign in in a new tab").click()
    desk.signs_in(opened.value)
    desk.presses("Save")
    desk.sees("Saved.")
    assert saved_name(empty_clinic) == "Saltmarsh Lane Rehab"


def test_refused_form_leads_to_its_problems(desk: Desk) -> None:
    """The summary has the focus, and each of its lines leads to its field."""
    desk.page.get_by_label("Name of the clinic", exact=True).fill("Saltmarsh Lane Rehab")
    desk.presses("Save")
    summary = desk.page.get_by_role("alert")
    expect(summary).to_be_focused()
    summary.get_by_role("link", name="Phone").click()
    expect(desk.page.get_by_label("Phone", exact=True)).to_be_focused()
    expect(desk.page.get_by_label("Name of the clinic", exact=True)).to_have_value("Saltmarsh Lane Rehab")


def test_first_password_link_leaves_no_code_in_the_address(desk: Desk, new_desk: Callable[..., Desk]) -> None:
    """A new person's link fills the code in and takes it out of the address; then the password is set."""
    desk.opens("people")
    desk.page.get_by_label("Name", exact=True).fill("Tess Marram")
    desk.page.get_by_label("Sign-in name").fill("tess")
    desk.presses("Add and make a link")
    link = desk.page.locator("#address").inner_text()
    tess = new_desk()
    tess.page.goto(link)
    expect(tess.page.get_by_label("New password", exact=True)).to_be_focused()
    assert tess.page.url.endswith("/clinic/first-password")
    for label in ("New password", "New password once more"):
        tess.page.get_by_label(label, exact=True).fill("seven herons over a slow river")
    tess.presses("Set the password")
    tess.sees("Your password is set.")


def test_menu_rows_move_by_keyboard(desk: Desk, empty_clinic: ClinicServer) -> None:
    """Rows of a unit's menu move in place by keyboard, keep what was typed, and are saved in that order."""
    desk.opens("stimulators/new")
    page = desk.page
    page.get_by_label("Name", exact=True).fill("Grey box")
    page.get_by_label("The quickest way to stop it").fill("Press the round button once.")
    while page.locator(".menu > li").count() > 2:
        rows = page.locator(".menu > li").count()
        page.locator(".menu > li").last.get_by_role("button", name="Remove").press("Enter")
        expect(page.locator(".menu > li")).to_have_count(rows - 1)
    for row, (low, high, step) in enumerate((("1", "100", "1"), ("50", "400", "10"))):
        for place, typed in enumerate((low, high, step)):
            page.locator(".menu > li").nth(row).locator("input[inputmode=decimal]").nth(place).fill(typed)
    page.get_by_role("button", name="Move Pulse width, µs up").press("Enter")
    expect(page.locator(".menu > li").first).to_contain_text("Pulse width")
    expect(page.locator(".menu > li").first.locator("input[inputmode=decimal]").first).to_have_value("50")
    page.get_by_label("Something else can be set:").select_option("relation")
    page.get_by_role("button", name="Add it").press("Enter")
    page.get_by_label("alternating", exact=True).check()
    desk.presses("Save")
    desk.sees("Saved.")
    store = database(empty_clinic)
    db = store.connect()
    described = stimulators.list_active(db)[0].description
    db.close()
    store.close()
    assert [one["name"] for one in described["settings"]] == ["pulse_width_us", "frequency_hz", "relation"]
    assert described["settings"][0]["minimum"] == 50


def test_unit_is_described_without_scripts(new_desk: Callable[..., Desk]) -> None:
    """With scripts off the rows still move, and the form is still saved."""
    desk = new_desk(java_script_enabled=False)
    desk.signs_in()
    desk.opens("stimulators/new")
    desk.page.get_by_label("Name", exact=True).fill("Grey box")
    desk.page.get_by_role("button", name="Move Rest, s up").click()
    expect(desk.page.locator(".menu > li").nth(5)).to_contain_text("Rest, s")
    expect(desk.page.get_by_label("Name", exact=True)).to_have_value("Grey box")


def test_everybody_can_use_every_page(new_desk: Callable[..., Desk]) -> None:
    """Every page, refused forms too, on a laptop's screen and a phone's: WCAG 2.2 A and AA, 7:1 in light and dark."""
    desk = new_desk()
    desk.opens("sign-in")
    is_fit_for_all(desk, "sign-in")
    desk.signs_in()
    for page in PAGES:
        desk.opens(page)
        is_fit_for_all(desk, page)
        fits_the_screen(desk, page)
    for page in REFUSED_EMPTY:
        sends_it_empty(desk, page)
        is_fit_for_all(desk, page)
    assert desk.complaints == []


def is_fit_for_all(desk: Desk, page: str) -> None:
    for size in (LAPTOP, SMALL):
        desk.looks(size)
        assert desk.axe() == [], (page, size)
    for scheme in SCHEMES:
        desk.looks(SMALL, scheme)
        assert desk.axe(CONTRAST) == [], (page, scheme)


def fits_the_screen(desk: Desk, page: str) -> None:
    """Nothing runs off it, with text at 200 % either."""
    for size in (LAPTOP, SMALL):
        desk.looks(size)
        assert not desk.is_wider_than_the_screen(), (page, size)
        desk.makes_text_twice_as_large()
        assert not desk.is_wider_than_the_screen(), (page, size)
        desk.makes_text_as_it_was()


def sends_it_empty(desk: Desk, page: str) -> None:
    desk.looks(LAPTOP)
    desk.opens(page)
    desk.page.locator("main form:not([data-keeper]) button.go").click()
    desk.sees("Please fill this in.")
