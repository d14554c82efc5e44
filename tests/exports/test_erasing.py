"""A client's data as privacy law asks: everything handed out on request, and erased for good on request."""

from __future__ import annotations

import io
import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.exports.invented_practice import CODE, NAME, PHONE, WORDS, InventedPractice
from tests.migrations.make_golden import NOW_MS, ROWS
from tests.migrations.test_migrations import GOLDEN, put_golden
from tests.therapist.house import Browser
from webapp.erasing import erase_client
from webapp.storage import audit, clients, erasures, held, packs, records
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Store
from webapp.storage.held import BY_WAY, SECRETS, STAYS

SECRET_WORDS = (NAME, "000 555 0199", "hurt a little", WORDS)


def page(practice: InventedPractice) -> str:
    return f"/clinic/clients/{practice.client_id}"


def erase(practice: InventedPractice, browser: Browser, code: str = CODE) -> int:
    browser.send(f"{page(practice)}/erase", act="ask")
    return browser.send(f"{page(practice)}/erase", act="erase", code=code).status_code


def held_rows(practice: InventedPractice) -> dict[str, int]:
    return held.count_held(practice.house.db, practice.client_id)


def test_no_table_of_a_clients_rows_is_forgotten(small_practice: InventedPractice) -> None:
    """Every table that names a client, or a row of theirs, is erased with them: one that comes later, too."""
    db = small_practice.house.db
    found = {*held.tables_with_client(db), *BY_WAY}
    assert len(found) > 12
    for name in set(db.table_names()) - found - set(STAYS):
        named = {key.other_table for key in db.table(name).foreign_keys}
        assert not named & found, f"{name} leads to a client and is not erased: see webapp/storage/held.py"


def test_erasing_leaves_nothing_but_the_trail(small_practice: InventedPractice) -> None:
    """No row of any table, and no byte of the files, holds what was told; the audit trail is whole and says who."""
    practice = small_practice
    lead = practice.house.browser("ines")
    lead.send(f"{page(practice)}/report/new", reader="doctor", first="2026-11-12", last="2026-11-18", parts="words",
              words_agreed="yes")
    assert {"records", "plans", "goals", "readings", "reports", "devices", "clients"} <= set(held_rows(practice))
    assert erase(practice, lead) == 303
    assert held_rows(practice) == {}
    assert practice.house.actions()[-2:] == ["erasure_asked", "client_erased"]
    assert audit.first_broken(practice.house.db) is None
    assert practice.house.db.execute("PRAGMA foreign_key_check").fetchall() == []
    files = list(practice.house.settings.data_dir.glob("wattlebird.db*"))
    for word in SECRET_WORDS:
        assert not [file for file in files if word.encode() in file.read_bytes()], word
    assert lead.get(page(practice)).status_code == 404


def test_a_client_with_a_row_in_every_table_is_erased_whole(tmp_path: Path) -> None:
    """The newest golden database, which has a row in each table: none of client 1 is left, and no key leads nowhere."""
    store = Store(put_golden(GOLDEN[-1], tmp_path / "wattlebird.db"))
    with closing(store.connect()) as db:
        assert set(held.count_held(db, 1)) >= set(held.tables_with_client(db))
        with store.write(db):
            erasures.ask(db, 1, NOW_MS, 1)
        asked = erasures.asked(db, 1, NOW_MS)
        assert asked
        erase_client(store, db, asked, packs_dir=tmp_path, made_again=(), at_ms=NOW_MS, user_id=1)
        assert held.count_held(db, 1) == {}
        assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        assert clients.read(db, 2)
    store.close()


def test_another_clients_rows_stay(small_practice: InventedPractice) -> None:
    """Erasing one client touches no other."""
    practice, db = small_practice, small_practice.house.db
    with practice.house.practice.store.write(db):
        other = clients.add(db, code="SL-43", first_name="Other", working_side="left", language="en",
                            details=ClientDetails(), therapist_id=1, created_ms=1)
    before = held.read_held(db, other)
    erase(practice, practice.house.browser("ines"))
    assert held.read_held(db, other) == before


def test_a_wrong_code_or_a_missing_first_step_erases_nothing(small_practice: InventedPractice) -> None:
    """Both steps, in their order, within a day, with the client's own code."""
    practice = small_practice
    lead, before = practice.house.browser("ines"), held_rows(practice)
    assert lead.send(f"{page(practice)}/erase", act="erase", code=CODE).status_code == 422
    assert erase(practice, lead, "SL-99") == 422
    practice.house.clock.pass_minutes(24 * 60 + 1)
    lead = practice.house.browser("ines")
    assert lead.send(f"{page(practice)}/erase", act="erase", code=CODE).status_code == 422
    lead.send(f"{page(practice)}/erase", act="ask")
    lead.send(f"{page(practice)}/erase", act="take_back")
    assert lead.send(f"{page(practice)}/erase", act="erase", code=CODE).status_code == 422
    assert held_rows(practice) == before


def test_only_the_lead_may_erase(small_practice: InventedPractice) -> None:
    """A therapist neither sees the page nor sends the form."""
    therapist = small_practice.house.browser("otto")
    assert therapist.get(f"{page(small_practice)}/erase").status_code == 403
    assert therapist.send(f"{page(small_practice)}/erase", act="ask").status_code == 403
    assert "/erase" not in therapist.get(f"{page(small_practice)}/report").text


