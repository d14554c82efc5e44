"""Caseload and review of the invented practice in a real Chromium, against the real server."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright, ViewportSize, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import SCHEMES, looks
from tests.browser.shared_browser import shared_browser
from tests.conftest import ROOT
from tests.ports import free_port
from webapp.demo.clinic import PASSWORD
from webapp.demo.making import make_demo

AXE = ROOT / "tests" / "vendor" / "axe.min.js"
LAPTOP, SMALL = ViewportSize(width=1280, height=800), ViewportSize(width=360, height=740)
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
INES, MAREN, ANSEL = "/clinic/clients/4", "/clinic/clients/7", "/clinic/clients/10"
CASELOAD = "/clinic/?whose=all"
LETTERS = """all => all.map(e => {
    const svg = e.ownerSVGElement, scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    return parseFloat(getComputedStyle(e).fontSize) * scale; })"""


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClinicServer]:
    """Serves the demo as of today."""
    folder = tmp_path_factory.mktemp("review") / "demo"
    make_demo(folder, time.time_ns() // 1_000_000, lambda _line: None)
    server = ClinicServer(folder, free_port())
    server.starts()
    yield server
    server.stops()


@pytest.fixture
def chromium(browser_tool: Playwright) -> Iterator[Browser]:
    browser = shared_browser(browser_tool)
    before = browser.contexts
    yield browser
    for context in browser.contexts:
        if context not in before:
            context.close()


def signed_in(chromium: Browser, practice: ClinicServer, **options: Any) -> Page:
    """Opens a browser at the clinic as its lead."""
    page = chromium.new_context(base_url=practice.public_url, **options).new_page()
    page.goto("/clinic/sign-in")
    page.fill("#login", "imke")
    page.fill("#password", PASSWORD)
    page.click("main button")
    expect(page.get_by_role("heading", level=1)).to_have_text("Caseload")
    return page


def open_everything(page: Page) -> None:
    page.eval_on_selector_all("details", "all => all.forEach((one) => { one.open = true; })")


def test_from_the_caseload_to_an_answer(chromium: Browser, practice: ClinicServer, tmp_path: Path) -> None:
    """The client with bumps stands first; her review asks for an answer; answered, she is no longer on top."""
    server = ClinicServer(shutil.copytree(practice.data_dir, tmp_path / "own"), free_port())
    server.starts()
    try:
        page = signed_in(chromium, server, viewport=LAPTOP)
        page.goto(CASELOAD)
        first = page.locator("table.caseload tbody tr").first
        expect(first).to_contain_text("Ines")
        expect(first).to_contain_text("bumps")
        first.get_by_role("link").click()
        asked = page.locator(".asks li")
        expect(asked).to_have_count(1)
        expect(asked.get_by_role("button")).to_have_count(0)
        before = page.locator(".review").bounding_box()
        asked.get_by_text("Look and answer").click()
        assert page.locator(".review").bounding_box() == before
        expect(asked).to_contain_text("palm side of the wrist")
        asked.get_by_role("button").click()
        asked.get_by_label("What did you find out and advise?").evaluate("field => { field.required = false; }")
        asked.get_by_role("button").click()
        expect(page.get_by_role("alert")).to_contain_text("What did you find out and advise?: Please fill this in.")
        expect(asked).to_have_count(1)
        asked.get_by_label("What did you find out and advise?").fill("Rang her")
        asked.get_by_label("Next step").fill("Look on Friday")
        asked.get_by_label("Practice may go on").check()
        asked.get_by_role("button").press("Enter")
        expect(page.get_by_role("status")).to_contain_text("Noted as answered")
        expect(page.locator(".asks")).to_have_count(0)
        expect(page.get_by_text("“Rang her” Next: Look on Friday")).to_be_visible()
        expect(page.locator(".resting .digits")).to_have_text(re.compile(r"^\d{3} \d{3}$"))
        page.goto(CASELOAD)
        expect(page.locator("table.caseload tbody tr").first).not_to_contain_text("Ines")
    finally:
        server.stops()


def test_the_whole_caseload_fits_a_laptop_screen(chromium: Browser, practice: ClinicServer) -> None:
    """All twelve, with their reasons and therapists."""
    page = signed_in(chromium, practice, viewport=LAPTOP)
    page.goto(CASELOAD)
    rows = page.locator("table.caseload tbody tr")
    expect(rows).to_have_count(12)
    assert rows.last.evaluate("row => row.getBoundingClientRect().bottom") <= LAPTOP["height"]


def test_every_review_fits_a_laptop_screen(chromium: Browser, practice: ClinicServer) -> None:
    """Numbers, weeks, strength, pain, skin, set-up and notes of all twelve are seen without scrolling, asked or not.

    Each chart's letters are of 11 px at least as they are drawn; changing the plan stands in the row of the links.
    """
    page = signed_in(chromium, practice, viewport=LAPTOP)
    for client in range(1, 13):
        page.goto(f"/clinic/clients/{client}")
        bottom = page.locator(".review").evaluate("e => e.getBoundingClientRect().bottom")
        assert bottom <= LAPTOP["height"], client
        tops = page.locator(".actions .button").evaluate_all("all => all.map(e => e.getBoundingClientRect().top)")
        assert len(set(tops)) == 1, client
        assert min(page.locator(".review svg:is(.chart, .hours) text").evaluate_all(LETTERS), default=11) >= 11, client


def test_each_chart_has_a_name_and_its_figures_behind_it(chromium: Browser, practice: ClinicServer) -> None:
    """A chart is one picture with a label; the figures open below it, as many as there are marks.

    They and the table of all sessions come when they are opened.
    """
    page = signed_in(chromium, practice, viewport=LAPTOP)
    page.goto(MAREN)
    expect(page.locator("table.sessions")).to_have_count(0)
    every = page.get_by_role("heading", name=re.compile(r"^All \d+ sessions$"))
    every.click()
    expect(page.locator("table.sessions tbody tr")).to_have_count(int(every.inner_text().split()[1]))
    expect(page.get_by_role("img", name=re.compile("^Strength over time, Opening and closing"))).to_be_visible()
    figure = page.locator(".pictures figure").first
    figure.locator("summary").click()
    drawn = figure.locator("svg.chart .line .signs").evaluate_all("all => all.map(e => e.getAttribute('d')).join('')")
    marks = drawn.count("M")
    assert marks > 100
    new_pads = figure.locator("svg.chart .new-pads").count()
    assert new_pads > 0
    expect(figure.locator("details tbody tr")).to_have_count(marks + new_pads)


def test_axe_finds_nothing(chromium: Browser, practice: ClinicServer) -> None:
    """WCAG 2.2 A and AA by axe, everything unfolded, on both screens, in both colour schemes."""
    page = signed_in(chromium, practice, viewport=LAPTOP)
    for path in (CASELOAD, INES, ANSEL):
        page.goto(path)
        open_everything(page)
        page.evaluate(AXE.read_text(encoding="utf-8"))
        for size, scheme in product((LAPTOP, SMALL), SCHEMES):
            looks(page, size, scheme)
            found = page.evaluate("tags => axe.run({ runOnly: { type: 'tag', values: tags } })", WCAG)
            broken = [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found["violations"]]
            assert broken == [], (path, size, scheme)


def test_nothing_is_cut_off_sideways(chromium: Browser, practice: ClinicServer) -> None:
    """At 360 px and at twice the text size the page scrolls one way only; wide tables scroll in their own frame."""
    page = signed_in(chromium, practice, viewport=LAPTOP)
    for path in (CASELOAD, INES, MAREN, ANSEL):
        page.goto(path)
        open_everything(page)
        for size, text in product((LAPTOP, SMALL), ("100%", "200%")):
            page.set_viewport_size(size)
            page.evaluate("size => { document.documentElement.style.fontSize = size; }", text)
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], (path, size, text)


def test_pages_break_no_policy(chromium: Browser, practice: ClinicServer) -> None:
    """No script, style or picture on these pages is refused by the page's own policy."""
    page = signed_in(chromium, practice, viewport=LAPTOP)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    for path in (CASELOAD, INES, MAREN):
        page.goto(path, wait_until="load")
    assert not [text for text in said if "Content Security Policy" in text or "Refused" in text]
