"""The invented practice that the files and reports are made from."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.exports.invented_practice import InventedPractice
from tests.therapist.house import House


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Iterator[InventedPractice]:
    """Makes the practice once for a file whose tests only look at it."""
    house = House(tmp_path_factory.mktemp("practice"))
    yield InventedPractice(house)
    house.close()


@pytest.fixture
def small_practice(tmp_path_factory: pytest.TempPathFactory) -> Iterator[InventedPractice]:
    """Makes one with a log of six days, to be changed."""
    house = House(tmp_path_factory.mktemp("small"))
    yield InventedPractice(house, days=6)
    house.close()
