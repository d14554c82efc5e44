"""How long hill, numbers and findings take to follow a change: the server's share, and from the key to the picture."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import add_lead
from tests.browser.plan_desk import PlanDesk, fill_practice
from tests.ports import free_port
from tests.prescribing.invented import UNIT, typed_draft
from tests.therapist.house import House
from webapp.storage import clients, stimulators
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Store

TIMES = 60
BUDGET_MS = 100
# from the change of a field to the frame after the one in which the hill is new
FOLLOWED = """(rest) => new Promise((done) => {
  const figures = document.querySelector('[data-figures="1"]');
  const begun = performance.now();
  const watch = new MutationObserver(() => {
    if (!figures.querySelector('svg')) return;
    watch.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - begun))); });
  watch.observe(figures, { childList: true, subtree: true });
  const field = document.getElementById('ex1.rest_s');
  field.value = rest;
  field.dispatchEvent(new Event('input', { bubbles: true })); })"""


def run() -> None:
    """Prints the median and the worst of both, in milliseconds."""
    _time_the_server()
    _time_the_page()


def _time_the_server() -> None:
    """Posts a whole two-channel draft again and again."""
    with tempfile.TemporaryDirectory() as folder:
        house = House(Path(folder))
        with house.practice.store.write(house.db):
            stimulators.add(house.db, UNIT, 1)
            clients.add(house.db, code="SL-07", first_name="Maren", working_side="right", language="en",
                        details=ClientDetails(), therapist_id=1, created_ms=1)
        browser = house.browser("otto")
        draft = {**typed_draft(), "csrf_token": browser.token()}
        browser.client.post("/clinic/clients/1/plan/figures", data=draft)  # templates are compiled at their first use
        took = []
        for n in range(TIMES):
            draft["ex1.rest_s"] = str(5 + n % 20)
            begun = time.perf_counter()
            answer = browser.client.post("/clinic/clients/1/plan/figures?exercise=1", data=draft)
            took.append((time.perf_counter() - begun) * 1000)
            assert answer.status_code == 200
        house.close()
    middle, worst = statistics.median(took), max(took)
    print(f"figures after a keystroke, server's share: median {middle:.1f} ms, worst {worst:.1f} ms of {BUDGET_MS} ms")


def _time_the_page() -> None:
    """Types into the builder in a real browser, with the real server behind it."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tool:
        add_lead(Path(folder))
        store = Store(Path(folder) / "wattlebird.db")
        fill_practice(store)
        store.close()
        server = ClinicServer(Path(folder), free_port())
        server.starts()
        desk = PlanDesk(tool, server)
        try:
            desk.signs_in()
            desk.describes_a_plan()
            took = [desk.page.evaluate(FOLLOWED, str(5 + n % 20)) for n in range(TIMES)]
        finally:
            desk.closes()
            server.stops()
    middle, worst = statistics.median(took), max(took)
    print(f"from the key to the painted hill: median {middle:.1f} ms, worst {worst:.1f} ms of {BUDGET_MS} ms")
