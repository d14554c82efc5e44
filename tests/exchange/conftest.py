"""A store with one invented phone in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.exchange.invented_phone import InventedPhone, add_phone
from webapp.storage.database import Store


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = Store(tmp_path / "practice.db")
    yield opened
    opened.close()


@pytest.fixture
def phone(store: Store) -> InventedPhone:
    return add_phone(store, "SL-07")
