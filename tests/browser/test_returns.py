"""Read a log: a real camera stream in a real browser, against the real server; with and without network."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Playwright, expect

from tests.browser.camera import DARK, FAIR, GOOD, POOR, Picture, Sight, loop_of, symbol, write_stream
from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide, now_ms
from tests.browser.desk import LAPTOP, add_lead
from tests.browser.phone import LONG_MS, Phone
from tests.browser.returning import OfflinePhone, ReadingDesk
from tests.browser.showing import count_on, opens_my_log, received, types_the_digits, writes_sessions
from tests.waiting import until
from webapp.settings import Settings
from webapp.storage.database import Store

pytestmark = pytest.mark.browser
SMALL = {"width": 360, "height": 740}
NewDesk = Callable[..., ReadingDesk]


@pytest.fixture
def clinic_folder(clinic_folder: Path) -> Path:
    """Gives a copy of the clinic with a lead who can sign in."""
    add_lead(clinic_folder)
    return clinic_folder


@pytest.fixture
def new_desk(browser_tool: Playwright, server: ClinicServer, tmp_path: Path) -> Iterator[NewDesk]:
    """Makes desks whose camera sees a loop of codes."""
    made: list[ReadingDesk] = []

    def make(codes: list[Any] | None = None, sight: Sight = GOOD, **options: Any) -> ReadingDesk:
        stream = write_stream(tmp_path / "camera.y4m", loop_of(codes, sight)) if codes else None
        made.append(ReadingDesk(browser_tool, server, stream, **options))
        return made[-1]

    yield make
    for desk in made:
        desk.closes()


def photographed(phone: Phone) -> Picture:
    """Takes what a phone's screen shows where the code is, pixel by pixel."""
    shot = Image.open(io.BytesIO(phone.page.locator(".code").screenshot(animations="disabled"))).convert("L")
    side = min(shot.size)
    left, top = (shot.width - side) // 2, (shot.height - side) // 2
    return np.asarray(shot.crop((left, top, left + side, top + side)), np.float32)


@pytest.mark.settled
def test_a_phone_without_a_network_brings_two_weeks_home_by_camera(
    server: ClinicServer, clinic: ClinicSide, phone: Phone, new_desk: NewDesk, tmp_path: Path
) -> None:
    """Its screen is filmed, read and taken in; the digits are typed on it; by file and sync nothing changes after."""
    phone.log_is_home()
    server.stops()
    writes_sessions(phone.page, 28, ends_ms=now_ms())
    opens_my_log(phone)
    shots = []
    for _ in range(count := count_on(phone.page)):
        if count > 1:
            phone.page.get_by_role("button", name="Next", exact=True).click()
        shots.append(photographed(phone))
    with phone.page.expect_download() as waiting:
        phone.presses("Save the file")
    waiting.value.save_as(tmp_path / "SL-07.wattlebird.txt")
    server.starts()
    phone.context.set_offline(True)
    before = len(clinic.records())
    desk = new_desk(shots, replace(FAIR, size=(1920, 1080), share=0.7))
    desk.reads_a_log()
    desk.starts_the_camera()
    desk.waits_for_count("Sol SL-07 · 28 sessions")
    assert len(clinic.records()) == before
    expect(desk.page.locator("[data-camera=off]")).to_be_visible(timeout=LONG_MS)
    digits = desk.takes_it_in()
    types_the_digits(phone, digits)
    phone.sees("Your therapist has all of it.")
    log = phone.records()
    assert received(phone) == [one["seq"] for one in log]
    there = [one.content for one in clinic.records()]
    assert sorted(there) == sorted(one["bytes"].encode("latin1") for one in log)
    desk.chooses(tmp_path / "SL-07.wattlebird.txt")
    expect(desk.page.get_by_text("All of it was here already.")).to_be_visible()
    assert desk.takes_it_in() == digits
    desk.page.get_by_role("link", name="To Sol’s review").click()
    expect(desk.page.get_by_role("heading", name="All 28 sessions")).to_be_visible()
    phone.context.set_offline(False)
    phone.writes_a_record("after the visit")
    until(lambda: len(clinic.records()) == len(there) + 1)
    assert [one.content for one in clinic.records()][:-1] == there


@pytest.mark.parametrize("sight", [
    GOOD, replace(FAIR, share=0.45), POOR, DARK, replace(POOR, size=(1920, 1080), share=0.45)],
    ids=["good", "fair", "poor", "dark", "poor and small in 1080 lines"])
