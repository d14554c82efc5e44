"""An app over the invented clinic, with a clock that tests set."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.client.invented_clinic import make_clinic
from tests.made_once import keeps_clips_in, made_once
from webapp.app import create_app
from webapp.settings import Settings
from webapp.storage.database import Db, Store

NOW_MS = 1_795_500_000_000
URL = "http://127.0.0.1:8123"


@dataclass(slots=True, kw_only=True)
class Desk:
    """The app, its clock and its database."""

    settings: Settings
    now_ms: int = NOW_MS

    def app(self) -> Flask:
        """Makes the app on this clock."""
        return create_app(self.settings, lambda: self.now_ms, start_worker=False)

    def browser(self) -> FlaskClient:
        """Gives a browser without cookies."""
        return self.app().test_client()

    def db(self) -> Db:
        """Opens the database."""
        return Store(self.settings.database_path).connect()


@pytest.fixture(scope="session")
def made_clinic(tmp_path_factory: pytest.TempPathFactory, clips: Path) -> Path:
    """Makes the invented clinic once."""

    def make(folder: Path) -> None:
        keeps_clips_in(clips, folder)
        make_clinic(folder, URL, NOW_MS)

    return made_once(tmp_path_factory, "clinic-of-2026", make)


@pytest.fixture
def desk(made_clinic: Path, tmp_path: Path) -> Desk:
    """Gives a test its own copy."""
    folder = shutil.copytree(made_clinic, tmp_path / "clinic", symlinks=True)
    return Desk(settings=Settings(data_dir=folder, public_url=URL, secret_key="invented " * 4))
