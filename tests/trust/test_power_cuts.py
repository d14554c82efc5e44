"""A power cut loses nothing that was confirmed; a server that does not wait for the disk is found out.

SIGKILL alone cannot tell the two apart: the system still writes what it was given.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.trust.disk_log import DELETE, SYNC, WRITE, DiskFile, Done
from tests.trust.power_cuts import cut_power_under_load


def test_thirty_power_cuts_lose_nothing_that_was_confirmed(tmp_path: Path) -> None:
    """Whatever of the un-synced writes is lost or torn, in checkpoints too; each receipt waited for the disk."""
    cut = cut_power_under_load(tmp_path, 30, seed=4)
    assert (cut.cuts, cut.lost) == (30, 0)
    assert cut.receipts > 300
    assert cut.wal_syncs >= cut.receipts
    assert cut.checkpoints > 30


@pytest.mark.parametrize("variant", ["no fsync", "fsync at checkpoints only"])
def test_a_server_that_does_not_wait_for_the_disk_is_found_out(tmp_path: Path, variant: str) -> None:
    """With synchronous OFF or NORMAL the same cuts lose confirmed records."""
    assert cut_power_under_load(tmp_path, 10, seed=4, variant=variant).lost > 0


def test_only_what_was_synced_is_sure_to_be_there() -> None:
    """The disk that the cuts happen to: synced writes stay, others go now and then, deletions too."""
    outcomes = set()
    for seed in range(60):
        file = DiskFile(bytearray(b"old"))
        file.since.append(Done(what=WRITE, at=0, content=b"new"))
        file.sync()
        file.since += [Done(what=WRITE, at=3, content=b"er"), Done(what=DELETE, at=0, content=b"")]
        file.loses_power(random.Random(seed))
        outcomes.add(None if file.safe is None else bytes(file.safe))
    assert outcomes == {b"new", b"newer", None}
    assert SYNC not in {done.what for done in file.since}
