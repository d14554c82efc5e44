"""Transactions, the schema, the audit trail, on a real database file."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest

from webapp.storage import audit, clients, clinic, forms, stimulators, users
from webapp.storage.clients import ClientDetails
from webapp.storage.clinic import Clinic
from webapp.storage.database import Db, Store

DAY_MS = 86_400_000


def add_user(db: Db, login: str = "ines", role: str = "lead", password_hash: str = "h") -> int:
    return users.add(db, login=login, name=login.title(), role=role, password_hash=password_hash, created_ms=1)


def test_every_table_is_strict(store: Store) -> None:
    """No table takes a text for a number."""
    db = store.connect()
    tables = [row for row in db.query("PRAGMA table_list") if row["type"] == "table" and row["schema"] == "main"]
    own = [row for row in tables if not str(row["name"]).startswith(("sqlite_", "_sqlite"))]
    assert len(own) > 12
    assert [row["name"] for row in own if not row["strict"]] == []
    db.close()


def test_error_leaves_nothing_behind(store: Store) -> None:
    """A write transaction that fails half-way leaves no row, its audit row included."""
    db = store.connect()

    def write_and_fail() -> None:
        with store.write(db) as writing:
            add_user(writing)
            audit.append(writing, at_ms=1, user_id=None, action="person_added", client_id=None, detail={})
            raise RuntimeError("power cut")

    with pytest.raises(RuntimeError, match="power cut"):
        write_and_fail()
    assert users.count(db) == 0
    assert db["audit"].count == 0
    db.close()


def test_writers_at_once_lose_nothing(store: Store) -> None:
    """Twenty writers with a connection each, all at once: every row is there, and the audit trail is one chain."""

    def write(n: int) -> None:
        db = store.connect()
        with store.write(db):
            add_user(db, f"user{n}")
            audit.append(db, at_ms=n, user_id=None, action="person_added", client_id=None, detail={"n": n})
        db.close()

    threads = [threading.Thread(target=write, args=(n,)) for n in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    db = store.connect()
    assert users.count(db) == 20
    assert db["audit"].count == 20
    assert audit.first_broken(db) is None
    db.close()


def test_opening_again_changes_nothing(tmp_path: Path) -> None:
    """A store that is opened a second time keeps its mark and its rows."""
    first = Store(tmp_path / "wattlebird.db")
    db = first.connect()
    with first.write(db):
        add_user(db)
    epoch = clinic.store_epoch(db)
    db.close()
    first.close()
    again = Store(tmp_path / "wattlebird.db")
    db = again.connect()
    assert users.count(db) == 1
    assert clinic.store_epoch(db) == epoch
    assert len(epoch) == 16
    db.close()
    again.close()


def test_audit_trail_takes_no_change(store: Store) -> None:
    """The database itself refuses to change or delete an audit row."""
    db = store.connect()
    with store.write(db):
        audit.append(db, at_ms=1, user_id=1, action="signed_in", client_id=None, detail={})
    for statement in ("UPDATE audit SET action = 'x'", "DELETE FROM audit"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.conn.execute(statement)
        db.conn.rollback()
    db.close()


@pytest.mark.parametrize("change", [
    "UPDATE audit SET action = 'nothing' WHERE id = 2", "UPDATE audit SET user_id = 9 WHERE id = 2",
    "UPDATE audit SET detail = '{}' WHERE id = 2", "UPDATE audit SET at_ms = 0 WHERE id = 2",
    "DELETE FROM audit WHERE id = 2",
])
def test_audit_trail_shows_a_change(store: Store, change: str) -> None:
    """Somebody who takes the triggers away and changes a row is seen by the chain of hashes."""
    db = store.connect()
    with store.write(db):
        for n in range(4):
            audit.append(db, at_ms=n, user_id=n, action="read", client_id=n, detail={"n": n})
    assert audit.first_broken(db) is None
    db.conn.execute("DROP TRIGGER audit_keeps")
    db.conn.execute("DROP TRIGGER audit_stays")
    db.conn.execute(change)
    db.conn.commit()
    assert audit.first_broken(db) in {2, 3}
    db.close()


def test_clinic_is_read_as_written(store: Store) -> None:
    """What a clinic tells of itself comes back as it was told, in any script."""
    told = Clinic(name="Saltmarsh Lane Rehab", lines=("3 Saltmarsh Lane", "Übersee"), call_who="The front desk",
                  call_phone="0100 200", call_when="8 to 4", call_skin="The front desk, else a doctor",
                  emergency="Call 999", cautions=("Not near the kiln.",), time_zone="Europe/London")
    db = store.connect()
    assert not clinic.read(db).is_described
    with store.write(db):
        clinic.change(db, told)
    assert clinic.read(db) == told
    assert clinic.read(db).is_described
    db.close()


def test_client_is_read_as_written(store: Store) -> None:
    """A client comes back as written; a code is one client's, whatever its case."""
    db = store.connect()
    with store.write(db):
        therapist = add_user(db)
        details = ClientDetails(phone="0100", helper_name="Tilda", helper_phone="0101", notes="likes mornings")
        client_id = clients.add(db, code="SL-07", first_name="Maren", working_side="right", language="en",
                                details=details, therapist_id=therapist, created_ms=5)
    client = clients.read(db, client_id)
    assert client
    assert (client.code, client.first_name, client.details) == ("SL-07", "Maren", details)
    assert clients.read_by_code(db, "sl-07") == client
    with store.write(db):
        clients.archive(db, client_id, 9)
    assert clients.list_active(db) == []
    assert [one.id for one in clients.list_archived(db)] == [client_id]
    with store.write(db):
        clients.take_back(db, client_id)
    assert [one.id for one in clients.list_active(db)] == [client_id]
    db.close()


