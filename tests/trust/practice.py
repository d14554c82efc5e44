"""The practice that the phones speak with: the real app on a real database, put back from a backup when told to."""

from __future__ import annotations

import re
import shutil
import tempfile
from functools import cache
from pathlib import Path

from flask import Flask
from werkzeug.test import TestResponse

from tests.therapist.house import PASSWORD, Browser, Clock
from tests.trust.phones import ModelPhone, Sent
from webapp import passwords
from webapp.app import create_app
from webapp.serving import Practice
from webapp.settings import Settings
from webapp.storage import clinic, devices, records, users
from webapp.storage.backup import make_backup, restore
from webapp.storage.database import Store
from webapp.storage.records import StoredRecord

DIGITS = re.compile(r'data-digits="(\d{6})"')


def told(folder: Path) -> Settings:
    """Gives the settings of a practice in a folder; a cheap password, since nothing here is about that."""
    return Settings(data_dir=folder, secret_key="k" * 64, argon2_memory_kib=64, argon2_passes=1)


@cache
def _empty_practice() -> Path:
    """Makes the database that all begin with, once: a clinic with one therapist."""
    folder = Path(tempfile.mkdtemp(prefix="wattlebird-"))
    settings = told(folder)
    store = Store(settings.database_path)
    db = store.connect()
    with store.write(db):
        users.add(db, login="otto", name="Otto Brindle", role="therapist", created_ms=1,
                  password_hash=passwords.hash_password(settings, PASSWORD))
    db.close()
    store.close()
    return settings.database_path


def make_practice(folder: Path) -> Settings:
    """Puts an empty practice into a folder."""
    settings = told(folder)
    shutil.copy(_empty_practice(), settings.database_path)
    return settings


@cache
def _app() -> Flask:
    """Makes the app once: its routes and templates are the same over every database."""
    return create_app(make_practice(Path(tempfile.mkdtemp(prefix="wattlebird-"))), start_worker=False)


def on_the_wire(answer: TestResponse) -> bytes:
    """Writes an answer as a phone's network brings it."""
    return f"HTTP/1.1 {answer.status}\r\n{answer.headers}".encode("latin-1") + answer.get_data()


class ServedPractice:
    """The app over one folder; it can be backed up and put back while phones and requests are under way."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.settings = make_practice(folder)
        self.clock = Clock()
        self.backups: list[Path] = []
        self._open()

    def _open(self) -> None:
        self.app = _app()
        self.store = Store(self.settings.database_path)
        self.app.extensions["wattlebird"] = Practice(settings=self.settings, store=self.store, now_ms=self.clock)
        self.db = self.store.connect()
        self.phones_way = self.app.test_client()
        self._desk: tuple[Browser, str] | None = None

    def closes(self) -> None:
        self.db.close()
        self.store.close()

    @property
    def epoch(self) -> str:
        return clinic.store_epoch(self.db)

    def gets(self, sent: Sent) -> bytes:
        """Gets a sync request and gives the answer as it goes on the wire."""
        return on_the_wire(self.phones_way.post("/exchange/sync", data=sent.body, headers=sent.headers))

    # --- the therapist's page ---

    def takes_in(self, payloads: list[str], road: str) -> list[str]:
        """Has the therapist take in what the page has read; gives the digits that it shows."""
        browser, token = self._desk or self._signs_in()
        if not browser.is_signed_in():  # so long unused that it ended
            browser, token = self._signs_in()
        answer = browser.client.post("/clinic/returns/take-in", json={"payloads": payloads, "road": road},
                                     headers={"X-CSRFToken": token})
        assert answer.status_code == 200, answer.text
        return DIGITS.findall(answer.text)

    def _signs_in(self) -> tuple[Browser, str]:
        browser = Browser(self.app)
        assert browser.sign_in("otto").status_code == 303
        self._desk = (browser, browser.token())
        return self._desk

    def withdraws(self, phone: ModelPhone) -> None:
        with self.store.write(self.db):
            devices.revoke(self.db, phone.device.device, self.clock.ms)

    # --- backup and restore ---

    def is_backed_up(self) -> None:
        file = self.folder / f"copy-{len(self.backups)}.db"
        make_backup(self.settings.database_path, file, self.clock.ms)
        self.backups.append(file)

    def is_put_back(self, which: int) -> None:
        """Ends the server, puts a backup in the place of its database, starts it again."""
        self.closes()
        self.clock.pass_minutes(1)
        restore(self.backups[which % len(self.backups)], self.settings.database_path, self.clock.ms, replace=True)
        self._open()

    # --- what it holds ---

    def knows(self, phone: ModelPhone) -> bool:
        """Tells whether a phone's device is known: one let in after the backup that was put back is not."""
        return devices.by_id(self.db, phone.device.device) is not None

    def stored(self, phone: ModelPhone) -> list[StoredRecord]:
        return records.of_device(self.db, phone.device.device)

    def goes_through(self, phone: ModelPhone) -> int:
        """Counts how far a phone's numbers are stored without a gap."""
        numbers, through = {one.seq for one in self.stored(phone)}, 0
        while through + 1 in numbers:
            through += 1
        return through
