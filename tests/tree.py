"""The checkout's own files: what is committed, without what package managers and runs leave behind."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LEFT_BEHIND = {".git", ".venv", "node_modules", "vendor", "dist", "build", "__pycache__", ".pytest_cache",
               ".mypy_cache", ".ruff_cache", ".hypothesis"}  # fmt: skip
PICTURES = {".png", ".jpg", ".webp", ".ico", ".woff2", ".wav", ".wasm", ".pdf"}


def own_files(below: str = ".", suffix: str = "") -> Iterator[Path]:
    """Walks the checkout's own files; of instance/ only its .gitignore is the checkout's."""
    for folder, names, files in os.walk(ROOT / below):
        names[:] = sorted(name for name in names if name not in LEFT_BEHIND)
        here = Path(folder)
        inside_instance = here.is_relative_to(ROOT / "instance")
        for name in sorted(files):
            if name.endswith(suffix) and (not inside_instance or name == ".gitignore"):
                yield here / name


def own_texts() -> Iterator[tuple[str, str]]:
    """Reads every text file of the checkout: its path from the root, and its text."""
    for file in own_files():
        if file.suffix not in PICTURES:
            yield file.relative_to(ROOT).as_posix(), file.read_text(encoding="utf-8")
