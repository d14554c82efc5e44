"""The files of packs, kept once each under the hash of their content."""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

WORTH_IT = 0.9  # a compressed copy is kept where it is at least a tenth smaller


@dataclass(frozen=True, slots=True, kw_only=True)
class Blob:
    """One file of a pack as it can be sent."""

    file: Path
    compressed: Path | None
    type: str
    sha256: str


def blob_path(packs_dir: Path, sha256: str) -> Path:
    """Names the place of a content."""
    return packs_dir / sha256[:2] / sha256


def _write_whole(path: Path, content: bytes) -> None:
    """Writes a file so that a reader, or a start after a power cut, sees all of it or none."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    Path(temporary).replace(path)


def keep_blob(packs_dir: Path, content: bytes) -> str:
    """Keeps a content, with a compressed copy where that helps, and returns its SHA-256."""
    sha256 = hashlib.sha256(content).hexdigest()
    path = blob_path(packs_dir, sha256)
    if not path.is_file():
        squeezed = gzip.compress(content, compresslevel=9, mtime=0)
        if len(squeezed) < WORTH_IT * len(content):
            _write_whole(path.with_suffix(".gz"), squeezed)
        _write_whole(path, content)
    return sha256


@lru_cache(maxsize=256)
def _files(manifest: str) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = json.loads(manifest)["files"]
    return found


def find_blob(packs_dir: Path, manifest: str, path: str) -> Blob | None:
    """Finds a file of a pack by its path; None where the pack has none of that name."""
    entry = _files(manifest).get(path)
    if entry is None:
        return None
    file = blob_path(packs_dir, entry["sha256"])
    compressed = file.with_suffix(".gz")
    return Blob(file=file, compressed=compressed if compressed.is_file() else None, type=entry["type"],
                sha256=entry["sha256"])
