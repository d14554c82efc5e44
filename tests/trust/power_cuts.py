"""Cuts the power of the real server under load, again and again, and counts what was lost."""

from __future__ import annotations

import random
import shutil
from dataclasses import dataclass
from pathlib import Path

from tests.trust.disk_log import DiskFile, after_the_cut
from tests.trust.lives import Lives
from tests.trust.load import Load
from tests.trust.practice import make_practice

WAL = "wattlebird.db-wal"
FILES = ("wattlebird.db", WAL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """What came of so many cuts: receipts heard, syncs of the log and of the database, records gone or unreadable."""

    cuts: int
    receipts: int
    wal_syncs: int
    checkpoints: int
    lost: int


def cut_power_under_load(folder: Path, cuts: int, seed: int, variant: str = "checkpoints often") -> Cut:
    """Lets phones sync, ends the server, takes from its disk what was not synced, looks; stops at the first loss."""
    chance = random.Random(seed)
    data = folder / "practice"
    data.mkdir(parents=True)
    settings = make_practice(data)
    load, log = Load(settings, seed), folder / "disk.log"
    lives = Lives(settings, variant, str(log))
    wal_syncs = checkpoints = lost = n = 0
    while n < cuts and not lost:
        n += 1
        before = shutil.copytree(data, folder / f"before-{n}")
        log.unlink(missing_ok=True)
        lives.starts()
        threads = load.runs_until(lives.port, chance.randint(1, 40), chance.uniform(0, 0.03))
        lives.is_killed()
        for thread in threads:
            thread.join()
        files = after_the_cut(log, before, FILES, chance)
        _put_back(files, data)
        shutil.rmtree(before)
        wal_syncs += files[WAL].syncs
        checkpoints += files["wattlebird.db"].syncs
        lost = load.lost()
    return Cut(cuts=n, receipts=load.receipts, wal_syncs=wal_syncs, checkpoints=checkpoints, lost=lost)


def _put_back(files: dict[str, DiskFile], data: Path) -> None:
    for name, file in files.items():
        if file.safe is None:
            (data / name).unlink(missing_ok=True)
        else:
            (data / name).write_bytes(file.safe)
    (data / "wattlebird.db-shm").unlink(missing_ok=True)
