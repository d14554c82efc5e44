"""Once opened, the plan is on the phone: with the server stopped, the browser killed, two clients, an emptied store."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.faulty_proxy import FaultyProxy
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN, TYPED
from tests.waiting import until

pytestmark = pytest.mark.browser
BINDING = ("content-security-policy", "referrer-policy", "x-content-type-options", "cross-origin-opener-policy")


@pytest.mark.settled
def test_the_plan_opens_with_the_server_gone(server: ClinicServer, phone: Phone) -> None:
    """After a reload, from the home screen, and after the browser was killed and its profile opened again."""
    assert phone.comes_from_the_worker()
    server.is_killed()
    phone.page.reload()
    phone.opens_from_the_home_screen()
    phone.sees("Opening the hand")
    phone.browser_is_killed()
    phone.opens_the_browser()
    phone.opens_from_the_home_screen()
    phone.sees("Opening the hand")
    assert phone.comes_from_the_worker()


@pytest.mark.settled
def test_every_file_of_the_plan_is_there_with_the_server_gone(server: ClinicServer, phone: Phone) -> None:
    """Each with the headers that bind it: what the policy forbids is forbidden offline too. The calendar is saved."""
    online = phone.headers_of(f"pack/{phone.meta()['current_pack']['pack_id']}/today")
    server.is_killed()
    paths = [path for path in phone.files_of_the_plan() if path != "manifest.json"]
    assert {phone.status_of(path) for path in paths} == {200}
    for path in paths:
        headers = phone.headers_of(path)
        assert [headers.get(name) for name in BINDING] == [online[name] for name in BINDING], path
    phone.opens_from_the_home_screen()
    with phone.page.expect_download() as saving:
        phone.page.get_by_role("link", name="My calendar").click()
    assert saving.value.suggested_filename == "practice.ics"
    assert saving.value.path().read_text(encoding="utf-8").startswith("BEGIN:VCALENDAR")
    phone.sees("The file practice.ics is on this phone now.")


@pytest.mark.settled
def test_the_set_up_is_tried_offline_and_nothing_is_noted(server: ClinicServer, phone: Phone) -> None:
    """From Today, each step, without the unit; no session begins and no record is written."""
    server.is_killed()
    phone.opens_from_the_home_screen()
    before = phone.records()
    phone.page.get_by_role("link", name="Try the set-up").click()
    phone.sees("Just a try. The unit stays off.")
    for _ in range(phone.page.locator("[data-done]").count()):
        phone.page.locator("[data-now] [data-done]").click()
    phone.sees("That was all")
    phone.page.get_by_role("link", name="Go to today").click()
    phone.sees("Opening the hand")
    assert phone.records() == before
    assert phone.page.get_by_role("link", name="Start").is_visible()


@pytest.mark.settled
def test_sounds_answer_byte_ranges_offline(server: ClinicServer, phone: Phone) -> None:
    """Some browsers ask for sound in pieces."""
    server.is_killed()
    script = """async (url) => {
      const answer = await fetch(url, { headers: { Range: 'bytes=4-11' } });
      const range = answer.headers.get('Content-Range').split('/')[0];
      return [answer.status, range, (await answer.arrayBuffer()).byteLength];
    }"""
    assert phone.page.evaluate(script, phone.address + "tones/rise.wav") == [206, "bytes 4-11", 8]


@pytest.mark.settled
def test_what_is_not_in_the_plan_is_said_to_be_missing(server: ClinicServer, phone: Phone) -> None:
    """A missing file is a missing file, a missing page a page that leads back; never another page in its place."""
    server.is_killed()
    assert phone.status_of("static/pages/none.js") == 404
    answer = phone.page.goto(phone.address + "nowhere")
    assert answer
    assert answer.status == 404
    phone.page.get_by_role("link", name="To my first page").click()
    phone.sees("Opening the hand")


@pytest.mark.settled
def test_two_clients_share_a_phone(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """Each has pages, a store and a home-screen address of their own, with the server gone too."""
    token = clinic.another_client("MR-12")
    first = phone.address
    second = phone.gets_the_plan(server.public_url, token)
    server.is_killed()
    phone.browser_is_killed()
    phone.opens_the_browser()
    for address, code in ((first, "SL-07"), (second, "MR-12")):
        phone.address = address
        phone.opens_from_the_home_screen()
        phone.sees("Opening the hand")
        assert phone.meta()["code"] == code


@pytest.mark.settled
def test_the_sheet_scanned_again_opens_the_plan_and_is_no_new_phone(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """People keep scanning the sheet: the link is not used up by it."""
    address = phone.address
    phone.scans_the_sheet(server.public_url, TOKEN)
    phone.presses("Start")
    phone.page.wait_for_url("**/my/*/today")
    assert phone.page.url == address + "today"
    assert len(clinic.devices()) == 1


@pytest.mark.settled
def test_an_installed_app_with_an_empty_store_says_how_to_go_on(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, new_phone: Callable[[str], Phone]
) -> None:
    """It starts at the home-screen address with nothing there: scan again or type; then it is one more phone."""
    installed = new_phone("installed")
    installed.address = phone.address
    installed.opens_from_the_home_screen()
    installed.sees("Your plan is not on this phone")
    installed.types_the_ten_signs(TYPED)
    installed.waits_for_the_plan()
    assert installed.address != phone.address
    assert len(clinic.devices()) == 2


@pytest.mark.settled
def test_an_installed_app_that_got_only_the_cookie_says_the_same(
    server: ClinicServer, phone: Phone, new_phone: Callable[[str], Phone]
) -> None:
    """Some phones copy cookies into the installed app, and nothing else."""
    installed = new_phone("installed")
    installed.address = phone.address
    installed.context.add_cookies(phone.context.cookies(phone.address))  # type: ignore[arg-type]
    installed.opens_from_the_home_screen()
    installed.sees("Your plan is not on this phone")


@pytest.mark.settled
def test_an_installed_app_gets_in_by_the_token_its_page_asked_for(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, new_phone: Callable[[str], Phone]
) -> None:
    """The start address of that manifest works once."""
    start = phone.asks_for_a_rejoin_address()
    installed = new_phone("installed")
    installed.goes_to(start)
    installed.presses("Open my plan")
    installed.waits_for_the_plan()
    assert len(clinic.devices()) == 2
    again = new_phone("again")
    again.goes_to(start)
    again.presses("Open my plan")
    again.sees("We do not know this code")


@pytest.mark.parametrize("path", ["manifest.json", "static/styles/client.css", "data/plan.json"])
def test_a_pack_is_stored_whole_or_not_at_all(proxy: FaultyProxy, phone: Phone, path: str) -> None:
    """Cut in the middle, it is not in use; tried again, it goes on from where it was."""
    proxy.cuts_answers(f"/{path} ", after_bytes=900, times=10**6)
    phone.scans_the_sheet(proxy.url, TOKEN)
    phone.presses("Start")
    phone.sees("The internet broke off")
    before = set(proxy.seen)
    proxy.behaves()
    proxy.seen.clear()
    phone.presses("Try again")
    phone.presses("Start")
    phone.page.wait_for_url("**/my/*/today")
    asked_again = {line for line in proxy.seen if "/pack/" in line} & before
    assert {line.split(" ")[1].split("/", 5)[5] for line in asked_again} <= {"manifest.json", path}


def test_a_sign_in_page_of_the_network_never_gets_into_the_plan(proxy: FaultyProxy, phone: Phone) -> None:
    """Its status says all is well; its content is not what the manifest names."""
    proxy.shows_a_portal("/static/pages/")
    phone.scans_the_sheet(proxy.url, TOKEN)
    proxy.behaves()
    phone.scans_the_sheet(proxy.url, TOKEN)
    proxy.shows_a_portal("/pack/")
    phone.presses("Start")
    phone.sees("What came is not your plan")
    proxy.behaves()
    phone.presses("Try again")
    phone.presses("Start")
    phone.page.wait_for_url("**/my/*/today")
    phone.sees("Opening the hand")


@pytest.mark.settled
def test_the_worker_leaves_the_clinics_pages_alone(server: ClinicServer, phone: Phone) -> None:
    """Nothing of the clinic, the join page or the exchange is ever kept, and the clinic's pages have no worker."""
    phone.goes_to(f"{server.public_url}/clinic/sign-in")
    assert not phone.comes_from_the_worker()
    script = """async () => (await Promise.all((await caches.keys()).map(async (name) =>
      (await (await caches.open(name)).keys()).map((one) => new URL(one.url).pathname)))).flat()"""
    kept = phone.page.evaluate(script)
    assert kept
    assert {path.split("/")[1] for path in kept} == {"my", "static"}


