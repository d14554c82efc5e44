"""With no network the log goes home as codes on the screen, or as a file; typed digits say that it arrived."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide, now_ms
from tests.browser.phone import Phone
from tests.browser.practising import Practising
from tests.browser.showing import (
    DAY_MS,
    HOUR_MS,
    contents,
    count_on,
    opened,
    opens_my_log,
    payload_on,
    payloads_shown,
    received,
    therapist_reads,
    types_the_digits,
    writes_sessions,
)
from tests.client_pages.invented_plan import invented_plan
from tests.client_pages.pack_server import served
from tests.waiting import until
from webapp.client.packing import render_pack
from webapp.formats.return_code import CAPACITIES
from webapp.issuing import compile_pack

pytestmark = pytest.mark.browser
TWO_WEEKS = 28
# the sheet with which a phone hands a file to another program is no page's: this stands for it
SHARE_SHEET = """
  navigator.canShare = ({ files }) => files.length === 1;
  navigator.share = async ({ files: [file] }) => {
    if (window.refuses) throw new DOMException('no', 'AbortError');
    window.shared = [file.name, await file.text()];
  };
"""
# every write ends as it does on a phone without room: its transaction is aborted, and says why
NO_ROOM = """() => {
  const full = () => sessionStorage.getItem('no-room') !== null;
  for (const name of ['put', 'add', 'delete']) {
    const really = IDBObjectStore.prototype[name];
    IDBObjectStore.prototype[name] = function (...given) {
      const { transaction } = this;
      if (full()) queueMicrotask(() => { try { transaction.abort(); } catch { /* it is aborted already */ } });
      return really.apply(this, given);
    };
  }
  const error = Object.getOwnPropertyDescriptor(IDBTransaction.prototype, 'error').get;
  Object.defineProperty(IDBTransaction.prototype, 'error', {
    get() { return full() ? new DOMException('no room', 'QuotaExceededError') : error.call(this); } });
}"""


@pytest.fixture
def offline_phone(server: ClinicServer, phone: Phone) -> Phone:
    """Gives a phone that got its plan, and has had no network since; two weeks of practice are on it."""
    server.stops()
    writes_sessions(phone.page, TWO_WEEKS)
    return phone


@pytest.fixture(scope="module")
def address(clips: Path) -> Iterator[str]:
    """Serves the invented plan's pack, and never an answer to a sync."""
    with served(render_pack(compile_pack(invented_plan(), clips, lambda *_: None))) as root:
        yield root


@pytest.fixture
def client(browser_tool: Playwright, address: str) -> Iterator[Callable[..., Practising]]:
    """Makes clients with a phone of a given look; their browsers end with the test."""
    made: list[Practising] = []

    def make(**look: object) -> Practising:
        made.append(Practising(browser_tool, address, **look))
        return made[-1]

    yield make
    for one in made:
        one.ends()


@pytest.mark.settled
def test_two_weeks_come_home_on_light_byte_for_byte(clinic: ClinicSide, offline_phone: Phone) -> None:
    """What is on the screen, read by an independent reader and opened with the device's key, is the phone's own log."""
    opens_my_log(offline_phone)
    (device,) = clinic.devices()
    payloads = payloads_shown(offline_phone.page)
    assert opened(payloads, device.device, device.device_key) == contents(offline_phone, unsent=True)
    assert len(contents(offline_phone, unsent=True)) > TWO_WEEKS
    assert max(map(len, payloads)) <= CAPACITIES[14]


@pytest.mark.settled
def test_smaller_codes_are_more(clinic: ClinicSide, offline_phone: Phone) -> None:
    """None is larger than version 10, and together they hold the same."""
    opens_my_log(offline_phone)
    before = count_on(offline_phone.page)
    offline_phone.presses("Simpler codes, more of them")
    until(lambda: count_on(offline_phone.page) > before)
    payloads = payloads_shown(offline_phone.page)
    (device,) = clinic.devices()
    assert max(map(len, payloads)) <= CAPACITIES[9]
    assert opened(payloads, device.device, device.device_key) == contents(offline_phone, unsent=True)


@pytest.mark.settled
def test_all_of_it_holds_what_was_received_too(clinic: ClinicSide, offline_phone: Phone) -> None:
    """For a clinic that lost something; the last two weeks lie between."""
    opens_my_log(offline_phone)
    offline_phone.page.get_by_label("All of it").check()
    (device,) = clinic.devices()
    everything = contents(offline_phone)
    until(lambda: opened(payloads_shown(offline_phone.page), device.device, device.device_key) == everything)


