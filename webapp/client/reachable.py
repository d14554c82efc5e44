"""Which static files a page needs: those that it names, and what those name in turn."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

_IN_PAGE = re.compile(r"""\b(?:src|href)="(?:/static/[^/"]+/|static/)([^"#?]+)""")
_IN_MODULE = re.compile(r"""(?:\bfrom|\bimport|\bimport\(|\bnew URL\()\s*["'](\.{1,2}/[^"']+)["']""")
_IN_STYLE = re.compile(r"""url\(["']?(\.{1,2}/[^"')#?]+)""")
_NAMES_OTHERS = {".js": _IN_MODULE, ".mjs": _IN_MODULE, ".css": _IN_STYLE}


def named_in_page(page: str) -> set[str]:
    """Lists the static files that a page's own markup names, as paths under static/."""
    return set(_IN_PAGE.findall(page))


def _named_in_file(folder: Path, path: str) -> Iterator[str]:
    pattern = _NAMES_OTHERS.get(Path(path).suffix)
    if pattern:
        for other in pattern.findall((folder / path).read_text(encoding="utf-8")):
            yield posixpath.normpath(posixpath.join(posixpath.dirname(path), other))
    if path.startswith("vendor/"):
        licence = f"{Path(path).with_suffix('').as_posix()}.LICENSE.txt"
        if (folder / licence).is_file():
            yield licence


def reachable(folder: Path, starts: Iterable[str]) -> list[str]:
    """Follows what static files name (imports, workers, styles, fonts) from some of them; a missing one is an error."""
    found: set[str] = set()
    waiting = sorted(starts)
    while waiting:
        path = waiting.pop()
        if path not in found:
            found.add(path)
            waiting.extend(_named_in_file(folder, path))
    return sorted(found)
