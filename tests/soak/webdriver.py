"""WebKitGTK's small browser, driven over the WebDriver protocol: the nearest thing to an iPhone that a test can have.

It is WebKit, not iOS: an iPhone's background suspension, audio session and silent switch are not in it.
The protocol is that of https://www.w3.org/TR/webdriver2/, from memory and by trying it.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import subprocess
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.ports import free_port
from tests.waiting import until

ELEMENT = "element-6066-11e4-a52e-4f735466cecf"  # the protocol's own name of a reference to an element
DRIVER = "WebKitWebDriver"
BROWSERS = ("webkit2gtk-4.1", "webkit2gtk-4.0", "webkitgtk-6.0")
PRIORITY = 13  # between the recorder's and a page's
QUIET = {
    "WEBKIT_DISABLE_DMABUF_RENDERER": "1",
    "WEBKIT_DISABLE_COMPOSITING_MODE": "1",
    "LIBGL_ALWAYS_SOFTWARE": "1",
    "NO_AT_BRIDGE": "1",
    "GTK_A11Y": "none",
}


def find_browser() -> Path | None:
    """Finds WebKitGTK's browser on this machine."""
    folders = [folder for name in BROWSERS for folder in Path("/usr/lib").glob(f"*/{name}")]
    return next((folder / "MiniBrowser" for folder in folders if (folder / "MiniBrowser").is_file()), None)


def is_here() -> bool:
    """Tells whether the machine has all that the driver needs."""
    return bool(find_browser() and shutil.which(DRIVER) and shutil.which("Xvfb"))


def _quietly(command: list[str], env: Mapping[str, str]) -> subprocess.Popen[bytes]:
    nothing = subprocess.DEVNULL
    return subprocess.Popen(command, env=dict(env), stdin=nothing, stdout=nothing, stderr=nothing)


def _end(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(10)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(10)


def _family(pid: int) -> list[int]:
    """Lists a process and all its descendants."""
    parents: dict[int, int] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            parents[int(stat.parent.name)] = int(stat.read_text().rpartition(")")[2].split()[1])
    family = [pid]
    for one in family:
        family += [child for child, parent in parents.items() if parent == one]
    return family


class WebKit:
    """One session of the browser."""

    def __init__(self, port: int, driver: int) -> None:
        self._driver = driver
        self._root = f"http://127.0.0.1:{port}"
        until(self._is_ready, 20)
        options = {"binary": str(find_browser()), "args": ["--automation"]}
        wanted = {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}}
        self._session = f"/session/{self._ask('POST', '/session', wanted)['sessionId']}"

    def _is_ready(self) -> bool:
        try:
            return bool(self._ask("GET", "/status")["ready"])
        except OSError:
            return False

    def _ask(self, method: str, path: str, body: object = None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        asked = urllib.request.Request(self._root + path, data, {"Content-Type": "application/json"}, method=method)
        try:
            with urllib.request.urlopen(asked, timeout=60) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise AssertionError(f"{path}: {error.read().decode(errors='replace')[:400]}") from error

    def opens(self, address: str) -> None:
        """Opens an address."""
        self._ask("POST", f"{self._session}/url", {"url": address})

    def clicks(self, selector: str) -> None:
        """Clicks an element as a person would: this lets sound begin, a script does not."""
        found = self._ask("POST", f"{self._session}/element", {"using": "css selector", "value": selector})
        self._ask("POST", f"{self._session}/element/{found[ELEMENT]}/click", {})

    def says(self, expression: str, *given: object) -> Any:
        """Evaluates an expression over the page, with `given` as `arguments`."""
        return self._ask(
            "POST", f"{self._session}/execute/sync", {"script": f"return ({expression})", "args": list(given)}
        )

    def covers_the_page(self) -> None:
        """Opens a tab in front: the page goes on behind it, hidden."""
        self._ask("POST", f"{self._session}/window/new", {"type": "tab"})

    def make_realtime(self) -> None:
        """Gives the browser real-time priority where the machine allows it: else a busy one, not the page, is heard."""
        for pid in _family(self._driver):
            for task in Path(f"/proc/{pid}/task").glob("*"):
                with contextlib.suppress(PermissionError, ProcessLookupError, AttributeError):
                    os.sched_setscheduler(int(task.name), os.SCHED_RR, os.sched_param(PRIORITY))

    def ends(self) -> None:
        """Ends the session."""
        with contextlib.suppress(AssertionError, OSError):
            self._ask("DELETE", self._session)


@contextlib.contextmanager
def webkit(folder: Path, env: Mapping[str, str]) -> Iterator[WebKit]:
    """Starts a screen that nobody sees, the driver and the browser, and ends them all."""
    display = f":{90 + os.getpid() % 900}"
    own = {**env, **QUIET, "DISPLAY": display, "HOME": str(folder)}
    port = free_port()
    with contextlib.ExitStack() as ending:
        ending.callback(_end, _quietly(["Xvfb", display, "-screen", "0", "800x900x24"], own))
        driver = _quietly([DRIVER, f"--port={port}"], own)
        ending.callback(_end, driver)
        browser = WebKit(port, driver.pid)
        ending.callback(browser.ends)
        yield browser
