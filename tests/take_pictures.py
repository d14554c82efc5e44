"""Takes the README's pictures of our own screens from a fresh demo: `python -m tests.take_pictures`."""

from __future__ import annotations

import io
import tempfile
import time
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, Playwright, expect, sync_playwright

from tests.browser.clinic_server import ClinicServer
from tests.browser.phone import CHROMIUM, FLAGS, Phone
from tests.browser.practising import NEW_DRAFT
from tests.ports import free_port
from tests.tree import ROOT
from tests.waiting import until
from webapp.demo.clinic import PASSWORD
from webapp.demo.making import client_link, make_demo
from webapp.settings import load_settings

FOLDER = ROOT / "docs" / "pictures"
COLOURS = 160  # flat drawings need few; a picture stays under 100 kB
MAREN = 7


def keep(name: str, picture: bytes) -> None:
    """Writes a picture with few colours and without what it does not need."""
    few = Image.open(io.BytesIO(picture)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    few.save(FOLDER / f"{name}.png", optimize=True)


def clinic_pictures(tool: Playwright, server: ClinicServer) -> None:
    """Takes the therapist's screens on a laptop."""
    browser = tool.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
    page = browser.new_page(base_url=server.public_url, viewport={"width": 1280, "height": 800})
    page.goto("/clinic/sign-in")
    page.fill("#login", "imke")
    page.fill("#password", PASSWORD)
    page.click("main button")
    for name, path in (("builder", f"/clinic/clients/{MAREN}/plan"), ("review", f"/clinic/clients/{MAREN}"),
                       ("caseload", "/clinic/?whose=all")):
        page.goto(path, wait_until="networkidle")
        if name == "builder":
            page.get_by_role("tab", name="Settings").click()
            page.wait_for_load_state("networkidle")
        keep(name, page.screenshot())
    browser.close()


def timer_picture(tool: Playwright, server: ClinicServer, profile: Path) -> None:
    """Takes the client's timer in the middle of a contraction."""
    phone = Phone(tool, profile)
    phone.opens_the_browser()
    link = client_link(load_settings(server.data_dir, public_url=server.public_url), time.time_ns() // 1_000_000)
    phone.gets_the_plan(server.public_url, link.partition("#")[2])
    page = phone.page
    page.evaluate(NEW_DRAFT, {"handed": True, "places": 4, "channels": 2,
                              "draft": {"stage": "timer", "strength": [24, 20], "version": 3}})
    phone.opens("timer-1")
    page.wait_for_load_state("networkidle")
    phone.page.locator("[data-tap]").click()
    wait_for_words(page, "Keep it open")
    keep("timer", page.screenshot())
    phone.closes_the_browser()


def wait_for_words(page: Page, words: str) -> None:
    """Waits until the timer says something, and a little into it."""
    expect(page.locator("[data-words]")).to_have_text(words, timeout=60_000)
    until(lambda: "3" in page.locator("[data-seconds]").inner_text())


def main() -> None:
    """Makes a demo, takes the pictures, leaves nothing else behind."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as tool:
        folder = Path(temporary) / "demo"
        make_demo(folder, time.time_ns() // 1_000_000, lambda _line: None)
        server = ClinicServer(folder, free_port())
        server.starts()
        try:
            clinic_pictures(tool, server)
            timer_picture(tool, server, Path(temporary) / "phone")
        finally:
            server.stops()


if __name__ == "__main__":
    main()
