"""A thousand kills of the real server under load, and on from there."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

from tests.trust.killing import kill_under_load

EACH = 50


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Kills until the time is over; `kills` and `receipts` count over all parts."""
    ends, found = time.monotonic() + minutes * 60, list[str]()
    while time.monotonic() < ends:
        seed = int(state.get("kills", 0))
        with tempfile.TemporaryDirectory(prefix="wattlebird-") as folder:
            killed = kill_under_load(Path(folder), EACH, seed)
        if killed.lost:
            found.append(f"seed {seed}, kill {killed.kills}: {killed.lost} confirmed records lost")
        state["kills"] = seed + killed.kills
        state["receipts"] = int(state.get("receipts", 0)) + killed.receipts
    print(f"  {state['kills']} kills, {state['receipts']} receipts so far (wanted: 1,000 kills)")
    return found
