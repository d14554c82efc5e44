"""Kills the real server under load, again and again, and counts what was lost."""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from tests.trust.lives import Lives
from tests.trust.load import Load
from tests.trust.practice import make_practice


@dataclass(frozen=True, slots=True, kw_only=True)
class Killed:
    """What came of so many kills: receipts that phones heard, confirmed records that were gone."""

    kills: int
    receipts: int
    lost: int


def kill_under_load(folder: Path, kills: int, seed: int, variant: str = "") -> Killed:
    """Lets phones sync, kills the server at some moment, looks; the last server lives until everything is home.

    It stops at the first loss.
    """
    chance = random.Random(seed)
    settings = make_practice(folder)
    load, lives = Load(settings, seed), Lives(settings, variant)
    for n in range(1, kills + 1):
        lives.starts()
        threads = load.runs_until(lives.port, chance.randint(1, 12), chance.uniform(0, 0.03))
        lives.is_killed()
        for thread in threads:
            thread.join()
        if lost := load.lost():
            return Killed(kills=n, receipts=load.receipts, lost=lost)
    lives.starts()
    try:
        load.comes_home(lives.port)
    finally:
        lives.is_killed()
    return Killed(kills=kills, receipts=load.receipts, lost=load.lost())
