"""Drops the addresses that npm writes into package-lock.json, so that the lock names no host."""

from __future__ import annotations

import json
from pathlib import Path

LOCK = Path(__file__).resolve().parent.parent / "package-lock.json"


def main() -> None:
    """Rewrites the lock without download and funding addresses; every package keeps its checksum."""
    lock = json.loads(LOCK.read_text())
    for entry in lock["packages"].values():
        entry.pop("funding", None)
        entry.pop("resolved", None)
    text = json.dumps(lock, indent=2) + "\n"
    if "://" in text:
        raise SystemExit("package-lock.json still holds an address: drop its key here too")
    LOCK.write_text(text)


if __name__ == "__main__":
    main()
