"""Where a limit or a sentence comes from: the entries of sources.toml by their id."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A source, and how far it was seen."""

    id: str
    title: str
    how_confirmed: str


@cache
def sources() -> Mapping[str, Source]:
    """Reads every source by its id."""
    text = (files("webapp.guidance") / "sources.toml").read_text(encoding="utf-8")
    return {id_: Source(id=id_, **entry) for id_, entry in tomllib.loads(text).items()}


def source(id_: str) -> Source:
    """Gives a source; an unknown id is an error, because a limit without a source must not be shown."""
    return sources()[id_]
