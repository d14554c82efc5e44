"""The first visit of a client's phone on a slow network with a slow processor: LCP, INP and CLS beside their budgets.

150 ms, 1.6 Mbit/s down, 750 kbit/s up: what Lighthouse calls slow 4G. The page's throttle does not reach its worker,
which fetches the pack in the background: the times are of what a client sees and presses, not of the whole pack.
"""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright, sync_playwright

from tests.browser.clinic_server import ClinicServer
from tests.browser.phone import Phone
from tests.client.invented_clinic import TOKEN, make_clinic
from tests.ports import free_port

VISITS = 3
SLOWER = 4
NETWORK = {"offline": False, "latency": 150, "downloadThroughput": 1_600_000 / 8, "uploadThroughput": 750_000 / 8}
BUDGET = {"LCP ms": 1500.0, "INP ms": 200.0, "CLS": 0.0}
WATCH = """(() => { window.seen = { 'LCP ms': 0, 'INP ms': 0, 'CLS': 0 };
  const watch = (type, more, take) =>
    new PerformanceObserver((list) => list.getEntries().forEach(take)).observe({ type, buffered: true, ...more });
  watch('largest-contentful-paint', {}, (e) => { window.seen['LCP ms'] = e.startTime; });
  watch('layout-shift', {}, (e) => { if (!e.hadRecentInput) window.seen['CLS'] += e.value; });
  watch('event', { durationThreshold: 16 }, (e) => {
    if (e.interactionId) window.seen['INP ms'] = Math.max(window.seen['INP ms'], e.duration); });
})()"""
PAINTED = """new Promise((done) => {
  const look = (tries) => {
    if (window.seen['INP ms'] > 0 || tries === 0) done(window.seen);
    else requestAnimationFrame(() => look(tries - 1)); };
  look(60); })"""


def run() -> None:
    """Visits as a new phone each time; prints the median of each figure for the link's page and for today."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tool:
        clinic = Path(folder) / "clinic"
        make_clinic(clinic, "http://127.0.0.1:1", time.time_ns() // 1_000_000)
        visits = [_visit(tool, clinic, Path(folder) / str(n)) for n in range(VISITS)]
    for page in visits[0]:
        middles = {name: statistics.median(visit[page][name] for visit in visits) for name in BUDGET}
        print(f"{page}: " + ", ".join(f"{name} {middles[name]:.4g} of {most:g}" for name, most in BUDGET.items()))


def _visit(tool: Playwright, made: Path, folder: Path) -> dict[str, dict[str, float]]:
    server = ClinicServer(shutil.copytree(made, folder / "clinic"), free_port())
    server.starts()
    phone = Phone(tool, folder / "profile")
    phone.opens_the_browser()
    try:
        return _figures(phone, server.public_url)
    finally:
        phone.closes_the_browser()
        server.stops()


def _figures(phone: Phone, server: str) -> dict[str, dict[str, float]]:
    phone.page.add_init_script(WATCH)
    _slow_down(phone.page)
    phone.goes_to(f"{server}/join#{TOKEN}")
    phone.page.wait_for_load_state("networkidle")
    link = _after_a_tap(phone.page, "Start")
    phone.waits_for_the_plan()
    phone.opens_from_the_home_screen()
    return {"the link's page": link, "today": _after_a_tap(phone.page, "Not today")}


def _after_a_tap(page: Page, button: str) -> dict[str, float]:
    page.get_by_role("button", name=button, exact=True).tap()
    figures: dict[str, float] = page.evaluate(PAINTED)
    return figures


def _slow_down(page: Page) -> None:
    session: Any = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.emulateNetworkConditions", NETWORK)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