@pytest.mark.settled
def test_typed_digits_mark_what_arrived_and_the_network_adds_nothing(
    server: ClinicServer, clinic: ClinicSide, offline_phone: Phone
) -> None:
    """Read, typed, shown as received; when the same log comes by sync it is already there."""
    opens_my_log(offline_phone)
    taken = therapist_reads(clinic.folder, payloads_shown(offline_phone.page), now_ms())
    types_the_digits(offline_phone, f"{taken.digits[:3]} {taken.digits[3:]}")
    offline_phone.sees("Received by your therapist")
    offline_phone.sees("Your therapist has all of it.")
    everything = [one["seq"] for one in offline_phone.records()]
    assert received(offline_phone) == everything
    offline_phone.opens("log")
    offline_phone.sees("Received by your therapist")
    there = [one.content for one in clinic.records()]
    server.starts()
    offline_phone.writes_a_record("after the visit")
    until(lambda: len(clinic.records()) > len(there))
    offline_phone.log_is_home()
    assert [one.content for one in clinic.records()][:-1] == there


@pytest.mark.settled
def test_a_code_that_was_missed_is_not_called_received(clinic: ClinicSide, offline_phone: Phone) -> None:
    """The digits reach to the gap and no further; the next showing holds the rest."""
    writes_sessions(offline_phone.page, TWO_WEEKS, seed=4)
    opens_my_log(offline_phone)
    offline_phone.presses("Simpler codes, more of them")
    until(lambda: count_on(offline_phone.page) > 2)
    payloads = payloads_shown(offline_phone.page)
    (device,) = clinic.devices()
    taken = therapist_reads(clinic.folder, [payloads[0], *payloads[2:]], now_ms())
    assert taken.receipt.through < len(contents(offline_phone))
    types_the_digits(offline_phone, taken.digits)
    offline_phone.sees("Received by your therapist, but for the last part")
    assert received(offline_phone) == list(range(1, taken.receipt.through + 1))
    rest = contents(offline_phone)[taken.receipt.through:]
    offline_phone.page.reload()
    expect(offline_phone.page.locator("[data-code]")).to_be_visible()
    assert opened(payloads_shown(offline_phone.page), device.device, device.device_key) == rest


@pytest.mark.settled
def test_three_wrong_entries_cost_a_minute(clinic: ClinicSide, offline_phone: Phone) -> None:
    """Nothing is marked; a page loaded anew does not shorten it; afterwards the right ones are taken."""
    opens_my_log(offline_phone)
    taken = therapist_reads(clinic.folder, payloads_shown(offline_phone.page), now_ms())
    wrong = f"{(int(taken.digits) + 1) % 1_000_000:06d}"
    before = received(offline_phone)
    types_the_digits(offline_phone, "12")
    offline_phone.sees("Type all 6 digits.")
    for _ in range(2):
        types_the_digits(offline_phone, wrong)
        offline_phone.sees("They do not fit. Look at them again.")
    types_the_digits(offline_phone, wrong)
    offline_phone.sees("Wait 1 minute")
    offline_phone.clock_goes_ahead(30_000)
    opens_my_log(offline_phone)
    enter = offline_phone.page.get_by_role("button", name="Enter", exact=True)
    expect(enter).to_be_disabled()
    assert received(offline_phone) == before
    offline_phone.page.clock.run_for(31_000)
    offline_phone.sees("You can try again now.")
    types_the_digits(offline_phone, taken.digits)
    offline_phone.sees("Received by your therapist")


@pytest.mark.settled
def test_the_file_holds_the_same_log(clinic: ClinicSide, offline_phone: Phone, tmp_path: Path) -> None:
    """Named by the client's code and the day, one sealed payload a line."""
    opens_my_log(offline_phone)
    with offline_phone.page.expect_download() as waiting:
        offline_phone.presses("Save the file")
    offline_phone.sees("Now send it to your therapist.")
    waiting.value.save_as(tmp_path / "log")
    assert waiting.value.suggested_filename.startswith("SL-07-20")
    assert waiting.value.suggested_filename.endswith(".wattlebird.txt")
    lines = (tmp_path / "log").read_text(encoding="ascii").splitlines()
    (device,) = clinic.devices()
    assert opened(lines, device.device, device.device_key) == contents(offline_phone, unsent=True)


