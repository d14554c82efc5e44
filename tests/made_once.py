"""What takes long to make is made once for all workers of a run: the first makes it, the others wait for it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.waiting import until


def shared_folder(factory: pytest.TempPathFactory) -> Path:
    """Gives the folder that the workers of this run have in common."""
    own = factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Gives a folder of a name; whoever comes first makes it, under another name until it is whole."""
    folder = shared_folder(factory) / name
    making = folder.with_name(f"{name}-being-made")
    try:
        making.mkdir()
    except FileExistsError:
        until(folder.exists, within_s=240)
        return folder
    make(making / name)
    return (making / name).rename(folder)


def keeps_clips_in(clips: Path, data_dir: Path) -> None:
    """Has a clinic keep its clips in a folder that it shares with others, so that each is spoken once."""
    data_dir.mkdir(parents=True, exist_ok=True)
    (data_dir / "clips").symlink_to(clips, target_is_directory=True)
