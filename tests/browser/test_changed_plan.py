"""A changed plan on the client's own pages: announced, its steps ticked, and only then the one in use."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN

pytestmark = pytest.mark.browser
CHANGE = {"words": ["The rest is longer"], "unit_changed": True, "unit_steps": ["Set the rest to 12 seconds"]}


def test_a_change_of_the_unit_waits_for_its_steps(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """Today says what is new; the old plan stays until each step is ticked; then the log says who changed the unit.

    Days off come and go without a word to press: they change nothing on the unit, and need not wait for its steps.
    """
    phone.gets_the_plan(server.public_url, TOKEN)
    clinic.notes_days_off("holiday", 4)
    phone.opens("today")
    phone.network_returns()
    phone.sees("No practice today: a day off. The next time is")
    assert phone.meta()["current_pack"] == {"pack_id": clinic.newest_pack_id(), "version": 1}
    expect(phone.page.get_by_role("link", name="Practise all the same")).to_be_visible()
    clinic.takes_days_off_back()
    clinic.issues_another_version(2, CHANGE)
    phone.network_returns()
    phone.sees("The rest is longer")
    phone.opens("today")
    phone.sees("to go today")
    assert phone.meta()["current_pack"]["version"] == 1
    phone.page.get_by_role("link", name="See what is new").click()
    phone.sees("Set the rest to 12 seconds")
    take = phone.page.get_by_role("button", name="Use the new plan")
    expect(take).to_be_disabled()
    assert phone.meta()["current_pack"]["version"] == 1
    phone.page.get_by_label("Set the rest to 12 seconds").check()
    phone.page.get_by_label("My helper").check()
    take.click()
    phone.page.wait_for_url("**/today")
    phone.sees("to go today")
    assert phone.meta()["current_pack"]["version"] == 2
    kinds = [record["kind"] for record in phone.records()]
    assert kinds == ["pack_taken", "pack_taken", "pack_taken", "changed"]