@pytest.mark.parametrize("table", ["records", "plans"])
def test_nothing_else_may_delete_what_never_changes(small_practice: InventedPractice, table: str) -> None:
    """An erasure that was only asked for opens nothing, and one client's opens nothing of another's."""
    practice, db = small_practice, small_practice.house.db
    delete: Callable[[], object] = lambda: db.execute(f"DELETE FROM {table}")  # noqa: E731
    with practice.house.practice.store.write(db):
        erasures.ask(db, practice.client_id, 1, 1)
    with pytest.raises(sqlite3.IntegrityError, match="stays"):
        delete()
    with practice.house.practice.store.write(db):
        db.execute("INSERT INTO erasures (client_id, asked_ms, asked_by, begun_ms) VALUES (999, 1, 1, 1)")
    with pytest.raises(sqlite3.IntegrityError, match="stays"):
        delete()
    assert len(records.of_client(db, practice.client_id)) > 3


def test_an_erased_clients_number_is_never_given_again(small_practice: InventedPractice) -> None:
    """The trail names a client by number: the next client is another one."""
    practice = small_practice
    erase(practice, practice.house.browser("ines"))
    with practice.house.practice.store.write(practice.house.db) as db:
        again = clients.add(db, code=CODE, first_name="New", working_side="left", language="en",
                            details=ClientDetails(), therapist_id=1, created_ms=1)
    assert again > practice.client_id


def test_files_of_their_pack_and_spoken_cues_go_and_shared_files_stay(small_practice: InventedPractice) -> None:
    """What only the erased client's pack named is deleted, and what was spoken; what another pack names is not."""
    practice, db = small_practice, small_practice.house.db
    packs_dir = practice.house.settings.packs_dir
    own, shared = "aa" + "1" * 62, "bb" + "2" * 62
    for name in (own, f"{own}.gz", shared):
        (packs_dir / name[:2]).mkdir(parents=True, exist_ok=True)
        (packs_dir / name[:2] / name).write_bytes(b"x")
    with practice.house.practice.store.write(db):
        other = clients.add(db, code="SL-43", first_name="Other", working_side="left", language="en",
                            details=ClientDetails(), therapist_id=1, created_ms=1)
        db.execute("INSERT INTO plans (client_id, version, issued, note, issued_ms, issued_by)"
                   " VALUES (?, 1, '{}', '', 1, 1)", [other])
        theirs = [int(row["id"]) for row in db.query("SELECT id FROM plans ORDER BY id")]
        packs.add(db, theirs[0], "r", "a" * 32, json.dumps({"files": {"x": {"sha256": own}, "y": {"sha256": shared}}}),
                  1)
        packs.add(db, theirs[-1], "r", "b" * 32, json.dumps({"files": {"y": {"sha256": shared}}}), 1)
    spoken = practice.house.settings.clips_dir / "well-done-solvejg.wav"
    spoken.parent.mkdir(parents=True, exist_ok=True)
    spoken.write_bytes(b"RIFF")
    erase(practice, practice.house.browser("ines"))
    assert [file.name for file in sorted(packs_dir.rglob("*")) if file.is_file()] == [shared]
    assert not spoken.exists()


def test_the_phone_of_an_erased_client_is_let_in_no_more(small_practice: InventedPractice) -> None:
    """Its device is not known any more."""
    erase(small_practice, small_practice.house.browser("ines"))
    assert not list(small_practice.house.db.query("SELECT 1 FROM devices WHERE device = ?", [PHONE]))


def test_everything_held_is_handed_out(small_practice: InventedPractice, tmp_path: Path) -> None:
    """A table for each that holds rows, the records as the phone wrote them, the usual files; nothing that opens."""
    practice = small_practice
    lead = practice.house.browser("ines")
    answer = lead.send(f"{page(practice)}/everything")
    packed = ZipFile(io.BytesIO(answer.data))
    assert packed.testzip() is None
    names = set(packed.namelist())
    assert {f"tables/{table}.json" for table in held_rows(practice)} <= names
    assert {"README.txt", "fhir.json", "sessions.csv", "calendar.ics", "tables/measures.json"} <= names
    handed = json.loads(packed.read("tables/records.json"))
    stored = records.of_client(practice.house.db, practice.client_id)
    assert [one["content"] for one in handed] == [json.loads(one.content) for one in sorted(stored, key=lambda r: r.id)]
    assert json.loads(packed.read("tables/clients.json"))[0]["details"]["phone"] == "000 555 0199"
    columns = {name for file in names if file.startswith("tables/") for row in json.loads(packed.read(file))
               for name in row}
    assert not columns & SECRETS
    assert "password" not in " ".join(columns)
    assert CODE in packed.read("README.txt").decode()
    assert practice.house.actions()[-1] == "file_handed_out"


def test_secrets_are_named_as_the_schema_names_them() -> None:
    """Each secret column is one that the practice's tables have."""
    assert SECRETS - {"rejoin_sha256"} <= {name for rows in ROWS.values() for row in rows for name in row}