def test_the_loop_is_read_as_lenses_see_it(
    clinic_folder: Path, new_desk: NewDesk, sight: Sight
) -> None:
    """Blurred, grainy, tilted, dark, small: the loop is read to its end by itself, and every record is right."""
    phone = OfflinePhone(clinic_folder, 40)
    payloads = phone.payloads(10)
    assert len(payloads) > 1
    desk = new_desk(payloads, sight)
    desk.reads_a_log()
    desk.starts_the_camera()
    desk.waits_for_count(f"{len(payloads)} of {len(payloads)} codes read · Sol SL-07 · {phone.sessions_n} sessions")
    expect(desk.page.locator("[data-camera=off]")).to_be_visible(timeout=LONG_MS)
    expect(desk.page.get_by_text("Every code that the phone shows was read.")).to_be_visible()
    desk.takes_it_in()
    assert phone.stored(clinic_folder) == phone.contents


def test_a_code_that_the_lens_missed_is_said(clinic_folder: Path, new_desk: NewDesk) -> None:
    """The last of a loop: the page goes on looking for it, names it, takes in the rest; the digits stop before it."""
    phone = OfflinePhone(clinic_folder, 110)
    *shown, _missed = payloads = phone.payloads(10)
    last, of = len(payloads), len(payloads)
    desk = new_desk([*shown, None])
    desk.reads_a_log()
    desk.starts_the_camera()
    desk.waits_for_count(f"{of - 1} of {of} codes read · Sol SL-07")
    desk.sees(f"Code {last} of {of} was not read")
    desk.presses("Stop the camera")
    desk.takes_it_in()
    stored = phone.stored(clinic_folder)
    assert stored == phone.contents[: len(stored)] != phone.contents
    desk.sees(f"Code {last} of {of} was not read. The digits cover the records up to number {len(stored)};")


def test_reading_goes_on_without_the_server(
    server: ClinicServer, clinic_folder: Path, new_desk: NewDesk
) -> None:
    """At a client's home the open page reads on; the codes stay in the tab until the server is back."""
    phone = OfflinePhone(clinic_folder, 40)
    payloads = phone.payloads(10)
    desk = new_desk(payloads)
    desk.reads_a_log()
    server.stops()
    desk.starts_the_camera()
    desk.waits_for_count(f"{len(payloads)} of {len(payloads)} codes read")
    desk.sees("The clinic’s server does not answer.")
    desk.sees(f"Read, not yet taken in: {len(payloads)} codes.")
    assert sorted(desk.kept_in_the_tab()) == sorted(payloads)
    server.starts()
    desk.waits_for_count("Sol SL-07")
    desk.takes_it_in()
    assert phone.stored(clinic_folder) == phone.contents
    assert desk.kept_in_the_tab() == []


def test_a_sign_in_that_ran_out_loses_nothing(
    clinic_folder: Path, new_desk: NewDesk, tmp_path: Path
) -> None:
    """The page says so and waits; signed in again in another tab, it goes on by itself."""
    phone = OfflinePhone(clinic_folder, 10)
    desk = new_desk(has_camera=False)
    desk.reads_a_log()
    _end_all_sign_ins(clinic_folder)
    desk.chooses(phone.file(tmp_path / "SL-07.wattlebird.txt"))
    desk.sees("Your sign-in ran out.")
    assert desk.kept_in_the_tab()
    with desk.context.expect_page() as opened:
        desk.page.get_by_role("link", name="Sign in").click()
    desk.signs_in(opened.value)
    desk.waits_for_count("Sol SL-07 · 10 sessions")
    desk.takes_it_in()
    assert phone.stored(clinic_folder) == phone.contents


def _end_all_sign_ins(folder: Path) -> None:
    store = Store(Settings(data_dir=folder).database_path)
    db = store.connect()
    with store.write(db):
        db.execute("UPDATE sessions SET ends_ms = 1")
    db.close()
    store.close()


def test_a_reload_keeps_what_was_read(clinic_folder: Path, new_desk: NewDesk, tmp_path: Path) -> None:
    """The tab still has it, until it is taken in or forgotten."""
    phone = OfflinePhone(clinic_folder, 10)
    desk = new_desk(has_camera=False)
    desk.reads_a_log()
    desk.chooses(phone.file(tmp_path / "SL-07.wattlebird.txt"))
    desk.waits_for_count("Sol SL-07")
    desk.page.on("dialog", lambda asked: asked.accept())
    desk.page.reload()
    desk.waits_for_count("Sol SL-07 · 10 sessions")
    desk.presses("Forget what was read")
    desk.waits_for_count("Nothing yet.")
    assert desk.kept_in_the_tab() == []
    assert phone.stored(clinic_folder) == []


