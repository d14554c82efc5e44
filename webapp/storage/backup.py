"""A consistent copy of the whole database while it is served, and putting such a copy back."""

from __future__ import annotations

import hashlib
import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from webapp.storage import audit
from webapp.storage.clinic import set_store_epoch
from webapp.storage.database import Db, connect, row
from webapp.storage.migrations import migrations

BLOCK = 1 << 20


class BackupError(Exception):
    """A copy that is not made or not put back; `key` names its text, `params` are what it says."""

    def __init__(self, key: str, **params: object) -> None:
        super().__init__(key)
        self.key, self.params = key, params


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """One copy that was made: when, and the SHA-256 of the file."""

    at_ms: int
    sha256: str


def sha256_of(file: Path) -> str:
    """Hashes a file block by block."""
    seen = hashlib.sha256()
    with file.open("rb") as opened:
        while block := opened.read(BLOCK):
            seen.update(block)
    return seen.hexdigest()


def latest(db: Db) -> Backup | None:
    """Reads the newest copy that was made of this database."""
    found = row(db, "SELECT at_ms, sha256 FROM backups ORDER BY id DESC LIMIT 1")
    return Backup(**found) if found else None


def make_backup(database: Path, file: Path, at_ms: int) -> Backup:
    """Copies a database that may be in use into a new file, checks the copy, and notes it in the original.

    By SQLite's backup interface: a plain copy of the file would miss what is still in its write-ahead log. The phones'
    keys are inside, the server's secret key is not: the copy alone signs no form. It overwrites no file.
    """
    if not database.is_file():
        raise BackupError("backup.nothing", path=database)
    if file.exists():
        raise BackupError("backup.exists", path=file)
    part = file.with_name(file.name + ".part")
    try:
        _copy(database, part)
        check_backup(part)
        os.link(part, file)  # unlike a rename it refuses a file that came meanwhile
    except FileExistsError as error:
        raise BackupError("backup.exists", path=file) from error
    except (OSError, sqlite3.Error) as error:
        raise BackupError("backup.failed", path=file, why=error) from error
    finally:
        part.unlink(missing_ok=True)
    made = Backup(at_ms=at_ms, sha256=sha256_of(file))
    _note(database, made)
    return made


def _copy(database: Path, part: Path) -> None:
    part.touch(mode=0o600, exist_ok=False)
    with closing(connect(database)) as source, closing(sqlite3.connect(part)) as copy:
        source.conn.backup(copy)  # in one step: one snapshot, and writers go on beside it
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, without a log beside it
    with part.open("rb") as opened:
        os.fsync(opened.fileno())


def _note(database: Path, made: Backup) -> None:
    with _writing(database) as db:
        db.execute("INSERT INTO backups (at_ms, sha256) VALUES (?, ?)", [made.at_ms, made.sha256])
        audit.append(db, at_ms=made.at_ms, user_id=None, action="backup_made", client_id=None,
                     detail={"sha256": made.sha256})


@contextmanager
def _writing(database: Path) -> Iterator[Db]:
    with closing(connect(database)) as db:
        db.conn.execute("BEGIN IMMEDIATE")
        yield db
        db.conn.commit()


def steps_known() -> set[str]:
    """Names the schema steps of this release."""
    with closing(sqlite3.connect(":memory:")) as empty:
        return {step.name for step in migrations.pending(Db(empty, execute_plugins=False))}


def steps_applied(db: Db) -> set[str]:
    """Names the schema steps that a database has taken."""
    return {step.name for step in migrations.applied(db)}


def check_backup(file: Path) -> None:
    """Refuses a file that is no whole practice database, or one of a newer release than this."""
    try:
        with closing(Db(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True), execute_plugins=False)) as db:
            problems = [found[0] for found in db.conn.execute("PRAGMA integrity_check(5)")]
            if problems != ["ok"]:
                raise BackupError("backup.damaged", path=file, why="; ".join(map(str, problems)))
            if db.conn.execute("PRAGMA foreign_key_check").fetchone():
                raise BackupError("backup.damaged", path=file, why="PRAGMA foreign_key_check")
            if not {"clinic", "records", "devices"} <= set(db.table_names()):
                raise BackupError("backup.other", path=file)
            if newer := steps_applied(db) - steps_known():
                raise BackupError("backup.newer", path=file, steps=", ".join(sorted(newer)))
    except sqlite3.DatabaseError as error:
        raise BackupError("backup.other", path=file) from error


def restore(file: Path, database: Path, at_ms: int, *, replace: bool) -> Path | None:
    """Puts a copy in the place of the database; returns where the former one went, if there was one.

    The store gets a new epoch: phones then offer again whatever the copy lacks. Sign-ins end, and the packs are
    forgotten: they are made anew at the next start, to the same bytes.
    """
    if not file.is_file():
        raise BackupError("backup.nothing", path=file)
    check_backup(file)
    former = _move_away(database, at_ms, replace=replace) if database.exists() else None
    database.parent.mkdir(parents=True, exist_ok=True)
    part = database.with_name(database.name + ".part")
    part.unlink(missing_ok=True)
    _copy(file, part)
    part.rename(database)
    with _writing(database) as db:
        set_store_epoch(db, secrets.token_hex(8))
        db.execute("DELETE FROM sessions")
        db.execute("DELETE FROM packs")
        audit.append(db, at_ms=at_ms, user_id=None, action="restored", client_id=None,
                     detail={"sha256": sha256_of(file)})
    return former


def _move_away(database: Path, at_ms: int, *, replace: bool) -> Path:
    if not replace:
        raise BackupError("backup.in_place", path=database)
    if is_in_use(database):
        raise BackupError("backup.in_use", path=database)
    former = database.with_name(f"{database.name}.before-{at_ms}")
    database.rename(former)
    for rest in ("-wal", "-shm"):
        database.with_name(database.name + rest).unlink(missing_ok=True)
    return former


def is_in_use(database: Path) -> bool:
    """Tells whether another process has the database open: leaving the write-ahead log needs it alone.

    What is not a database is in nobody's use.
    """
    with closing(sqlite3.connect(database, timeout=1)) as conn:
        try:
            return bool(conn.execute("PRAGMA journal_mode = DELETE").fetchone()[0] != "delete")
        except sqlite3.OperationalError:
            return True
        except sqlite3.DatabaseError:
            return False