@pytest.mark.settled
def test_an_emptied_cache_heals_by_itself(server: ClinicServer, phone: Phone) -> None:
    """The browser cleared the pages and not the log: the next opening with a network brings them back."""
    phone.loses_its_cached_pages()
    phone.opens_from_the_home_screen()
    phone.sees("Opening the hand")
    until(phone.holds_its_plan_whole)
    server.is_killed()
    phone.opens_from_the_home_screen()
    phone.sees("Opening the hand")


@pytest.mark.settled
def test_with_pages_gone_and_no_network_the_log_is_said_to_be_safe(server: ClinicServer, phone: Phone) -> None:
    """And the plan comes back when there is a network again."""
    phone.loses_its_cached_pages("-pack-")
    server.is_killed()
    phone.opens_from_the_home_screen()
    phone.sees("Your log is still on this phone")
    server.starts()
    phone.presses("Get my plan again")
    phone.sees("Opening the hand")


@pytest.mark.settled
def test_a_changed_plan_is_announced_and_taken_by_consent(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """It is stored whole in the background; until the client agrees, the old one stays."""
    old = phone.meta()["current_pack"]
    clinic.issues_another_version(2, {"words": ["Two minutes instead of one"], "unit_changed": False, "unit_steps": []})
    phone.opens("today")
    phone.sees("Two minutes instead of one")
    assert phone.meta()["current_pack"] == old
    waiting = phone.meta()["pending_pack"]
    assert waiting["version"] == 2
    assert phone.tries_to_take(waiting) == "current"
    phone.opens("today")
    assert phone.meta()["current_pack"] == waiting
    assert [one["kind"] for one in phone.records()] == ["pack_taken", "pack_taken"]
    phone.log_is_home()
    until(lambda: clinic.devices()[0].pack_id == waiting["pack_id"])


@pytest.mark.settled
def test_a_changed_plan_never_comes_into_a_session(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """While a session is under way it is neither announced nor taken."""
    old = phone.meta()["current_pack"]
    phone.starts_a_session()
    clinic.issues_another_version(2, {"words": ["Rest for 12 seconds"], "unit_changed": True, "unit_steps": ["Set it"]})
    phone.opens("log")
    until(lambda: phone.meta()["pending_pack"], within_s=60)
    waiting = phone.meta()["pending_pack"]
    assert phone.tries_to_take(waiting) == "draft"
    assert phone.meta()["current_pack"] == old
    phone.lets_the_session_go()
    assert phone.tries_to_take(waiting) == "current"


@pytest.mark.settled
def test_a_pack_that_is_not_whole_cannot_be_taken(server: ClinicServer, phone: Phone) -> None:
    """Whoever asks for it."""
    old = phone.meta()["current_pack"]
    assert phone.tries_to_take({"pack_id": "0" * 32, "version": 9}) == "missing"
    assert phone.meta()["current_pack"] == old


@pytest.mark.settled
def test_a_new_release_takes_over_between_sessions_only(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """The new worker waits, refuses while a session is under way, and comes with the new release's pages."""
    phone.starts_a_session()
    server.stops()
    before = phone.meta()["current_pack"]["pack_id"]
    clinic.is_upgraded("9.9.9-newer")
    server.starts()
    until(lambda: clinic.newest_pack_id() != before, within_s=90)
    phone.opens("log")
    until(phone.looks_for_a_new_worker)
    assert phone.asks_the_waiting_worker_to_take_over() == "refused"
    assert phone.meta()["current_pack"]["pack_id"] == before
    phone.lets_the_session_go()
    phone.opens("log")
    until(lambda: phone.meta()["current_pack"]["pack_id"] == clinic.newest_pack_id(), within_s=60)
    until(lambda: not phone.looks_for_a_new_worker())
    server.is_killed()
    phone.opens("today")
    phone.sees("Opening the hand")


@pytest.mark.settled
def test_a_full_phone_says_so_and_loses_nothing(server: ClinicServer, phone: Phone) -> None:
    """What cannot be written is not called saved; what was written before stays."""
    phone.log_is_home()
    phone.closes_the_browser()
    phone.opens_the_browser()
    phone.has_no_room_left(server.public_url)
    phone.opens_a_page_that_carries_nothing()
    assert phone.fails_to_write() == ["full", "full"]
    phone.has_room_again(server.public_url)
    assert [one["kind"] for one in phone.records()] == ["pack_taken"]


@pytest.mark.settled
def test_a_lost_connection_to_the_store_is_opened_again(server: ClinicServer, phone: Phone) -> None:
    """The browser may close it at any time: the next write goes through, once."""
    phone.writes_with_the_connection_closed()
    assert [one["kind"] for one in phone.records()] == ["pack_taken", "not_today"]


def test_the_token_is_out_of_the_address_bar_at_once(server: ClinicServer, phone: Phone) -> None:
    """And no request ever carried it but the one activation."""
    phone.scans_the_sheet(server.public_url, TOKEN)
    phone.sees("Your plan for home")
    assert phone.page.url == f"{server.public_url}/join"


def test_a_link_that_lets_nobody_in_says_why(server: ClinicServer, clinic: ClinicSide, phone: Phone) -> None:
    """A withdrawn link, on the phone's own page, with what to do."""
    clinic.withdraws_the_link()
    phone.scans_the_sheet(server.public_url, TOKEN)
    phone.presses("Start")
    phone.sees("This code is no longer in use.")
    phone.sees("Ask your therapist for a new sheet.")
