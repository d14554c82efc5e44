"""Runs the long tests: each tests/soak/soak_*.py has a `run(state: dict[str, Any], minutes: float) -> list[str]`.

A run goes on for about the given minutes, keeps in `state` (JSON values) what it needs to go on from, and returns what
was wrong, one line each. State and dated results lie in instance/soak/, so a run that was cut off goes on where its
last finished part ended.

`python -m tests.soak` runs all for 60 minutes together, `python -m tests.soak --minutes 5 intake` only soak_intake.
"""

from __future__ import annotations

import argparse
import json
import sys
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent
RESULTS = FOLDER.parent.parent / "instance" / "soak"
PART_MINUTES = 2.0


def read_state(name: str) -> dict[str, Any]:
    """Reads where a run stopped; empty for a first run."""
    file = RESULTS / f"{name}.state.json"
    state: dict[str, Any] = json.loads(file.read_text()) if file.is_file() else {}
    return state


def write_state(name: str, state: dict[str, Any]) -> None:
    """Replaces the state in one step, so that a run cut off while writing finds the one before."""
    new = RESULTS / f"{name}.state.new"
    new.write_text(json.dumps(state))
    new.replace(RESULTS / f"{name}.state.json")


def report(name: str, minutes: float, found: list[str]) -> None:
    """Appends a dated line for a part that was run, and each finding below it."""
    verdict = f"{len(found)} wrong" if found else "nothing wrong"
    lines = [f"{datetime.now(UTC):%Y-%m-%d %H:%M} {name} {minutes:g} min: {verdict}", *(f"  {line}" for line in found)]
    print("\n".join(lines), flush=True)
    with (RESULTS / "results.txt").open("a") as file:
        file.write("\n".join(lines) + "\n")


def soak(name: str, minutes: float) -> int:
    """Runs one long test in parts and counts its findings; the state is kept after each part."""
    run = import_module(f"tests.soak.soak_{name}").run
    left, wrong = minutes, 0
    while left > 0:
        part = min(PART_MINUTES, left)
        state = read_state(name)
        found: list[str] = run(state, part)
        write_state(name, state)
        report(name, part, found)
        wrong += len(found)
        left -= part
    return wrong


def main(arguments: list[str]) -> int:
    """Shares the minutes among the named long tests, or all; fails when one found something."""
    known = sorted(file.stem.removeprefix("soak_") for file in FOLDER.glob("soak_*.py"))
    parser = argparse.ArgumentParser(prog="python -m tests.soak", description="Runs the long tests, resumably.")
    parser.add_argument("--minutes", type=float, default=60.0, help="for all of them together (60)")
    parser.add_argument("names", nargs="*", metavar="name", help=f"of: {', '.join(known)}")
    given = parser.parse_args(arguments)
    if unknown := [name for name in given.names if name not in known]:
        parser.error(f"no long test called {', '.join(unknown)}; there are: {', '.join(known)}")
    if not known:
        parser.error("there is no long test yet")
    RESULTS.mkdir(parents=True, exist_ok=True)
    names = given.names or known
    return 1 if sum(soak(name, given.minutes / len(names)) for name in names) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
