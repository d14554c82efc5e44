"""The log comes home by itself: through lost and forged answers, lost cookies, withdrawn phones, restored servers."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.faulty_proxy import FaultyProxy
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN, TYPED
from tests.waiting import until

pytestmark = pytest.mark.browser
DAYS_30_MS = 30 * 86_400_000


def test_a_lost_answer_loses_and_doubles_nothing(clinic: ClinicSide, proxy: FaultyProxy, phone: Phone) -> None:
    """The connection is cut after the commit: the record is there once, and both sides come to say so."""
    phone.gets_the_plan(proxy.url, TOKEN)
    phone.log_is_home()
    cut = proxy.cuts_answers("/exchange/sync", times=2)
    phone.writes_a_record("through a hole in the network")
    proxy.has_done(cut)
    phone.log_is_home()
    mine = [one for one in clinic.records() if b"through a hole" in one.content]
    assert len(mine) == 1
    assert [one["bytes"].encode() for one in phone.records()] == [one.content for one in clinic.records()]
    assert all(one["received_ms"] > 0 for one in phone.records())


@pytest.mark.parametrize("after_bytes", [1, 40, 200, 330, 430])
def test_an_answer_cut_anywhere_marks_nothing(proxy: FaultyProxy, phone: Phone, after_bytes: int) -> None:
    """Part of a receipt is no receipt."""
    phone.gets_the_plan(proxy.url, TOKEN)
    phone.log_is_home()
    phone.opens_a_page_that_carries_nothing()
    proxy.cuts_answers("/exchange/sync", after_bytes, times=10**6)
    phone.writes_a_record()
    state = phone.carries_the_log_home()
    assert (state["problem"], state["unsent"]) == ("no_answer", 1)
    assert phone.records()[-1]["received_ms"] == 0


def test_an_unsealed_or_changed_receipt_is_not_believed(proxy: FaultyProxy, phone: Phone) -> None:
    """A sign-in page, a changed count, an answer without its seal: unknown, kept, tried again."""
    phone.gets_the_plan(proxy.url, TOKEN)
    phone.log_is_home()
    phone.opens_a_page_that_carries_nothing()
    phone.writes_a_record()
    for fault in (
        lambda answer: answer.replace(b'"revoked":false', b'"revoked":true '),
        lambda answer: answer.replace(b"Wattlebird-Seal", b"Other-Seal"),
        lambda answer: answer.split(b"\r\n\r\n")[0] + b"\r\n\r\n",
        lambda answer: answer.replace(b"200 OK", b"503 Busy"),
    ):
        rule = proxy.changes_answers("/exchange/sync", fault, times=10**6)
        state = phone.carries_the_log_home()
        assert rule.happened >= 1
        assert (state["problem"], state["unsent"]) == ("no_answer", 1)
        proxy.behaves()
    assert phone.carries_the_log_home()["unsent"] == 0


@pytest.mark.settled
def test_a_page_of_last_month_still_syncs_without_its_cookie(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """Sync goes by the phone's key; the lost cookie is renewed by a sealed request on the way."""
    phone.log_is_home()
    phone.opens("today")
    phone.sees("Opening the hand")
    server.stops()
    clinic.clock_goes_ahead(DAYS_30_MS)
    phone.clock_goes_ahead(DAYS_30_MS)
    phone.context.clear_cookies()
    server.starts()
    phone.writes_a_record("a month later")
    phone.log_is_home()
    assert b"a month later" in clinic.records()[-1].content
    until(phone.context.cookies)


