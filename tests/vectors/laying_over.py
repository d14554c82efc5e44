"""Reads the shared vectors: a base with changes laid over it."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent


def load(name: str) -> dict[str, Any]:
    """Reads one file of vectors."""
    loaded: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return loaded


def _lay(over: dict[str, Any], change: dict[str, Any]) -> None:
    for field, value in change.items():
        if value is None:
            over.pop(field, None)
        else:
            over[field] = value


def document(vectors: dict[str, Any], case: dict[str, Any]) -> Any:
    """Gives the document of a case."""
    if "replace" in case:
        return case["replace"]
    whole = copy.deepcopy(vectors["base"])
    change = dict(case["change"])
    _lay(whole["exercises"][0] if "exercise" in change else {}, change.pop("exercise", {}))
    _lay(whole, change)
    return whole


def cases(name: str, part: str) -> list[tuple[str, Any, dict[str, Any]]]:
    """Gives (name, document, case) of one part of a file."""
    vectors = load(name)
    return [(case["name"], document(vectors, case), case) for case in vectors[part]]
