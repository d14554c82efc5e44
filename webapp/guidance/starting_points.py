"""Starting points by aim from published trials and guidelines, and what each setting does, with their sources."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

AIMS = ("strength", "relearning", "shoulder", "foot", "spasticity", "pain")


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingPoint:
    """Settings to start from: `memory` names those without a source at hand; `ranges` as people read them."""

    id: str
    aim: str
    sources: tuple[str, ...]
    memory: tuple[str, ...]
    settings: Mapping[str, Any]
    ranges: Mapping[str, str]


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((files("webapp.guidance") / name).read_text(encoding="utf-8"))


@cache
def starting_points() -> Mapping[str, StartingPoint]:
    """Reads every starting point by its id, in the order of the file."""
    return {id_: _point(id_, entry) for id_, entry in _read("starting_points.toml").items()}


def _point(id_: str, entry: Mapping[str, Any]) -> StartingPoint:
    lists = {name: tuple(entry[name]) for name in ("sources", "memory")}
    return StartingPoint(id=id_, aim=entry["aim"], settings=entry["settings"], ranges=entry["ranges"], **lists)


@cache
def note_sources() -> Mapping[str, str]:
    """Gives the source of what is said about each setting."""
    return {name: str(entry["source"]) for name, entry in _read("setting_notes.toml").items()}
