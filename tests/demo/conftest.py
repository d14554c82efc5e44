"""The demo, made once for all its tests."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.made_once import made_once
from webapp.demo.making import make_demo

NOON = datetime(2026, 10, 14, 12, tzinfo=UTC)


@pytest.fixture(scope="session")
def made_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Makes the demo with its clock at noon of a Wednesday."""
    noon_ms = int(NOON.timestamp() * 1000)
    return made_once(tmp_path_factory, "demo", lambda folder: make_demo(folder, noon_ms, lambda _line: None))


@pytest.fixture
def demo_folder(made_demo: Path, tmp_path: Path) -> Path:
    """Gives a test its own copy of the demo, without the side files that reading the made one leaves for a while."""
    return shutil.copytree(made_demo, tmp_path / "demo", ignore=shutil.ignore_patterns("*-wal", "*-shm"))
