"""Where the texts come from that tell somebody what to do: text_sources.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Any

from webapp.guidance.sources import Source, source


@cache
def _told() -> Mapping[str, Any]:
    return tomllib.loads((files("webapp.guidance") / "text_sources.toml").read_text(encoding="utf-8"))


def patterns() -> Mapping[str, tuple[str, ...]]:
    """Gives the ids of sources by the pattern of keys that they stand for."""
    return {pattern: tuple(ids) for pattern, ids in _told()["sources"].items()}


def texts_with_sources(keys: Iterable[str]) -> list[str]:
    """Picks the keys of texts that need a source, in their order."""
    return [key for key in keys if any(fnmatchcase(key, pattern) for pattern in _told()["texts"])]


def sources_of(key: str) -> tuple[Source, ...]:
    """Gives where a text comes from; a text that nothing is said of is an error, as a limit without a source is."""
    found = [pattern for pattern in patterns() if fnmatchcase(key, pattern)]
    if not found:
        raise LookupError(f"no source for {key}")
    return tuple(source(id_) for id_ in patterns()[max(found, key=len)])
