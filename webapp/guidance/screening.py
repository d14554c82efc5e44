"""What is asked before anything is switched on: the rows of screening.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

NOT_AT_HOME, ASK_FIRST, TAKE_CARE = "not_at_home", "ask_first", "take_care"
LEVELS = (TAKE_CARE, ASK_FIRST, NOT_AT_HOME)  # the gravest last
REGIONS = ("hand", "elbow", "shoulder", "leg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: how grave a *yes* is, where it is asked, whether an answer holds for its place only."""

    id: str
    level: str
    sources: tuple[str, ...]
    regions: tuple[str, ...] = ()
    sides: tuple[str, ...] = ()
    local: bool = False
    level_at: Mapping[str, str] | None = None

    def asked_at(self, places: frozenset[str]) -> frozenset[str]:
        """Gives those of some places (`shoulder:left`) that this row is asked for."""
        return frozenset(place for place in places if self._is_at(*place.split(":")))

    def _is_at(self, region: str, side: str) -> bool:
        return (not self.regions or region in self.regions) and (not self.sides or side in self.sides)

    def level_for(self, places: frozenset[str]) -> str:
        """Gives the gravest level of a *yes* at some places."""
        at = self.level_at or {}
        found = [at.get(place.split(":")[0], self.level) for place in self.asked_at(places)]
        return max(found or [self.level], key=LEVELS.index)


@cache
def screening_rows() -> tuple[Row, ...]:
    """Reads every row, in the order in which they are asked."""
    text = (files("webapp.guidance") / "screening.toml").read_text(encoding="utf-8")
    return tuple(_row(id_, entry) for id_, entry in tomllib.loads(text).items())


def _row(id_: str, entry: Mapping[str, Any]) -> Row:
    return Row(id=id_, level=entry["level"], local=entry.get("local", False), level_at=entry.get("level_at"),
               sources=tuple(entry["sources"]), regions=tuple(entry.get("regions", ())),
               sides=tuple(entry.get("sides", ())))
