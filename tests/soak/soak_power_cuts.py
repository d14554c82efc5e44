"""Three hundred power cuts under load, and on from there."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

from tests.trust.power_cuts import cut_power_under_load

EACH = 25


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Cuts until the time is over; `cuts`, `receipts` and `checkpoints` count over all parts."""
    ends, found = time.monotonic() + minutes * 60, list[str]()
    while time.monotonic() < ends:
        seed = int(state.get("cuts", 0))
        with tempfile.TemporaryDirectory(prefix="wattlebird-") as folder:
            cut = cut_power_under_load(Path(folder), EACH, seed)
        if cut.lost:
            found.append(f"seed {seed}, cut {cut.cuts}: {cut.lost} confirmed records lost")
        if cut.wal_syncs < cut.receipts:
            found.append(f"seed {seed}: {cut.receipts} receipts, but only {cut.wal_syncs} syncs")
        for name, n in (("cuts", cut.cuts), ("receipts", cut.receipts), ("checkpoints", cut.checkpoints)):
            state[name] = int(state.get(name, 0)) + n
    print(f"  {state['cuts']} cuts, {state['receipts']} receipts, {state['checkpoints']} checkpoints so far"
          " (wanted: 300 cuts)")
    return found
