"""Upgrades from each golden database, cut off at every tenth step of SQLite's machine, one place after the other."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

from tests.migrations.test_migrations import GOLDEN, cut_off_after, how_long


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Goes through the places of each golden database; after the last it begins again."""
    ends, found = time.monotonic() + minutes * 60, list[str]()
    with tempfile.TemporaryDirectory(prefix="wattlebird-") as folder:
        places = [(golden, place) for golden in GOLDEN for place in range(1, how_long(golden, Path(folder)))]
        while time.monotonic() < ends:
            at = int(state.get("cut_off", 0))
            found += cut_off_after(*_place(places, at, Path(folder)))
            state["cut_off"] = at + 1
    print(f"  {state['cut_off']} upgrades cut off so far (wanted: all {len(places)} places)")
    return found


def _place(places: list[tuple[Path, int]], at: int, folder: Path) -> tuple[Path, Path, int]:
    golden, place = places[at % len(places)]
    return golden, folder, place
