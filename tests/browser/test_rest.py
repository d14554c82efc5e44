"""A rest after a skin finding: kept offline, ended by six typed digits or by sync, on a real phone and real pages."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import Desk, add_lead
from tests.browser.phone import Phone
from tests.browser.test_offline_session import PractisingOn
from tests.client.invented_clinic import TOKEN

pytestmark = pytest.mark.browser
BLISTER = 4


@pytest.fixture
def desk(browser_tool: Playwright, server: ClinicServer, clinic_folder: Path) -> Iterator[Desk]:
    add_lead(clinic_folder)
    made = Desk(browser_tool, server)
    yield made
    made.closes()


def finds_a_blister(phone: Phone) -> PractisingOn:
    """Looks at the skin before practice; the page says that it rests, and why."""
    sol = PractisingOn(phone)
    sol.starts_from_today()
    sol.finds_something_new(BLISTER)
    sol.finds_nothing_new(1)
    sol.is_on("no-practice")
    phone.sees("Rest since")
    return sol


def types_digits(phone: Phone, digits: str) -> None:
    phone.page.get_by_label("The 6 digits").fill(digits)
    phone.presses("Enter")


def digits_for(desk: Desk, number: str) -> str:
    """Ends the rest of a finding that is only on the phone yet: the client reads its number out."""
    desk.signs_in()
    desk.opens("clients/1")
    desk.page.get_by_text("the finding is not here yet").click()
    desk.page.locator("select[name=device]").select_option(index=1)  # the tablet came later and stands first
    desk.page.get_by_label("Number on the phone’s page").fill(number)
    desk.presses("Practice may go on")
    told = desk.page.locator(".resting .digits")
    expect(told).to_have_text(re.compile(r"^\d{3} \d{3}$"))
    return told.inner_text()


def test_a_rest_ends_by_digits_without_a_network_and_by_sync(
    server: ClinicServer, phone: Phone, new_phone: Callable[[str], Phone], desk: Desk
) -> None:
    """The phone keeps the rest through reloads and wrong digits; the therapist's word ends it, by either road.

    The partner's tablet rests as soon as it hears of it, says why, and goes on with her word.
    """
    phone.gets_the_plan(server.public_url, TOKEN)
    phone.log_is_home()
    tablet = new_phone("tablet")
    tablet.gets_the_plan(server.public_url, TOKEN)
    tablet.log_is_home()
    server.stops()
    finds_a_blister(phone)
    number = phone.page.locator("[data-number]").inner_text().split(": ")[1]
    phone.closes_the_browser()
    server.starts()
    digits = digits_for(desk, number)
    server.stops()

    phone.opens_the_browser()
    phone.opens_from_the_home_screen()
    phone.sees("No practice until your therapist says so")
    sol = PractisingOn(phone)
    sol.opens("skin?exercise=1")
    sol.is_on("today")
    sol.opens("no-practice")
    wrong = "000000" if digits[0] != "0" else "111111"
    for words in ("They do not fit. Look", "They do not fit. Look", "They do not fit. Wait 1 minute"):
        types_digits(phone, wrong)
        phone.sees(words)
    expect(phone.page.get_by_role("button", name="Enter", exact=True)).to_be_disabled()
    sol.opens("no-practice")
    expect(phone.page.get_by_role("button", name="Enter", exact=True)).to_be_disabled()
    phone.page.clock.run_for(61_000)
    phone.sees("You can try again now.")
    types_digits(phone, digits)
    sol.is_on("today")

    finds_a_blister(phone)
    server.starts()
    phone.network_returns()
    phone.log_is_home()
    desk.opens("clients/1")
    desk.sees("was not heard since and does not know it")
    tablet.opens("skin?exercise=1")
    tablet.page.wait_for_url("**/today")
    tablet.sees("No practice until your therapist says so")
    tablet.opens("no-practice")
    tablet.sees("Your other phone or tablet was told of something new on the skin.")
    expect(tablet.page.locator("[data-digits-field]")).to_be_visible()
    desk.opens("clients/1")
    expect(desk.page.get_by_text("was not heard since and does not know it")).to_have_count(0)
    asked = desk.page.locator(".asks li").last
    asked.get_by_text("Look and answer").click()
    asked.get_by_label("What did you find out and advise?").fill("It is the old one, and healed")
    asked.get_by_label("Practice may go on").check()
    asked.get_by_role("button", name="Answered").click()
    desk.sees("Noted as answered")
    phone.network_returns()
    sol.is_on("today")
    expect(phone.page.get_by_role("link", name="Start", exact=True)).to_be_visible()
    tablet.network_returns()
    tablet.page.wait_for_url("**/today")
    expect(tablet.page.get_by_role("link", name="Start", exact=True)).to_be_visible()

    bo = PractisingOn(tablet)
    bo.is_handed("timer-1", places=2, channels=1, stage="timer", strength=[12])
    bo.taps_at_the_rise()
    desk.opens("clients/1")
    desk.page.get_by_text("Let practice rest …").click()
    desk.page.get_by_label("Why", exact=True).fill("Pain at rest since yesterday")
    desk.page.locator(".let-rest button").click()
    desk.sees("Tell the client by phone today")
    tablet.network_returns()
    tablet.sees("Your therapist asks you to rest.")
    bo.presses("My unit is off")
    bo.is_on("end-1")
    bo.sees("Your unit is off")
    bo.drops_the_session()
    tablet.opens("today")
    tablet.sees("No practice until your therapist says so")
    tablet.opens("no-practice")
    tablet.sees("Your therapist asks for it.")
    tablet.sees("Do not put pads on. The unit stays off.")
    expect(tablet.page.get_by_text("Do not put a pad on this skin")).to_be_hidden()
    desk.presses("Practice may go on")
    expect(desk.page.get_by_role("button", name="Practice may go on")).to_have_count(0)
    tablet.network_returns()
    tablet.page.wait_for_url("**/today")
    expect(tablet.page.get_by_role("link", name="Start", exact=True)).to_be_visible()
    assert sol.faults == bo.faults == []
