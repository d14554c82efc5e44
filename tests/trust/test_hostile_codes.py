"""Rightly sealed bodies that nobody's phone made are read or refused, and give no more than a log may hold."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.trust.hostile_codes import hostile_body, what_comes_of

EACH = 500


@pytest.mark.parametrize("first", range(0, 2_000, EACH))
def test_two_thousand_hostile_bodies_do_nothing_else(first: int) -> None:
    """Whoever holds a key can make the reader neither fail nor give without end. (100,000: the long tests.)"""
    came = Counter(what_comes_of(hostile_body(seed)) for seed in range(first, first + EACH))
    assert came == {"": EACH}
