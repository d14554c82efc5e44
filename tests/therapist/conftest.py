"""The clinic that the therapist's tests go to."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.therapist.house import House


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    house = House(tmp_path)
    yield house
    house.close()
