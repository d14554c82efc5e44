"""Backups of a practice in use, putting them back, and what the examination says."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from webapp.storage import answers, audit, backup, clients, clinic, health
from webapp.storage.backup import BackupError, check_backup, is_in_use, make_backup, restore
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Store, connect

NOW_MS = 1_790_000_000_000
HOUR_MS = 3_600_000


def add_client(store: Store, code: str) -> None:
    with closing(store.connect()) as db, store.write(db):
        clients.add(db, code=code, first_name="Ada", working_side="left", language="en", details=ClientDetails(),
                    therapist_id=None, created_ms=NOW_MS)
        audit.append(db, at_ms=NOW_MS, user_id=None, action="client_added", client_id=None, detail={})


def codes(database: Path) -> set[str]:
    with closing(connect(database)) as db:
        return {c.code for c in clients.list_active(db)}


def epoch(database: Path) -> str:
    with closing(connect(database)) as db:
        return clinic.store_epoch(db)


def refused(key: str, *args: object, **options: object) -> None:
    with pytest.raises(BackupError) as caught:
        restore(*args, **options)  # type: ignore[arg-type]
    assert caught.value.key == key


@pytest.fixture
def used(tmp_path: Path) -> Path:
    """Gives a practice whose server has stopped."""
    store = Store(tmp_path / "practice" / "wattlebird.db")
    add_client(store, "SL-01")
    store.close()
    return store.path


def test_backup_is_whole_while_others_write(tmp_path: Path) -> None:
    """A copy made between two writes of a busy server is a whole practice as it was at one moment."""
    store = Store(tmp_path / "wattlebird.db")
    stop, made = threading.Event(), tmp_path / "copy.db"
    first_written = threading.Event()

    def keep_writing() -> None:
        n = 0
        while not stop.is_set():
            add_client(store, f"C-{n:04d}")
            first_written.set()
            n += 1

    writer = threading.Thread(target=keep_writing)
    writer.start()
    assert first_written.wait(30)
    noted = make_backup(store.path, made, NOW_MS)
    stop.set()
    writer.join()
    check_backup(made)
    assert codes(made)
    assert codes(made) <= codes(store.path)
    assert noted.sha256 == backup.sha256_of(made)
    with closing(store.connect()) as db:
        assert backup.latest(db) == noted
        assert audit.first_broken(db) is None
    store.close()


def test_backup_holds_what_is_still_in_the_log(tmp_path: Path) -> None:
    """What a plain copy of the file would miss is in the backup, in one file that only its owner may read."""
    store = Store(tmp_path / "wattlebird.db")
    add_client(store, "SL-01")
    make_backup(store.path, tmp_path / "copy.db", NOW_MS)
    assert codes(tmp_path / "copy.db") == {"SL-01"}
    assert (tmp_path / "copy.db").stat().st_mode & 0o077 == 0
    assert not list(tmp_path.glob("copy.db-*")) + list(tmp_path.glob("*.part"))
    store.close()


def test_backup_overwrites_nothing(used: Path, tmp_path: Path) -> None:
    """A file that is there stays as it is."""
    there = tmp_path / "copy.db"
    there.write_text("mine")
    with pytest.raises(BackupError):
        make_backup(used, there, NOW_MS)
    assert there.read_text() == "mine"


def test_restored_practice_has_a_new_epoch_and_asks_everybody_to_sign_in(used: Path, tmp_path: Path) -> None:
    """Phones see another epoch and offer again what the copy lacks; packs are made anew; the trail says so."""
    make_backup(used, tmp_path / "copy.db", NOW_MS)
    elsewhere = tmp_path / "other" / "wattlebird.db"
    assert restore(tmp_path / "copy.db", elsewhere, NOW_MS, replace=False) is None
    assert (codes(elsewhere), epoch(elsewhere) != epoch(used)) == ({"SL-01"}, True)
    with closing(connect(elsewhere)) as db:
        assert audit.newest(db)[0]["action"] == "restored"
        assert audit.first_broken(db) is None
        assert [row["n"] for row in db.query("SELECT count(*) AS n FROM sessions")] == [0]


def test_restore_replaces_only_when_told_and_keeps_the_former(used: Path, tmp_path: Path) -> None:
    """A practice in place is moved aside, never deleted."""
    make_backup(used, tmp_path / "copy.db", NOW_MS)
    store = Store(used)
    add_client(store, "SL-02")
    store.close()
    refused("backup.in_place", tmp_path / "copy.db", used, NOW_MS, replace=False)
    former = restore(tmp_path / "copy.db", used, NOW_MS, replace=True)
    assert former is not None
    assert (codes(used), codes(former)) == ({"SL-01"}, {"SL-01", "SL-02"})


def test_restore_refuses_while_the_practice_is_served(used: Path, tmp_path: Path) -> None:
    """A server that has the database open is noticed, and goes on undisturbed."""
    make_backup(used, tmp_path / "copy.db", NOW_MS)
    serving = Store(used)
    assert is_in_use(used)
    refused("backup.in_use", tmp_path / "copy.db", used, NOW_MS, replace=True)
    add_client(serving, "SL-03")
    assert codes(used) == {"SL-01", "SL-03"}
    serving.close()
    assert not is_in_use(used)


def test_what_is_no_whole_backup_is_refused(used: Path, tmp_path: Path) -> None:
    """Text, another program's database, a damaged copy, one of a newer release, nothing at all."""
    target = tmp_path / "new" / "wattlebird.db"
    text = tmp_path / "text.db"
    text.write_text("not a database at all, " * 100)
    refused("backup.other", text, target, NOW_MS, replace=False)
    foreign = tmp_path / "foreign.db"
    with closing(sqlite3.connect(foreign)) as conn:
        conn.execute("CREATE TABLE birds (name)")
    refused("backup.other", foreign, target, NOW_MS, replace=False)
    make_backup(used, tmp_path / "copy.db", NOW_MS)
    content = bytearray((tmp_path / "copy.db").read_bytes())
    content[8192:12288] = bytes(4096)
    (tmp_path / "damaged.db").write_bytes(content)
    with pytest.raises(BackupError):
        restore(tmp_path / "damaged.db", target, NOW_MS, replace=False)
    with closing(sqlite3.connect(tmp_path / "copy.db")) as conn, conn:
        conn.execute("INSERT INTO _sqlite_migrations (migration_set, name, applied_at) "
                     "VALUES ('wattlebird', 'm999', '')")
    refused("backup.newer", tmp_path / "copy.db", target, NOW_MS, replace=False)
    refused("backup.nothing", tmp_path / "none.db", target, NOW_MS, replace=False)
    assert not target.exists()


