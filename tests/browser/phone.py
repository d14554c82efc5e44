"""A client's phone: a real Chromium of a phone's size with a profile that outlives its end."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Error, Page, Playwright, ViewportSize, expect

from tests.browser.phone_store import PhoneStore
from tests.waiting import until

WHOLE_CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium")
# the shell is the same engine without a desktop browser's windows, which take a third of the time and are never seen
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium-headless-shell") or WHOLE_CHROMIUM
SMALL = ViewportSize(width=360, height=740)
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LONG_MS = 60_000


class Phone(PhoneStore):
    """One phone with one browser; its methods say what its owner does or sees."""

    def __init__(self, tool: Playwright, profile: Path, flags: Sequence[str] = (), **options: Any) -> None:
        self._tool, self._profile, self._flags, self._options = tool, profile, flags, options
        self._context: BrowserContext | None = None
        self._page: Page | None = None
        self.address = ""

    @property
    def context(self) -> BrowserContext:
        assert self._context, "the browser is not open"
        return self._context

    @property
    def page(self) -> Page:
        assert self._page, "no page is open"
        return self._page

    def opens_the_browser(self) -> None:
        """Starts the browser on this phone's own profile."""
        self._context = self._tool.chromium.launch_persistent_context(
            self._profile,
            executable_path=CHROMIUM,
            headless=True,
            viewport=SMALL,
            device_scale_factor=2,
            is_mobile=True,
            has_touch=True,
            args=[*FLAGS, *self._flags],
            **self._options,
        )
        self._context.set_default_timeout(LONG_MS)
        self._page = self._context.pages[0]

    def closes_the_browser(self) -> None:
        """Ends the browser as its owner would."""
        if self._context:
            with contextlib.suppress(Error):
                self._context.close()
        self._context = self._page = None

    def browser_is_killed(self) -> None:
        """Ends the browser at once, as an empty battery would."""
        pid = self._browser_pid()
        os.kill(pid, signal.SIGKILL)
        until(lambda: not self._runs(pid))
        self.closes_the_browser()

    def _browser_pid(self) -> int:
        mine = f"--user-data-dir={self._profile}".encode()
        for folder in Path("/proc").iterdir():
            with contextlib.suppress(OSError):
                words = (folder / "cmdline").read_bytes().split(b"\0") if folder.name.isdigit() else []
                if mine in words and not any(word.startswith(b"--type=") for word in words):
                    return int(folder.name)
        raise AssertionError("the browser does not run")

    @staticmethod
    def _runs(pid: int) -> bool:
        try:
            return ") Z " not in Path(f"/proc/{pid}/stat").read_text()
        except OSError:
            return False

    # --- what its owner does ---

    def goes_to(self, url: str) -> None:
        """Opens an address."""
        self.page.goto(url)

    def scans_the_sheet(self, server: str, token: str) -> None:
        """Opens the link that the QR code on the sheet holds."""
        self.goes_to("about:blank")  # the same address but for the fragment would not be loaded anew
        self.goes_to(f"{server}/join#{token}")

    def gets_the_plan(self, server: str, token: str) -> str:
        """Scans, presses Start, waits until the whole plan is here; gives the address of the phone's pages."""
        self.scans_the_sheet(server, token)
        self.presses("Start")
        self.waits_for_the_plan()
        return self.address

    def waits_for_the_plan(self) -> None:
        """Waits until a page of the plan is open."""
        self.page.wait_for_url("**/my/*/keep")
        self.address = self.page.url.rsplit("/", 1)[0] + "/"

    def opens_from_the_home_screen(self) -> None:
        """Opens the start address of the home-screen manifest."""
        self.goes_to(self.address + "today")

    def opens(self, page: str) -> None:
        """Opens one page of the plan."""
        self.goes_to(self.address + page)

    def presses(self, name: str) -> None:
        """Presses a button by its words."""
        self.page.get_by_role("button", name=name, exact=True).click()

    def types_the_ten_signs(self, typed: str) -> None:
        """Types what stands under the code."""
        self.page.get_by_label("The ten signs under the code").fill(typed)
        self.presses("Get my plan")

    # --- what can be seen ---

    def sees(self, words: str) -> None:
        """Sees words on the page, by and by."""
        expect(self.page.get_by_text(words).filter(visible=True).first).to_be_visible(timeout=LONG_MS)

    def comes_from_the_worker(self) -> bool:
        """Tells whether the page is ruled by the phone's worker."""
        return bool(self.page.evaluate("navigator.serviceWorker.controller !== null"))

    def opens_another_page(self, name: str) -> Page:
        """Opens a second window on this phone."""
        other = self.context.new_page()
        other.goto(self.address + name)
        return other

    def log_is_home(self) -> None:
        """Waits until every record on this phone is marked as received."""
        until(lambda: (log := self.records()) and all(one["received_ms"] for one in log), every_s=0.2)

    def network_returns(self) -> None:
        """Tells the page what a browser tells it when a network is back."""
        self.page.evaluate("void dispatchEvent(new Event('online'))")

    def opens_a_page_that_carries_nothing(self) -> None:
        """Opens a bare file of the plan: whatever is sent from it now is sent by the test."""
        self.goes_to(self.address + "static/parts/tick.js")

    def clock_goes_ahead(self, ms: int) -> None:
        """Sets this phone's clock ahead, for pages opened already too."""
        now = int(self.page.evaluate("Date.now()"))
        self.page.clock.install()
        self.page.clock.set_system_time((now + ms) / 1000)

    def has_no_room_left(self, server: str) -> None:
        """Has the browser refuse to store anything more."""
        session = self.context.new_cdp_session(self.page)
        session.send("Storage.overrideQuotaForOrigin", {"origin": server, "quotaSize": 1})

    def has_room_again(self, server: str) -> None:
        """Has the browser store things again."""
        session = self.context.new_cdp_session(self.page)
        session.send("Storage.overrideQuotaForOrigin", {"origin": server})

    def loses_its_store(self, server: str) -> None:
        """Loses everything that the browser had stored for the clinic's address."""
        self.goes_to("about:blank")
        session = self.context.new_cdp_session(self.page)
        session.send("Storage.clearDataForOrigin", {"origin": server, "storageTypes": "all"})
        session.detach()

    def stored_caches(self) -> list[str]:
        """Lists the caches of this phone."""
        names: list[str] = self.page.evaluate("caches.keys()")
        return sorted(names)