@pytest.mark.settled
def test_a_file_is_handed_to_another_program_where_the_phone_can(
    clinic: ClinicSide, offline_phone: Phone, tmp_path: Path
) -> None:
    """The platform's own sheet, stood in for: it gets the sealed file; thought better of or refused, that is said."""
    offline_phone.page.add_init_script(SHARE_SHEET)
    opens_my_log(offline_phone)
    offline_phone.presses("Send the file")
    offline_phone.sees("The file is on its way.")
    name, text = offline_phone.page.evaluate("window.shared")
    assert name.startswith("SL-07-20")
    assert name.endswith(".wattlebird.txt")
    (device,) = clinic.devices()
    assert opened(text.splitlines(), device.device, device.device_key) == contents(offline_phone, unsent=True)
    offline_phone.page.evaluate("window.refuses = true")
    offline_phone.presses("Send the file")
    offline_phone.sees("The file was not sent.")
    with offline_phone.page.expect_download():
        offline_phone.presses("Save the file")


@pytest.mark.parametrize(
    ("age_ms", "words", "is_offered"),
    [(25 * HOUR_MS, "Put your phone on the internet.", False),
     (3 * DAY_MS + HOUR_MS, "or show your log to your therapist.", True),
     (5 * DAY_MS + HOUR_MS, "Your log is on this phone only.", True)],
)  # fmt: skip
@pytest.mark.settled
def test_today_tells_of_an_unsent_log_louder_with_its_age(
    server: ClinicServer, phone: Phone, age_ms: int, words: str, is_offered: bool
) -> None:
    """Not on the first day; then a card; then the code; then, before the sixth day, an alarm."""
    phone.log_is_home()
    server.stops()
    phone.writes_a_record()
    phone.opens("today")
    phone.sees("Not yet sent")
    link = phone.page.locator("[data-age]").get_by_role("link", name="Show my log")
    expect(phone.page.locator("[data-age]")).to_be_hidden()
    phone.clock_goes_ahead(age_ms)
    phone.opens("today")
    phone.sees(words)
    expect(link).to_have_count(int(is_offered))
    if is_offered:
        link.click()
        expect(phone.page.locator("[data-code]")).to_be_visible()


@pytest.mark.settled
def test_a_received_record_goes_after_30_days_and_an_unsent_one_never(
    server: ClinicServer, clinic: ClinicSide, phone: Phone
) -> None:
    """What it said is gone from the phone; receipts still fit, by sync and by digits."""
    phone.writes_a_record("long ago")
    phone.log_is_home()
    server.stops()
    phone.writes_a_record("not sent")
    phone.clock_goes_ahead(29 * DAY_MS)
    phone.opens("today")
    phone.sees("Your log is on this phone only.")
    assert b"long ago" in contents(phone)[1]
    phone.clock_goes_ahead(2 * DAY_MS)
    phone.opens("today")
    until(lambda: contents(phone)[:2] == [b"", b""])
    assert b"not sent" in contents(phone)[2]
    opens_my_log(phone)
    taken = therapist_reads(clinic.folder, payloads_shown(phone.page), now_ms())
    assert taken.receipt.through == 3
    types_the_digits(phone, taken.digits)
    phone.sees("Received by your therapist")
    server.starts()
    phone.writes_a_record("after")
    until(lambda: received(phone) == [1, 2, 3, 4])
    assert [b"long ago" in one.content for one in clinic.records()].count(True) == 1


def test_codes_go_round_until_they_are_held(client: Callable[..., Practising]) -> None:
    """One after the other; held, one stays; next goes on by one and stays."""
    maren = client()
    writes_sessions(maren.page, TWO_WEEKS)
    maren.opens("send")
    maren.presses("Simpler codes, more of them")
    count = maren.page.locator("[data-count]")
    expect(count).to_have_text("Code 1 of 2")
    maren.page.clock.run_for(450)
    expect(count).to_have_text("Code 2 of 2")
    maren.page.clock.run_for(450)
    expect(count).to_have_text("Code 1 of 2")
    maren.presses("Hold still")
    maren.page.clock.run_for(5_000)
    expect(count).to_have_text("Code 1 of 2")
    maren.presses("Next")
    maren.page.clock.run_for(5_000)
    expect(count).to_have_text("Code 2 of 2")
    maren.presses("Hold still")
    maren.page.clock.run_for(450)
    expect(count).to_have_text("Code 1 of 2")


