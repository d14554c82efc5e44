"""Three hundred kills of the real browser in mid-session, and on from there."""

from __future__ import annotations

import random
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from tests.browser.clinic_server import ClinicServer
from tests.browser.killed_phone import KilledPhone
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN, make_clinic
from tests.ports import free_port


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Kills until the time is over; `kills`, `records` and `cycles` count over all parts."""
    ends, found = time.monotonic() + minutes * 60, list[str]()
    folder = tempfile.TemporaryDirectory(prefix="wattlebird-", ignore_cleanup_errors=True)
    with folder as name, sync_playwright() as tool:
        phone = Phone(tool, Path(name) / "profile")
        phone.opens_the_browser()
        _gets_the_plan(phone, Path(name) / "clinic")
        killed = KilledPhone(phone, random.Random(int(state.get("kills", 0))))
        while time.monotonic() < ends and not found:
            killed.practises_until_it_is_killed()
            state["kills"] = int(state.get("kills", 0)) + 1
            found += [f"kill {state['kills']}: {one}" for one in killed.lost()]
        phone.closes_the_browser()
        state["records"] = int(state.get("records", 0)) + len(killed.records)
        state["cycles"] = int(state.get("cycles", 0)) + killed.cycle
    print(f"  {state['kills']} kills, {state['records']} records, {state['cycles']} cycles so far (wanted: 300 kills)")
    return found


def _gets_the_plan(phone: Phone, folder: Path) -> None:
    folder.mkdir()
    make_clinic(folder, "http://127.0.0.1:1", time.time_ns() // 1_000_000)
    server = ClinicServer(folder, free_port())
    server.starts()
    try:
        phone.gets_the_plan(server.public_url, TOKEN)
    finally:
        server.is_killed()
