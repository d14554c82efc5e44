"""The sounds for phones that are put away: made in the background when a phone asks, kept under what they are made of.

A sound belongs to no pack. It is made from the very files of one, so two packs with the same cues share it.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from webapp.client.blobs import blob_path
from webapp.settings import Settings, release
from webapp.speech.session_sound import CHOICES, PIPELINE_VERSION, Choice, placed_sounds, write_session
from webapp.storage import jobs, packs
from webapp.storage.database import Db, Store
from webapp.storage.packs import Pack

Progress = Callable[[int, int], None]
UNUSED_DAYS = 90
DAY_S = 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One length of one exercise's session, as the calendar of a plan asks for it."""

    exercise: int
    session_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionSound:
    """A sound that is there: where it lies, and what a phone checks it by."""

    file: Path
    sha256: str
    bytes: int


def job_kind(choice: Choice) -> str:
    """Names the job that makes a plan's sounds for a choice."""
    return f"listen_{choice.voice}_{choice.said}"


@lru_cache(maxsize=64)
def _files(manifest: str) -> Mapping[str, Any]:
    files: Mapping[str, Any] = json.loads(manifest)["files"]
    return files


def _path(settings: Settings, pack: Pack, choice: Choice, session: Session) -> Path:
    """Names the place of a sound by all that decides it."""
    files = _files(pack.manifest)
    heard = sorted(file["sha256"] for path, file in files.items() if path.endswith(".wav"))
    cues = files.get(f"data/cues-{session.exercise}.json", {}).get("sha256", "")
    parts = [PIPELINE_VERSION, cues, heard, session.session_s, choice.voice, choice.said]
    return settings.sessions_dir / f"{hashlib.sha256(json.dumps(parts).encode()).hexdigest()}.mp3"


def find_sound(settings: Settings, pack: Pack, choice: Choice, session: Session) -> SessionSound | None:
    """Finds a sound that was made, and notes that it is still wanted."""
    file = _path(settings, pack, choice, session)
    described = file.with_suffix(".sha256")
    if not described.is_file() or not file.is_file():
        return None
    file.touch()
    return SessionSound(file=file, sha256=described.read_text("utf-8"), bytes=file.stat().st_size)


def find_by_hash(settings: Settings, pack: Pack, sha256: str) -> SessionSound | None:
    """Finds a sound of a pack by its own hash."""
    sessions = sessions_of(settings, pack)
    sounds = (find_sound(settings, pack, choice, one) for choice in CHOICES for one in sessions)
    return next((sound for sound in sounds if sound and sound.sha256 == sha256), None)


def _read(settings: Settings, pack: Pack, path: str) -> bytes:
    return blob_path(settings.packs_dir, _files(pack.manifest)[path]["sha256"]).read_bytes()


def sessions_of(settings: Settings, pack: Pack) -> list[Session]:
    """Lists each length that the plan's calendar asks for, in the order of their first day."""
    days = json.loads(_read(settings, pack, "data/plan.json"))["days"]
    asked = ((slot["exercise"], slot["session_s"]) for day in sorted(days) for slot in days[day])
    return [Session(exercise=exercise, session_s=session_s) for exercise, session_s in dict.fromkeys(asked)]


def can_be_made(settings: Settings, pack: Pack, session: Session) -> bool:
    """Tells whether this release makes the sound of a session: one of its own pack, that the calendar asks for."""
    return pack.release == release() and session in sessions_of(settings, pack)


def make_sounds(
    db: Db, plan_id: int, progress: Progress, *, choice: Choice, store: Store, settings: Settings,
    now_ms: Callable[[], int],
) -> None:
    """Makes what is missing of a plan's sounds; lets a waiting pack go first, and goes on after it."""
    pack = packs.for_plan(db, plan_id, release())
    if pack is None:
        raise LookupError(f"no pack of plan {plan_id}")
    _forget_unused(settings.sessions_dir)
    missing = [one for one in sessions_of(settings, pack) if not find_sound(settings, pack, choice, one)]
    for n, session in enumerate(missing):
        _make(settings, pack, choice, session, _share(progress, n, len(missing)))
        if jobs.waits(db, "make_pack") and n + 1 < len(missing):
            with store.write(db):
                jobs.add(db, job_kind(choice), plan_id, now_ms())
            return


def _share(progress: Progress, n: int, of_n: int) -> Progress:
    """Counts one sound's minutes as hundredths of the whole work."""
    return lambda done, of: progress((100 * n + 100 * done // max(of, 1)) // of_n, 100)


def _make(settings: Settings, pack: Pack, choice: Choice, session: Session, progress: Progress) -> None:
    path = _path(settings, pack, choice, session)
    path.parent.mkdir(parents=True, exist_ok=True)
    listed = json.loads(_read(settings, pack, "data/sounds.json"))
    lengths_ms = {name: sound["dur_ms"] for name, sound in listed.items()}
    sheet = json.loads(_read(settings, pack, f"data/cues-{session.exercise}.json"))
    placed = placed_sounds(sheet, choice, session.session_s * 1000, lengths_ms)
    wavs = {name: _read(settings, pack, listed[name]["file"]) for name in {name for _, name in placed}}
    unfinished = path.with_suffix(".part")
    write_session(unfinished, placed, wavs, progress)
    path.with_suffix(".sha256").write_text(hashlib.sha256(unfinished.read_bytes()).hexdigest(), "utf-8")
    unfinished.replace(path)


def _forget_unused(folder: Path) -> None:
    """Drops what no phone has asked for in a long time; it can be made again."""
    oldest_s = time.time() - UNUSED_DAYS * DAY_S
    for file in folder.glob("*.mp3"):
        if file.stat().st_mtime < oldest_s:
            file.with_suffix(".sha256").unlink(missing_ok=True)
            file.unlink(missing_ok=True)
