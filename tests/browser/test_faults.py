"""A faulty network between real phone and server: nothing wrong is kept, each record comes once; and the way out."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.faulty_proxy import MOVED, PORTAL, Fault, FaultyProxy, Rule
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN
from tests.waiting import until

pytestmark = pytest.mark.browser
SYNC = "/exchange/sync"
# a browser puts off its look for a new worker, a second or so after an opening, for as long as the worker is kept busy
SELDOM_S = 2


def _other_byte(answer: bytes) -> bytes:
    at = len(answer) - 20
    return answer[:at] + bytes([answer[at] ^ 1]) + answer[at + 1 :]


FAULTS: tuple[Fault, ...] = (
    lambda _: MOVED, lambda _: PORTAL, lambda answer: answer[: max(0, len(answer) - 9)], _other_byte)


def test_no_fault_of_a_network_loses_or_doubles_a_record(
    clinic: ClinicSide, proxy: FaultyProxy, phone: Phone
) -> None:
    """Late and in pieces, reset before and in the middle of the answer, cut, sent elsewhere: each record comes once."""
    phone.gets_the_plan(proxy.url, TOKEN)
    phone.log_is_home()
    phone.opens_a_page_that_carries_nothing()
    faults: dict[str, Callable[[], Rule]] = {
        "late": lambda: proxy.answers_slowly(SYNC), "reset": lambda: proxy.resets_connections(SYNC, 0),
        "reset in the middle": lambda: proxy.resets_connections(SYNC, 300),
        "cut": lambda: proxy.cuts_answers(SYNC, 250),
        "elsewhere": lambda: proxy.leads_elsewhere(SYNC)}
    for name, fault in faults.items():
        phone.writes_a_record(name)
        rule = fault()
        state = phone.carries_the_log_home()
        assert rule.happened == 1, name
        assert (state["problem"], state["unsent"]) == (("", 0) if name == "late" else ("no_answer", 1)), name
        proxy.behaves()
        assert phone.carries_the_log_home()["unsent"] == 0, name
    assert [one.content for one in clinic.records()] == [one["bytes"].encode() for one in phone.records()]


def test_whatever_comes_instead_of_any_file_is_never_kept(proxy: FaultyProxy, phone: Phone) -> None:
    """Each file of a pack, once as a redirect, a sign-in page, cut short, with another byte: it is whole only when each
    is what the manifest names, and nothing else is ever in it.
    """
    phone.gets_the_plan(proxy.url, TOKEN)
    phone.log_is_home()
    phone.opens_a_page_that_carries_nothing()
    phone.loses_its_cached_pages("-pack-")
    asked: dict[str, int] = {}
    pack = phone.meta()["current_pack"]["pack_id"]
    proxy.changes_answers_by_request(f"/pack/{pack}/", lambda line, answer: _fault(asked, line, answer))
    outcomes = phone.stores_a_pack(pack)
    assert outcomes == ["network", "not_ours", "stored"]
    assert len(asked) > 50
    assert min(asked.values()) == len(FAULTS) + 1
    assert phone.keeps_what_the_manifest_names(pack)
    assert phone.holds_its_plan_whole()


def _fault(asked: dict[str, int], line: str, answer: bytes) -> bytes:
    """Gives each file first by each fault, then as it is."""
    turn = asked[line] = asked.get(line, 0) + 1
    return FAULTS[turn - 1](answer) if turn <= len(FAULTS) else answer


def test_the_worker_can_be_taken_off_every_phone(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """The way out: by the second opening pages come from the server, the log is as it was, and comes home; and back."""
    phone.gets_the_plan(server.public_url, TOKEN)
    phone.log_is_home()
    server.stops()
    phone.writes_a_record("in between")
    clinic.takes_the_worker_off()
    server.starts()
    phone.opens("log")
    until(lambda: phone.worker_said() == "failed", 60, SELDOM_S)
    phone.opens("today")
    phone.sees("Opening the hand")
    phone.log_is_home()
    assert [b"in between" in one.content for one in clinic.records()] == [False, True]
    server.stops()
    clinic.takes_the_worker_off(off=False)
    server.starts()
    phone.opens("today")
    until(phone.looks_for_a_new_worker)
    phone.closes_the_browser()
    phone.opens_the_browser()
    phone.opens("today")
    until(lambda: phone.worker_said() not in ("", "failed"), 60, SELDOM_S)
    until(phone.holds_its_plan_whole)
    server.is_killed()
    phone.opens("today")
    phone.sees("Opening the hand")
    assert len(phone.records()) == 2
