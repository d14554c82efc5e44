"""Behind a proxy that ends TLS, with the real console command: forms, cookies, the worker, links, sync."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Playwright, expect

from tests.browser.clinic_server import ROOT, ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.desk import add_lead
from tests.browser.phone import Phone
from tests.browser.plan_desk import PlanDesk, decoded, fill_practice
from tests.browser.tls_proxy import NAME, TlsProxy
from tests.ports import free_port
from webapp.storage.database import Store

pytestmark = [pytest.mark.browser, pytest.mark.tls]


class PublicServer(ClinicServer):
    """What a clinic runs: `wattlebird serve`, told of the one proxy in its settings file."""

    def _begins(self) -> subprocess.Popen[bytes]:
        told = ["--data", str(self.data_dir), "--port", str(self.port), "--public-url", self.public_url]
        with (self.data_dir / "server.log").open("ab") as log:
            return subprocess.Popen([sys.executable, "-m", "webapp.cli", "serve", *told], stdin=subprocess.DEVNULL,
                                    stdout=log, stderr=log, cwd=ROOT)  # fmt: skip


@pytest.fixture
def tls_proxy() -> Iterator[TlsProxy]:
    """Gives the proxy, before the server is there."""
    proxy = TlsProxy(free_port(), free_port())
    yield proxy
    proxy.ends()


@pytest.fixture
def practice(tmp_path: Path, tls_proxy: TlsProxy) -> Iterator[PublicServer]:
    """Gives the real server over a clinic that has a unit and a client."""
    add_lead(tmp_path)
    store = Store(tmp_path / "wattlebird.db")
    fill_practice(store)
    store.close()
    (tmp_path / "secret_key").write_text("invented for tests " * 3)
    (tmp_path / "settings.toml").write_text("trusted_proxies = 1\n")
    server = PublicServer(tmp_path, tls_proxy.server_port, tls_proxy.url)
    server.starts()
    yield server
    server.stops()


@pytest.fixture
def desk(browser_tool: Playwright, practice: PublicServer, tls_proxy: TlsProxy) -> Iterator[PlanDesk]:
    """Gives a desk at which the lead is signed in."""
    at = PlanDesk(browser_tool, practice, flags=tls_proxy.flags)
    at.signs_in()
    yield at
    at.closes()


@pytest.fixture
def phone(browser_tool: Playwright, tls_proxy: TlsProxy, tmp_path: Path) -> Iterator[Phone]:
    """Gives a phone with its browser open."""
    one = Phone(browser_tool, tmp_path / "profile", flags=tls_proxy.flags)
    one.opens_the_browser()
    yield one
    one.closes_the_browser()


def only_cookie(context: BrowserContext) -> dict[str, Any]:
    [cookie] = context.cookies()
    return dict(cookie)


def saves_the_name(desk: PlanDesk, typed: str) -> None:
    desk.page.get_by_label("Name of the clinic", exact=True).fill(typed)
    desk.presses("Save")
    desk.sees("Saved.")
    expect(desk.page.get_by_label("Name of the clinic", exact=True)).to_have_value(typed)


def test_forms_are_taken_and_the_sign_in_stays_with_the_address(desk: PlanDesk) -> None:
    """The form check gets the referrer that it asks for; the sign-in's cookie is bound to this host and to TLS."""
    assert desk.page.url == f"{desk.server.public_url}/clinic/practice"
    saves_the_name(desk, "Saltmarsh Lane Rehab, upstairs")
    cookie = only_cookie(desk.context)
    assert {name: cookie[name] for name in ("name", "domain", "path", "secure", "httpOnly", "sameSite")} == {
        "name": "__Host-wattlebird", "domain": NAME, "path": "/", "secure": True, "httpOnly": True,
        "sameSite": "Strict"}  # fmt: skip
    kept = str(cookie["value"])
    desk.presses("Sign out")
    desk.page.wait_for_url("**/clinic/sign-in*")
    desk.context.add_cookies([{"name": "__Host-wattlebird", "value": kept, "url": desk.server.public_url,
                               "secure": True}])  # fmt: skip
    desk.opens("practice")
    assert "/clinic/sign-in" in desk.page.url
    assert desk.complaints == []


def test_signed_out_the_form_is_kept(desk: PlanDesk) -> None:
    """A form sent after the sign-in ended waits on its page, and goes through after a sign-in in another tab."""
    desk.page.get_by_label("Name of the clinic", exact=True).fill("Saltmarsh Lane Rehab, next door")
    desk.context.clear_cookies()
    desk.presses("Save")
    desk.sees("You are signed out. Nothing is lost")
    with desk.context.expect_page() as opened:
        desk.page.get_by_role("link", name="Sign in in a new tab").click()
    desk.signs_in(opened.value)
    saves_the_name(desk, "Saltmarsh Lane Rehab, next door")


def test_every_answer_asks_to_stay_with_tls(desk: PlanDesk) -> None:
    """Pages, files and refusals alike; and no page names an address without it."""
    for path in ("/clinic/practice", "/join", "/sw.js", "/static/vendor/lean-qr.mjs", "/nothing"):
        answer = desk.page.goto(desk.server.public_url + path)
        assert answer
        assert "max-age=" in answer.headers["strict-transport-security"], path
        assert not re.findall(r"(?:href|src|action)=\"http://", answer.text()), path


@pytest.fixture
def joined(desk: PlanDesk, phone: Phone) -> Phone:
    """Gives the phone after a plan was issued and its sheet's code read by an independent decoder."""
    desk.describes_a_plan()
    desk.issues()
    desk.page.locator("[data-progress=done]").wait_for()
    desk.opens_the_sheet()
    address, token = decoded(desk.page.screenshot(full_page=True)).split("/join#")
    assert address == desk.server.public_url
    phone.gets_the_plan(address, token)
    return phone


def test_from_the_sheet_to_the_log_at_home(joined: Phone, practice: PublicServer, tls_proxy: TlsProxy) -> None:
    """The code opens the plan; its worker serves it while the server is gone; the log comes home when it is back."""
    assert joined.comes_from_the_worker()
    cookie = only_cookie(joined.context)
    assert (cookie["secure"], cookie["httpOnly"], cookie["domain"]) == (True, True, NAME)
    assert cookie["path"] == joined.address.removeprefix(tls_proxy.url)
    joined.log_is_home()
    practice.is_killed()
    joined.page.reload()
    joined.opens_from_the_home_screen()
    joined.sees("Opening the hand")
    joined.writes_a_record("while the clinic was away")
    practice.starts()
    joined.network_returns()
    joined.log_is_home()
    assert b"while the clinic was away" in ClinicSide(practice.data_dir).records()[-1].content


def test_without_the_proxy_the_plan_still_opens(joined: Phone, tls_proxy: TlsProxy, practice: PublicServer) -> None:
    """With nobody at the address, and the browser started anew, the worker has it all."""
    practice.stops()
    tls_proxy.ends()
    joined.browser_is_killed()
    joined.opens_the_browser()
    joined.opens_from_the_home_screen()
    joined.sees("Opening the hand")
    assert joined.comes_from_the_worker()
