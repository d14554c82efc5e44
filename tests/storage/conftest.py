"""A new practice's database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from webapp.storage.database import Store


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    store = Store(tmp_path / "wattlebird.db")
    yield store
    store.close()
