"""A phone that shows its log, and the other side of the counter: a reader of codes, and the clinic's door for them."""

from __future__ import annotations

import io
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Page, expect

from tests.bench.mixed_log import mixed_log
from tests.browser.phone import Phone
from tests.browser.phone_store import runs
from tests.qr_reader import read_codes
from webapp.returned_code import decode_frame
from webapp.returns import Taken, take_in_returned, weigh
from webapp.settings import Settings
from webapp.storage.database import Store

WRITE_ALL = """
  const log = await part('log_store');
  const db = await log.openStore();
  for (const { kind, fields } of given) await log.writeRecord(db, kind, fields);
"""
GIVEN_BY_THE_PHONE = ("format", "device", "seq", "kind")
HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
DAY_MIN = 24 * 60


def writes_sessions(page: Page, sessions: int, seed: int = 3, *, ends_ms: int | None = None) -> None:
    """Has the phone write so many sessions, and all that comes with them, through its own log.

    They are of a year that is long over, or end on the day of a moment.
    """
    log = mixed_log(sessions, seed)
    days = 0 if ends_ms is None else ends_ms // DAY_MS - 1 - max(one["at_min"] for one in log) // DAY_MIN
    records = [{"kind": one["kind"], "fields": {k: v for k, v in one.items() if k not in GIVEN_BY_THE_PHONE}
                | {"at_min": one["at_min"] + days * DAY_MIN}} for one in log]  # fmt: skip
    runs(page, WRITE_ALL, records)


def contents(phone: Phone, *, unsent: bool = False) -> list[bytes]:
    """Reads the records on the phone, byte for byte."""
    kept = [one for one in phone.records() if not (unsent and one["received_ms"])]
    return [one["bytes"].encode("latin1") for one in kept]


def payload_on(page: Page) -> str:
    """Reads the code that the screen shows now with an independent reader."""
    page.locator("[data-code]").scroll_into_view_if_needed()
    picture = Image.open(io.BytesIO(page.screenshot(animations="disabled")))
    found = read_codes(picture)
    assert len(found) == 1, f"{len(found)} codes on the screen"
    return found[0]


def count_on(page: Page) -> int:
    """Reads how many codes the log takes."""
    words = page.locator("[data-count]").inner_text()
    return int(words.rsplit(" ", 1)[1]) if words.startswith("Code ") else 1


def opens_my_log(phone: Phone) -> None:
    """Opens the page and waits until it shows something."""
    phone.opens("send")
    expect(phone.page.locator("[data-code], [data-nothing]").filter(visible=True).first).to_be_visible()
    expect(phone.page.locator("[data-awake]")).to_be_attached()


def payloads_shown(page: Page) -> list[str]:
    """Goes through the codes by hand, each once; gives them in the order of their numbers."""
    found = {}
    for _ in range(count := count_on(page)):
        if count > 1:
            page.get_by_role("button", name="Next", exact=True).click()
        found[page.locator("[data-count]").inner_text()] = payload_on(page)
    assert len(set(found.values())) == count
    return [found[words] for words in sorted(found)]


def opened(payloads: Iterable[str], device: str, device_key: bytes) -> list[bytes]:
    """Opens payloads with the device's key; gives the records in order of their number in the log."""
    return [one for payload in payloads for one in decode_frame(payload, {device: device_key}.get).contents]


def therapist_reads(folder: Path, payloads: list[str], now_ms: int) -> Taken:
    """Takes codes in at the clinic's door; gives what was taken, with the digits to read out."""
    store = Store(Settings(data_dir=folder).database_path)
    db = store.connect()
    try:
        with store.write(db):
            (taken,) = take_in_returned(db, weigh(db, payloads), "code", now_ms)
    finally:
        db.close()
        store.close()
    return taken


def types_the_digits(phone: Phone, digits: str) -> None:
    phone.page.get_by_label("The 6 digits").fill(digits)
    phone.presses("Enter")


def received(phone: Phone) -> list[int]:
    """Lists the numbers of the records that the phone calls received."""
    found: list[Any] = [one["seq"] for one in phone.records() if one["received_ms"]]
    return found