def said(database: Path, now_ms: int = NOW_MS) -> dict[str, str]:
    return {c.name: c.state for c in health.examine(database, "1-test", "2026-09-21", now_ms)}


def test_examination_of_a_practice_in_order(used: Path, tmp_path: Path) -> None:
    """With a backup of today everything is well, and nothing was changed by looking."""
    make_backup(used, tmp_path / "copy.db", NOW_MS)
    before = backup.sha256_of(used)
    states = said(used, NOW_MS + HOUR_MS)
    states.pop("disk")  # that of the machine the tests run on
    assert states == dict.fromkeys(
        ("integrity", "newer", "schema", "links", "audit", "backup", "packs", "unsent", "jobs"), "ok")
    assert backup.sha256_of(used) == before


def test_examination_grows_stern_with_the_age_of_the_backup(used: Path, tmp_path: Path) -> None:
    """None yet and one of the day before yesterday: look; one of last week: wrong."""
    assert said(used)["no_backup"] == "look"
    make_backup(used, tmp_path / "copy.db", NOW_MS)
    assert [said(used, NOW_MS + h * HOUR_MS)["backup"] for h in (1, 48, 200)] == ["ok", "look", "wrong"]


def test_examination_names_a_changed_trail(used: Path) -> None:
    """A row of the audit trail that somebody rewrote is found."""
    with closing(sqlite3.connect(used)) as conn, conn:
        conn.execute("DROP TRIGGER audit_keeps")
        conn.execute("UPDATE audit SET action = 'nothing' WHERE id = 1")
    assert said(used)["audit"] == "wrong"


def test_examination_of_no_practice(tmp_path: Path) -> None:
    """Where nothing is, nothing is made by looking."""
    assert said(tmp_path / "none" / "wattlebird.db")["database"] == "wrong"
    assert not (tmp_path / "none").exists()


def test_an_answer_is_kept_once(used: Path) -> None:
    """Two therapists who answer the same finding: the first answer stays."""
    store = Store(used)
    with closing(store.connect()) as db:
        with store.write(db):
            db.execute("INSERT INTO users VALUES (1, 'imke', 'Imke', 'lead', '', 1, NULL)")
            db.execute("INSERT INTO devices (device, client_id, handle, device_key, cookie_sha256, kind, made_ms) "
                       "VALUES ('a1', 1, 'h', x'00', '', '', 1)")
        told = {"client_id": 1, "device": "a1", "seq": 3, "rule": "skin", "answered_ms": NOW_MS, "answered_by": 1}
        with store.write(db):
            assert [answers.add(db, note=note, **told) for note in ("rang her", "wrote")] == [True, False]  # type: ignore[arg-type]
        assert [(a.note, a.answered_by_name) for a in answers.of_client(db, 1)] == [("rang her", "Imke")]
    store.close()
