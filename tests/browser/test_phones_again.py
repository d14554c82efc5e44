"""A phone that comes again: after a lost answer, as a copy of its store, after a backup that has no such phone."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.faulty_proxy import FaultyProxy
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN
from tests.waiting import until

pytestmark = pytest.mark.browser
DAYS_31_MS = 31 * 86_400_000


def test_a_phone_that_the_backup_does_not_know_takes_its_log_along(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, tmp_path: Path
) -> None:
    """Let in after the backup: it says what to do, and under its new name nothing is lost or doubled."""
    server.stops()
    shutil.copytree(clinic.folder, tmp_path / "backup")
    server.starts()
    old = phone.gets_the_plan(server.public_url, TOKEN)
    phone.writes_a_record("before")
    phone.log_is_home()
    server.stops()
    clinic.is_put_back_from(tmp_path / "backup")
    server.starts()
    phone.writes_a_record("since")
    phone.opens("today")
    phone.sees("The clinic does not know this phone now")
    phone.sees("Your log is safe on this phone.")
    assert phone.gets_the_plan(server.public_url, TOKEN) != old
    phone.log_is_home()
    found = [one for one in clinic.records() if one.kind == "not_today"]
    assert [b"before" in found[0].content, b"since" in found[1].content, len(found)] == [True, True, 2]
    assert {one.device for one in clinic.records()} == {clinic.devices()[-1].device}
    phone.goes_to(f"{old}today")
    phone.page.wait_for_url(f"{phone.address}today")
    assert [one.content for one in clinic.records()] == [one["bytes"].encode() for one in phone.records()]


def _says_nothing_more(phone: Phone) -> bool:
    return not any(kept["bytes"] for kept in phone.records())


def test_two_copies_of_one_phone_both_come_home(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, new_phone: Callable[[str], Phone], tmp_path: Path
) -> None:
    """A phone moved to another, and both used: what stands under one number twice is kept aside, and stops nothing; nor
    does it when neither can send its record any more.
    """
    phone.gets_the_plan(server.public_url, TOKEN)
    phone.log_is_home()
    phone.closes_the_browser()
    shutil.copytree(tmp_path / "profile-first", tmp_path / "profile-copy")
    phone.opens_the_browser()
    copy = new_phone("copy")
    copy.address = phone.address
    for one, note in ((phone, "on the first"), (copy, "on the copy"), (phone, "first again"), (copy, "copy again")):
        one.opens_a_page_that_carries_nothing()
        one.writes_a_record(note)
    for one in (phone, copy, phone, copy):
        one.carries_the_log_home()
    assert all(kept["received_ms"] for one in (phone, copy) for kept in one.records())
    found = [(one.seq, one.aside) for one in clinic.records() if one.kind == "not_today"]
    assert sorted(found) == [(2, False), (2, True), (3, False), (3, True)]
    for one in (phone, copy):
        one.clock_goes_ahead(DAYS_31_MS)
        one.opens("today")
        until(partial(_says_nothing_more, one))
        one.opens_a_page_that_carries_nothing()
        one.writes_a_record("a month later")
    for one in (phone, copy, phone, copy):
        state = one.carries_the_log_home()
        assert (state["problem"], state["unsent"]) == ("", 0)


def test_an_activation_whose_answer_was_lost_uses_nothing_up(
    clinic: ClinicSide, proxy: FaultyProxy, phone: Phone
) -> None:
    """Cut after the commit: tried again, the phone gets the same device, and one use of the link is gone."""
    cut = proxy.cuts_answers("/join/activate", after_bytes=20)
    phone.scans_the_sheet(proxy.url, TOKEN)
    phone.presses("Start")
    phone.sees("There is no internet, or the clinic does not answer.")
    proxy.has_done(cut)
    phone.presses("Try again")
    phone.presses("Start")
    phone.waits_for_the_plan()
    phone.log_is_home()
    assert (len(clinic.devices()), clinic.uses_left()) == (1, 3)
