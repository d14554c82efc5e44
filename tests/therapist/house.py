"""One invented clinic for tests: the real app on a real database, a clock that is moved, browsers that keep cookies."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from webapp import passwords
from webapp.app import create_app
from webapp.serving import Practice
from webapp.settings import Settings
from webapp.storage import users
from webapp.storage.database import Db

PASSWORD = "green kettle under nine stairs"
MINUTE_MS = 60_000
TOKEN = re.compile(r'name="csrf_token" value="([^"]+)"')


@cache
def _password_hash() -> str:
    """Makes the one hash that all share; each test would spend most of its time on hashing."""
    return passwords.hash_password(Settings(data_dir=Path()), PASSWORD)


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.ms = 1_795_000_000_000

    def __call__(self) -> int:
        return self.ms

    def pass_minutes(self, minutes: float) -> None:
        self.ms += round(minutes * MINUTE_MS)


class Browser:
    """One browser at the clinic's pages."""

    def __init__(self, app: Flask) -> None:
        self.client: FlaskClient = app.test_client()

    def get(self, path: str) -> TestResponse:
        return self.client.get(path)

    def send(self, path: str, **fields: object) -> TestResponse:
        """Sends a form with the token that a page of this browser carries."""
        return self.client.post(path, data={"csrf_token": self.token(), **fields})

    def token(self) -> str:
        """Reads a form token as a page shows it to this browser."""
        shown = TOKEN.search(self.get("/clinic/password").text) or TOKEN.search(self.get("/clinic/sign-in").text)
        assert shown
        return shown[1]

    def sign_in(self, login: str, password: str = PASSWORD, goal: str = "/clinic/") -> TestResponse:
        return self.send("/clinic/sign-in", login=login, password=password, next=goal)

    def is_signed_in(self) -> bool:
        state = self.get("/clinic/sign-in/state").get_json()
        return bool(state["signed_in"])


class House:
    """The clinic: a lead (ines), a therapist (otto), an administrator (rui), each with the same password."""

    def __init__(self, data_dir: Path, **settings: object) -> None:
        self.clock = Clock()
        self.settings = Settings(data_dir=data_dir, secret_key="k" * 64, **settings)  # type: ignore[arg-type]
        self.app = create_app(self.settings, now_ms=self.clock, start_worker=False)
        self.db: Db = self.practice.store.connect()
        for login, name, role in (("ines", "Ines Wallaroo", "lead"), ("otto", "Otto Brindle", "therapist"),
                                  ("rui", "Rui Saltbush", "administrator")):
            self.add(login, name, role)

    @property
    def practice(self) -> Practice:
        found = self.app.extensions["wattlebird"]
        assert isinstance(found, Practice)
        return found

    def add(self, login: str, name: str, role: str) -> int:
        with self.practice.store.write(self.db):
            return users.add(self.db, login=login, name=name, role=role, created_ms=self.clock.ms,
                             password_hash=_password_hash())

    def browser(self, login: str = "") -> Browser:
        """Opens a browser; with a name, one that is signed in."""
        browser = Browser(self.app)
        if login:
            assert browser.sign_in(login).status_code == 303
        return browser

    def actions(self) -> list[str]:
        """Lists what the audit trail holds, oldest first."""
        return [str(row["action"]) for row in self.db.query("SELECT action FROM audit ORDER BY id")]

    def close(self) -> None:
        self.db.close()
        self.practice.store.close()
