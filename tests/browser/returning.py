"""A therapist's laptop that reads logs, and a phone that never had a network."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Playwright, expect

from tests.bench.mixed_log import mixed_log
from tests.browser.camera import camera_flags
from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import LAPTOP, Desk
from tests.browser.phone import FLAGS, LONG_MS, WHOLE_CHROMIUM
from webapp import sealing
from webapp.formats.log_record import canonical
from webapp.returned_code import encode_frames
from webapp.settings import Settings
from webapp.storage import devices, records
from webapp.storage.database import Store
from webapp.storage.devices import Device

FILM = """async (ms) => {
  const stream = await navigator.mediaDevices.getUserMedia({ video: true });
  const [recorder, pieces] = [new MediaRecorder(stream, { videoBitsPerSecond: 8e6 }), []];
  recorder.ondataavailable = (event) => pieces.push(event.data);
  const ended = new Promise((done) => { recorder.onstop = done; });
  recorder.start();
  setTimeout(() => recorder.stop(), ms);
  await ended;
  stream.getTracks().forEach((track) => track.stop());
  const address = await new Promise((done) => {
    const reader = new FileReader();
    reader.onload = () => done(reader.result);
    reader.readAsDataURL(new Blob(pieces));
  });
  return address.split(',')[1];
}"""
MADE_MS = 1_795_000_000_000


class OfflinePhone:
    """A phone of the clinic's first client, with a log of so many sessions."""

    def __init__(self, data_dir: Path, sessions: int, seed: int = 3) -> None:
        self.device = Device(
            device=sealing.new_device(), client_id=1, link_id=1, handle=sealing.new_handle(),
            device_key=sealing.new_device_key(), cookie_sha256="", rejoin_sha256=None, rejoin_ends_ms=None,
            kind="phone", made_ms=MADE_MS, seen_ms=None, pack_id=None, revoked_ms=None)
        store = Store(Settings(data_dir=data_dir).database_path)
        db = store.connect()
        with store.write(db):
            devices.add(db, self.device)
        db.close()
        store.close()
        self.log = [{**one, "device": self.device.device} for one in mixed_log(sessions, seed)]
        self.contents = [canonical(one) for one in self.log]

    @property
    def sessions_n(self) -> int:
        return sum(one["kind"] == "session" for one in self.log)

    def payloads(self, max_version: int = 15) -> list[str]:
        key = self.device.device_key
        return [one.payload for one in encode_frames(self.log, key, self.device.device, max_version=max_version)]

    def stored(self, data_dir: Path) -> list[bytes]:
        """Reads what the clinic has of this phone, by number."""
        store = Store(Settings(data_dir=data_dir).database_path)
        db = store.connect()
        found = [one.content for one in records.of_device(db, self.device.device)]
        db.close()
        store.close()
        return found

    def file(self, path: Path) -> Path:
        """Saves the log as the phone does: one payload a line."""
        path.write_text("".join(f"{one}\n" for one in self.payloads()), encoding="ascii")
        return path


class ReadingDesk(Desk):
    """A desk whose camera shows a stream, or has none."""

    def __init__(self, tool: Playwright, server: ClinicServer, stream: Path | None, *, has_camera: bool = True,
                 **options: Any) -> None:
        flags = [*FLAGS, *(camera_flags(stream) if has_camera else [])]
        # its camera is its own, and may be refused: the shell knows no permissions
        self._browser = tool.chromium.launch(executable_path=WHOLE_CHROMIUM, args=flags)
        self.context = self._browser.new_context(**{"viewport": LAPTOP, **options})
        self.context.set_default_timeout(LONG_MS)
        self.page = self.context.new_page()
        self.server = server
        self.complaints = []
        self.asked: list[str] = []
        self.page.on("console", lambda said: self.complaints.append(said.text) if said.type == "error" else None)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))

    def closes(self) -> None:
        self._browser.close()

    def reads_a_log(self) -> None:
        """Signs in and opens the page."""
        self.signs_in()
        self.opens("returns")
        expect(self.page.get_by_role("heading", level=1)).to_have_text("Read a log")

    def starts_the_camera(self) -> None:
        """Starts it by the button, where the browser did not let it start by itself."""
        # in one step: it may start by itself at any moment
        self.page.locator("[data-start]:not([disabled])").evaluate("(start) => start.hidden || start.click()")

    def count(self) -> str:
        return self.page.locator("[data-count]").inner_text()

    def waits_for_count(self, words: str) -> None:
        expect(self.page.locator("[data-count]")).to_contain_text(words, timeout=LONG_MS)

    def takes_it_in(self) -> str:
        """Presses *Take it in* and gives the six digits that the page shows."""
        self.page.locator("[data-take-in]").click()
        shown = self.page.locator("[data-digits]").first
        expect(shown).to_be_visible(timeout=LONG_MS)
        return shown.get_attribute("data-digits") or ""

    def films(self, file: Path, seconds: float = 3) -> Path:
        """Saves some seconds of what its camera sees as a video file."""
        file.write_bytes(base64.b64decode(self.page.evaluate(FILM, seconds * 1000)))
        return file

    def chooses(self, *files: Path) -> None:
        self.page.locator("#files").set_input_files([str(file) for file in files])

    def kept_in_the_tab(self) -> list[str]:
        kept: list[list[str]] = json.loads(self.page.evaluate("sessionStorage.getItem('wattlebird-read') ?? '[]'"))
        return [payload for payload, _road in kept]
