"""The whole way of a session: practised with the server gone, through killed browsers, and on the review page."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.desk import Desk, add_lead
from tests.browser.phone import Phone
from tests.browser.practising import Practising
from tests.client.invented_clinic import TYPED

pytestmark = pytest.mark.browser
NOTE = "Done in the shed, far from any network"


class PractisingOn(Practising):
    """The owner of a real phone who practises; the clock of her pages is moved by the test."""

    def __init__(self, phone: Phone) -> None:
        self.phone, self.page = phone, phone.page
        self.address, self.handle = phone.address, phone.handle
        self.context = phone.context
        self.faults: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.context.clock.install()

    def does_without_sound(self) -> None:
        """Answers the first session's sound check."""
        self.is_on("sound-check")
        self.page.locator("[data-no-sound]:visible").first.click()
        self.is_on("zero-1")

    def comes_to_the_timer(self) -> None:
        """Goes from today to the timer in step with the unit."""
        self.starts_from_today()
        self.finds_nothing_new(2)
        self.answers(2)
        self.is_on("set-up-1")
        for _ in range(self.page.locator("[data-step]").count()):
            self.presses("Done")
        self.does_without_sound()
        self.has_the_unit_on_at_zero()
        self.turns_up(22)
        self.taps_at_the_rise()

    def practises_and_answers(self) -> None:
        """Practises half a minute, stops, and answers to the last question."""
        self.practises(30)
        self.presses_stop_and_turns_the_unit_off("I am tired, or it is enough")
        self.takes_the_pads_off()
        self.finds_nothing_new(2)
        self.answers_the_questions()

    def answers_the_questions(self) -> None:
        """Answers from the pain to the note."""
        self.answers(3)
        self.answers(5)
        self.presses("No, I did it alone")
        self.writes(NOTE)
        self.presses("I did")
        self.sees("Saved on this phone")
        assert self.faults == []


@pytest.fixture
def desk(browser_tool: Playwright, server: ClinicServer, clinic_folder: Any) -> Iterator[Desk]:
    """Gives a therapist's browser; its owner may sign in."""
    add_lead(clinic_folder)
    made = Desk(browser_tool, server)
    yield made
    made.closes()


def sessions(clinic: ClinicSide) -> list[dict[str, Any]]:
    """Reads the sessions that came home."""
    return [json.loads(one.content) for one in clinic.records() if one.kind == "session"]


def starts_anew(phone: Phone) -> PractisingOn:
    """Kills the browser and opens its profile from the home screen."""
    phone.browser_is_killed()
    phone.opens_the_browser()
    phone.opens_from_the_home_screen()
    phone.sees("Opening the hand")
    return PractisingOn(phone)


@pytest.mark.settled
def test_a_session_without_the_server_is_on_the_therapists_page_once(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, desk: Desk
) -> None:
    """From the skin check to the note, with the server stopped and the browser killed before."""
    phone.log_is_home()
    server.stops()
    sol = starts_anew(phone)
    sol.comes_to_the_timer()
    sol.practises_and_answers()
    assert sessions(clinic) == []
    server.starts()
    phone.network_returns()
    phone.log_is_home()
    (session,) = sessions(clinic)
    assert (session["ended"], session["note"], session["strength_half_ma"]) == (5, NOTE, [44])
    assert 25 <= session["cued_s"] <= 60
    desk.signs_in()
    desk.opens("clients/1?all=yes")
    expect(desk.page.locator("td.note", has_text=NOTE)).to_have_count(1)


@pytest.mark.settled
def test_a_browser_killed_in_the_middle_loses_at_most_a_cycle(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """Found again it asks whether the unit is on; then it is in the log as interrupted, once."""
    server.stops()
    sol = starts_anew(phone)
    sol.comes_to_the_timer()
    sol.practises(30)
    phone.browser_is_killed()
    phone.opens_the_browser()
    phone.goes_to(phone.address + "today")
    phone.page.wait_for_url("**/found")
    phone.sees("Is your unit still on?")
    sol = PractisingOn(phone)
    sol.presses("No, it is off")
    sol.takes_the_pads_off()
    sol.finds_nothing_new(2)
    sol.answers_the_questions()
    server.starts()
    phone.opens("log")
    phone.network_returns()
    phone.log_is_home()
    (session,) = sessions(clinic)
    assert session["ended"] == 8
    assert session["cued_s"] >= 18  # of about 30, less one cycle of 12


@pytest.mark.settled
def test_an_installed_app_with_an_empty_store_practises_too(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, new_phone: Callable[[str], Phone]
) -> None:
    """As one more phone of the same client, after the ten signs were typed."""
    installed = new_phone("installed")
    installed.address = phone.address
    installed.opens_from_the_home_screen()
    installed.types_the_ten_signs(TYPED)
    installed.waits_for_the_plan()
    server.stops()
    sol = starts_anew(installed)
    sol.comes_to_the_timer()
    sol.practises_and_answers()
    server.starts()
    installed.network_returns()
    installed.log_is_home()
    assert len(sessions(clinic)) == 1
    assert len(clinic.devices()) == 2


@pytest.mark.settled
def test_a_second_client_on_the_same_phone_practises_for_herself(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """Her session is hers; the first client's log stays as it was."""
    token = clinic.another_client("MR-12")
    phone.gets_the_plan(server.public_url, token)
    server.stops()
    second = starts_anew(phone)
    second.comes_to_the_timer()
    second.practises_and_answers()
    server.starts()
    phone.network_returns()
    phone.log_is_home()
    assert [one.client_id for one in clinic.records() if one.kind == "session"] == [2]