@pytest.mark.parametrize(("has_camera", "words"), [
    (False, "This computer has no camera"), (True, "The browser was not allowed to use the camera.")])
def test_without_a_camera_it_says_why_and_reads_files(
    clinic_folder: Path, new_desk: NewDesk, tmp_path: Path, has_camera: bool, words: str
) -> None:
    """No camera, or not allowed: plain words, and pictures of the codes do as well."""
    phone = OfflinePhone(clinic_folder, 40)
    pictures = []
    for n, payload in enumerate(phone.payloads(10)):
        pictures.append(tmp_path / f"{n}.png")
        Image.fromarray(np.kron(symbol(payload), np.ones((6, 6))).astype(np.uint8)).save(pictures[-1])
    desk = new_desk(has_camera=has_camera)
    desk.reads_a_log()
    desk.starts_the_camera()
    desk.sees(words)
    (tmp_path / "list.txt").write_text("milk\nbread\n")
    desk.chooses(tmp_path / "list.txt")
    desk.sees("“list.txt” is no log of this clinic’s phones")
    desk.chooses(*pictures)
    desk.waits_for_count(f"{len(pictures)} of {len(pictures)} codes read · Sol SL-07 · 40 sessions")
    desk.takes_it_in()
    assert phone.stored(clinic_folder) == phone.contents


def test_a_video_of_the_codes_is_read(clinic_folder: Path, new_desk: NewDesk, tmp_path: Path) -> None:
    """A film of the loop, as a phone records it, gives every code."""
    phone = OfflinePhone(clinic_folder, 40)
    payloads = phone.payloads(10)
    desk = new_desk(payloads)
    desk.reads_a_log()
    desk.starts_the_camera()
    desk.waits_for_count("Sol SL-07")
    desk.presses("Stop the camera") if desk.page.locator("[data-camera=on]").is_visible() else None
    film = desk.films(tmp_path / "codes.webm", 0.4 * len(payloads) * 4 + 1)
    desk.presses("Forget what was read")
    desk.chooses(film)
    desk.waits_for_count(f"{len(payloads)} of {len(payloads)} codes read · Sol SL-07")
    desk.takes_it_in()
    assert phone.stored(clinic_folder) == phone.contents


def test_the_reader_comes_from_this_server_and_runs_here_only(
    server: ClinicServer, clinic_folder: Path, new_desk: NewDesk
) -> None:
    """Nothing is asked of another address, nothing is refused by the policy; elsewhere WebAssembly does not compile."""
    desk = new_desk(OfflinePhone(clinic_folder, 5).payloads())
    desk.reads_a_log()
    desk.starts_the_camera()
    desk.waits_for_count("Sol SL-07")
    assert [url for url in desk.asked if url.endswith("/vendor/zxing_reader.wasm")]
    assert not [url for url in desk.asked if not url.startswith((server.public_url, "data:", "blob:"))]
    assert desk.complaints == []
    compiles = """() => WebAssembly.compile(Uint8Array.of(0, 97, 115, 109, 1, 0, 0, 0)).then(() => true, () => false)"""
    assert desk.page.evaluate(compiles) is True
    desk.page.on("dialog", lambda asked: asked.accept())
    desk.opens("practice")
    assert desk.page.evaluate(compiles) is False


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [LAPTOP, SMALL], ids=["laptop", "small"])
def test_axe_finds_nothing_and_nothing_is_cut_off(
    clinic_folder: Path, new_desk: NewDesk, tmp_path: Path, size: Any, scheme: str
) -> None:
    """Empty, read, taken in, and the paper diary: WCAG 2.2 A and AA, at twice the text size too."""
    phone = OfflinePhone(clinic_folder, 10)
    desk = new_desk(has_camera=False, viewport=size, color_scheme=scheme)

    def is_right() -> None:
        assert desk.axe() == []
        desk.makes_text_twice_as_large()
        assert not desk.is_wider_than_the_screen()
        desk.page.evaluate("document.documentElement.style.fontSize = ''")

    desk.reads_a_log()
    is_right()
    file = phone.file(tmp_path / "SL-07.wattlebird.txt")
    file.write_text(file.read_text() + "WB:CUT\n")
    desk.chooses(file)
    desk.waits_for_count("Sol SL-07")
    is_right()
    desk.takes_it_in()
    is_right()
    desk.opens("clients/1/paper")
    desk.page.get_by_label("Line 1: Minutes", exact=True).fill("x")
    desk.presses("Keep these lines")
    expect(desk.page.locator("[data-problems]")).to_be_visible()
    is_right()