@pytest.mark.parametrize("look", [{"color_scheme": "light"}, {"color_scheme": "dark"}, {"forced_colors": "active"}])
def test_a_code_is_read_in_every_look_and_the_page_used_by_all(
    client: Callable[..., Practising], look: dict[str, str]
) -> None:
    """Black on white in the dark too; axe finds nothing; targets are large; twice the text is not cut off."""
    maren = client(**look)
    maren.has_practised(exercise=1, minutes_ago=90)
    maren.opens("send")
    expect(maren.page.locator("[data-code]")).to_be_visible()
    assert payload_on(maren.page).startswith("WB:")
    if "forced_colors" not in look:  # colours are the system's then
        assert maren.axe() == []
    assert (maren.targets_below(56), maren.texts_below(18)) == ([], [])
    maren.doubles_the_text()
    assert maren.cut_off() == []
    maren.page.set_viewport_size({"width": 320, "height": 740})
    assert maren.cut_off() == []
    assert payload_on(maren.page).startswith("WB:")


def test_a_full_phone_lets_the_session_go_on_and_shows_what_it_cannot_save(client: Callable[..., Practising]) -> None:
    """Every write is refused: cues go on, the record is held, its code is offered, and later the same is saved."""
    maren = client()
    maren.page.add_init_script(f"({NO_ROOM})()")
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.page.evaluate("sessionStorage.setItem('no-room', '1')")
    maren.remembers_the_words()
    maren.taps_at_the_rise()
    maren.practises(60)
    assert len(set(maren.words_shown())) > 2
    maren.sees("This phone is full.")
    maren.presses_stop_and_turns_the_unit_off("I am tired, or it is enough")
    maren.takes_the_pads_off()
    maren.finds_nothing_new(4)
    maren.answers(3)
    maren.answers(5)
    maren.presses("No, I did it alone")
    maren.writes("It went well.")
    maren.presses("I did")
    maren.sees("It is not saved yet.")
    maren.presses("Show it as a code")
    maren.is_on("send")
    maren.sees("This is not saved on this phone")
    (content,) = opened([payload_on(maren.page)], "0123456789abcdef", bytes(32))
    assert b"It went well." in content
    maren.presses("Try to save it")
    maren.sees("It could not be saved. Keep this page open.")
    maren.opens("today")
    maren.is_on("send")
    maren.page.evaluate("sessionStorage.removeItem('no-room')")
    maren.presses("Try to save it")
    maren.page.locator("[data-held]").wait_for(state="hidden")
    until(lambda: maren.log() != [])
    (record,) = maren.log()
    assert (record["note"], record["effort_n"], record["seq"]) == ("It went well.", 5, 1)
    assert maren.draft() is None
    assert opened([payload_on(maren.page)], "0123456789abcdef", bytes(32)) == [content]


def test_a_store_that_cannot_be_opened_is_told_of_and_tried_again(client: Callable[..., Practising]) -> None:
    """Opened again once, then said; the answers stay on the page, and are saved when the store is back."""
    maren = client()
    maren.page.add_init_script("""const really = IDBDatabase.prototype.transaction; window.tries = 0;
      IDBDatabase.prototype.transaction = function (...given) {
        if (!window.closed_store) return really.apply(this, given);
        window.tries += 1;
        throw new DOMException('closed', 'InvalidStateError');
      };""")
    maren.is_handed("questions-1", stage="questions", cued_ms=61_000, ended=5)
    maren.page.evaluate("window.closed_store = true")
    maren.answers(3)
    maren.answers(5)
    maren.presses("No, I did it alone")
    maren.writes("It went well.")
    tries = maren.page.evaluate("window.tries")
    maren.presses("I did")
    maren.sees("It could not be saved on this phone. Try again.")
    maren.sees("It is not saved yet.")
    assert maren.page.evaluate("window.tries") - tries <= 8
    maren.presses("Show it as a code")
    expect(maren.page.get_by_role("button", name="Show it as a code")).to_have_count(0)
    maren.page.evaluate("window.closed_store = false")
    maren.presses("Save it")
    maren.is_on("done")
    (record,) = maren.log()
    assert (record["note"], record["effort_n"]) == ("It went well.", 5)
