"""A practice of each earlier release goes on with this one: its rows mean the same, wherever the upgrade is cut off."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest

from tests.exchange.invented_phone import not_today
from tests.migrations.make_golden import DEVICE, FOLDER, NOW_MS, step_names
from webapp.intake import take_in
from webapp.storage import audit, clients, clinic, devices, records
from webapp.storage.database import Db, Store, connect
from webapp.storage.migrations import migrate

GOLDEN = sorted(FOLDER.glob("m*.sql"))
OWN = ("sqlite_", "_sqlite_migrations")
EVERY_OPS = 10


def put_golden(golden: Path, database: Path) -> Path:
    """Makes the database file that a practice of that release had."""
    with closing(sqlite3.connect(database)) as conn:
        conn.executescript(golden.read_text(encoding="utf-8"))
    return database


def tables(conn: sqlite3.Connection) -> dict[str, list[str]]:
    """Lists the tables of the practice with their columns."""
    names = [row[0] for row in conn.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    return {name: [str(row[1]) for row in conn.execute(f"PRAGMA table_info({name})")]
            for name in names if not name.startswith(OWN)}


def rows(database: Path, columns: dict[str, list[str]]) -> dict[str, list[Any]]:
    """Reads the columns given of every table given."""
    with closing(sqlite3.connect(database)) as conn:
        return {table: conn.execute(f"SELECT {', '.join(names)} FROM {table} ORDER BY {', '.join(names)}").fetchall()
                for table, names in columns.items()}


def schema(database: Path) -> list[Any]:
    """Reads what the database is made of, apart from the notes of its upgrades."""
    with closing(sqlite3.connect(database)) as conn:
        return conn.execute("SELECT type, name, tbl_name, sql FROM sqlite_master WHERE tbl_name NOT LIKE '%sqlite_%'"
                            " ORDER BY type, name").fetchall()


def of_this_release(folder: Path) -> list[Any]:
    """Reads the schema of a practice that begins with this release."""
    if not (folder / "new.db").exists():
        Store(folder / "new.db").close()
    return schema(folder / "new.db")


def test_there_is_a_golden_database_of_each_schema() -> None:
    """Whoever adds a step makes one: `python -m tests.migrations.make_golden`."""
    assert [file.stem for file in GOLDEN] == step_names()


@pytest.mark.parametrize("golden", GOLDEN, ids=lambda file: file.stem)
def test_every_row_is_unchanged_after_the_upgrade(golden: Path, tmp_path: Path) -> None:
    """Each column of each table holds what it held; the schema is that of a new practice; once more changes nothing."""
    database = put_golden(golden, tmp_path / "wattlebird.db")
    with closing(sqlite3.connect(database)) as conn:
        columns = tables(conn)
    before = rows(database, columns)
    assert all(before.values()), "a table of the golden database has no rows"
    Store(database).close()
    assert rows(database, columns) == before
    assert schema(database) == of_this_release(tmp_path)
    Store(database).close()
    assert rows(database, columns) == before


@pytest.mark.parametrize("golden", GOLDEN, ids=lambda file: file.stem)
def test_what_is_read_through_the_app_means_the_same(golden: Path, tmp_path: Path) -> None:
    """Clients, the trail, the epoch; a phone's records are already here, byte for byte, and get the same receipt."""
    store = Store(put_golden(golden, tmp_path / "wattlebird.db"))
    with closing(store.connect()) as db:
        assert clinic.read(db).name == "Saltmarsh Lane Rehab"
        assert clinic.store_epoch(db) == "0123456789abcdef"
        assert [one.code for one in clients.list_active(db)] == ["SL-07"]
        assert audit.first_broken(db) is None
        if device := devices.by_id(db, DEVICE):
            sent = [not_today(DEVICE, 1), not_today(DEVICE, 2, "🙂\0 end")]
            assert [one.content for one in records.of_device(db, DEVICE) if not one.aside][:2] == sent
            with store.write(db):
                receipt = take_in(db, device, sent, "file", "c0ffee", NOW_MS)
            assert (receipt.new, receipt.already, receipt.through) == (0, 2, 2)
    store.close()


@pytest.mark.parametrize("golden", GOLDEN, ids=lambda file: file.stem)
def test_an_upgrade_that_is_cut_off_is_finished_next_time(golden: Path, tmp_path: Path) -> None:
    """Stopped in the middle, the next start finds old or new, never something between. (All places: the long tests.)"""
    stops = how_long(golden, tmp_path)
    assert stops > 4
    for place in range(1, 5):
        assert cut_off_after(golden, tmp_path, stops * place // 5) == []


def how_long(golden: Path, folder: Path) -> int:
    """Counts the places in an upgrade at which it can be stopped: every ten steps of SQLite's machine."""
    database = put_golden(golden, folder / "whole.db")
    asked = _upgrade(database, 10**9)
    database.unlink()
    return asked


def cut_off_after(golden: Path, folder: Path, stops_after: int) -> list[str]:
    """Stops an upgrade at a place and starts anew; says what was wrong then."""
    database = put_golden(golden, folder / "again.db")
    with closing(sqlite3.connect(database)) as conn:
        columns = tables(conn)
    before = rows(database, columns)
    _upgrade(database, stops_after)
    unharmed = rows(database, columns) == before
    Store(database).close()
    found = [] if unharmed else [f"{golden.stem} cut off after {stops_after}: rows are lost"]
    if rows(database, columns) != before or schema(database) != of_this_release(folder):
        found.append(f"{golden.stem} cut off after {stops_after}: not finished by the next start")
    database.unlink()
    return found


def _upgrade(database: Path, stops_after: int) -> int:
    """Upgrades until SQLite has asked so often whether to go on; gives how often it asked."""
    asked = 0

    def stop() -> int:
        nonlocal asked
        asked += 1
        return int(asked >= stops_after)

    db: Db = connect(database)
    with closing(db), suppress(sqlite3.OperationalError):
        db.conn.set_progress_handler(stop, EVERY_OPS)
        migrate(db)
    return asked