@pytest.mark.settled
def test_a_withdrawn_phones_log_still_comes_home(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """It is marked late and receipted; the phone is told, and gets no pack any more."""
    phone.log_is_home()
    phone.opens_a_page_that_carries_nothing()
    clinic.withdraws_all_phones()
    phone.writes_a_record("after the withdrawal")
    state = phone.carries_the_log_home()
    assert (state["problem"], state["unsent"], state["pack"]) == ("revoked", 0, None)
    assert [one.late for one in clinic.records()] == [False, True]
    assert phone.status_of("pack/" + "0" * 32 + "/manifest.json") == 403


@pytest.mark.settled
def test_a_phone_whose_store_was_wiped_comes_back_as_another(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """What it had sent stays; nothing that it writes now is mistaken for it."""
    phone.writes_a_record("before")
    phone.log_is_home()
    phone.loses_its_store(server.public_url)
    phone.gets_the_plan(server.public_url, TOKEN)
    phone.writes_a_record("after")
    phone.log_is_home()
    found = [one for one in clinic.records() if one.kind == "not_today"]
    assert [b"before" in one.content for one in found] == [True, False]
    assert len({one.device for one in found}) == 2


@pytest.mark.settled
def test_a_server_put_back_from_a_backup_gets_everything_again(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, tmp_path: Path
) -> None:
    """Its epoch is new and its receipt covers less: the phone takes its marks back and sends once more."""
    phone.log_is_home()
    server.stops()
    shutil.copytree(clinic.folder, tmp_path / "backup")
    server.starts()
    phone.writes_a_record("since the backup")
    phone.log_is_home()
    server.stops()
    clinic.is_put_back_from(tmp_path / "backup")
    server.starts()
    assert all(b"since the backup" not in one.content for one in clinic.records())
    phone.network_returns()
    until(lambda: any(b"since the backup" in one.content for one in clinic.records()))
    phone.log_is_home()
    assert b"since the backup" in clinic.records()[-1].content


@pytest.mark.settled
def test_two_pages_of_one_phone_send_everything_once(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """Both carry at the same time; numbers have no gap and no record is doubled."""
    phone.opens("today")
    other = phone.opens_another_page("log")
    phone.writes_records_in_both_pages(other, 8)
    phone.log_is_home()
    kept = phone.records()
    assert [one["seq"] for one in kept] == list(range(1, 18))
    assert [one.content for one in clinic.records()] == [one["bytes"].encode() for one in kept]


@pytest.mark.settled
def test_a_log_longer_than_a_batch_comes_home(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """A long time without a network: several batches, one after the other."""
    server.stops()
    phone.writes_many_records(150)
    server.starts()
    phone.network_returns()
    phone.log_is_home()
    assert [one.seq for one in clinic.records()] == list(range(1, 152))


@pytest.mark.settled
def test_the_log_is_kept_when_the_clinic_comes_back_late(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """Written with the server gone, kept through a killed browser, received when the server is back, by itself."""
    phone.log_is_home()
    server.is_killed()
    phone.writes_a_record("in the dark")
    phone.browser_is_killed()
    phone.opens_the_browser()
    phone.opens_from_the_home_screen()
    server.starts()
    phone.network_returns()
    phone.log_is_home()
    assert [b"in the dark" in one.content for one in clinic.records()] == [False, True]


@pytest.mark.settled
def test_two_clients_on_one_phone_keep_their_logs_apart(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """Each record comes home under its own client."""
    token = clinic.another_client("MR-12")
    first = phone.address
    phone.writes_a_record("of the first")
    phone.log_is_home()
    second = phone.gets_the_plan(server.public_url, token)
    assert first != second
    phone.writes_a_record("of the second")
    phone.log_is_home()
    by_client = {one.client_id: one.content for one in clinic.records() if one.kind == "not_today"}
    assert len(by_client) == 2
    assert {b"of the first" in content for content in by_client.values()} == {True, False}


def test_typed_signs_lead_in_like_the_code(
    server: ClinicServer, clinic: ClinicSide, new_phone: Callable[[str], Phone]
) -> None:
    """In small letters, with a space: the same link, another use of it."""
    phone = new_phone("typing")
    phone.goes_to(f"{server.public_url}/join")
    phone.types_the_ten_signs(f"{TYPED[:5]} {TYPED[5:]}".lower())
    phone.waits_for_the_plan()
    assert clinic.uses_left() == 3
