"""One Chromium for all tests that need no profile of their own: each gets a context, which shares nothing."""

from __future__ import annotations

from functools import cache

from playwright.sync_api import Browser, Playwright

from tests.browser.phone import CHROMIUM, FLAGS


@cache
def shared_browser(tool: Playwright, flags: tuple[str, ...] = ()) -> Browser:
    """Starts a browser with these flags, or gives the one that runs; it ends with the tool."""
    return tool.chromium.launch(executable_path=CHROMIUM, args=[*FLAGS, *flags])