def test_stimulator_is_read_as_written(store: Store) -> None:
    """A description comes back as written, and is changed and archived by number."""
    db = store.connect()
    with store.write(db):
        added = stimulators.add(db, {"name": "Grey box", "quickest_stop": "Press “off”."}, 1)
        stimulators.change(db, added, {"name": "Green box", "quickest_stop": "Press “off”."}, 2)
    stored = stimulators.read(db, added)
    assert stored
    assert (stored.name, stored.description["name"], stored.changed_ms) == ("Green box", "Green box", 2)
    with store.write(db):
        stimulators.archive(db, added, 3)
    assert stimulators.list_active(db) == []
    db.close()


def test_form_is_kept_a_day_without_passwords(store: Store) -> None:
    """A form is kept as typed for its owner and page, for a day, without passwords and tokens."""
    db = store.connect()
    typed = [("name", "A “name”"), ("drives", "cycled"), ("drives", "steady"), ("password", "p"), ("csrf_token", "t"),
             ("new_password", "q")]
    with store.write(db):
        forms.keep(db, "Ines", "/clinic/practice", typed, 0)
    assert forms.read(db, "ines", "/clinic/practice", DAY_MS) == typed[:3]
    assert forms.read(db, "otto", "/clinic/practice", 1) is None
    assert forms.read(db, "ines", "/clinic/people", 1) is None
    assert forms.read(db, "ines", "/clinic/practice", DAY_MS + 1) is None
    db.close()


def test_first_password_token_works_for_its_time(store: Store) -> None:
    """A link leads to its person until it ends, is replaced, or the account is closed."""
    db = store.connect()
    with store.write(db):
        person = add_user(db)
        users.keep_first_password_token(db, person, "first", 100)
    assert users.read_by_first_password_token(db, "first", 99)
    assert users.read_by_first_password_token(db, "first", 100) is None
    assert "first" not in str(list(db.query("SELECT * FROM first_passwords")))
    with store.write(db):
        users.keep_first_password_token(db, person, "second", 200)
    assert users.read_by_first_password_token(db, "first", 1) is None
    with store.write(db):
        users.disable(db, person, 5)
    assert users.read_by_first_password_token(db, "second", 1) is None
    db.close()


def test_one_who_can_add_people_remains(store: Store) -> None:
    """Only people who can sign in and may add others count as keepers."""
    db = store.connect()
    with store.write(db):
        lead = add_user(db)
        add_user(db, "otto", "therapist")
        add_user(db, "rui", "administrator", password_hash="")
    assert not users.keeper_remains(db, without_id=lead)
    with store.write(db):
        add_user(db, "ada", "administrator")
    assert users.keeper_remains(db, without_id=lead)
    db.close()
