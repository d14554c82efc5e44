"""Makes the golden database of the newest schema: `python -m tests.migrations.make_golden`.

Run once when a step was added to webapp/storage/migrations.py, and commit the file. A golden database that is there is
never made anew: it is what a practice of that release has on its disk.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from tests.exchange.invented_phone import not_today
from webapp.formats.log_record import content_hash
from webapp.storage import audit
from webapp.storage.database import Db
from webapp.storage.migrations import migrations

FOLDER = Path(__file__).resolve().parent
NOW_MS = 1_795_500_000_000
DEVICE = "5a17e0c4b2963f81"
HASH = "ab" * 32


def _record(row_id: int, seq: int, content: bytes, **changed: Any) -> dict[str, Any]:
    return {"id": row_id, "device": DEVICE, "client_id": 1, "seq": seq, "kind": "not_today", "at_min": 29_925_000 + seq,
            "utc_q": 4, "content": content, "content_sha256": content_hash(content), "road": "sync", "store": "c0ffee",
            "received_ms": NOW_MS, "aside": 0, "late": 0, **changed}


ROWS: dict[str, list[dict[str, Any]]] = {
    "users": [{"id": 1, "login": "ines", "name": "Ines Wallaroo", "role": "lead", "password_hash": "h",
               "created_ms": 1},
              {"id": 2, "login": "Otto", "name": "Otto Brindle", "role": "therapist", "password_hash": "",
               "created_ms": 2, "disabled_ms": 3}],
    "sign_in_failures": [{"who": HASH, "failures": 3, "wait_until_ms": NOW_MS}],
    "sessions": [{"id_sha256": HASH, "user_id": 1, "content": '{"user_id": 1}', "created_ms": 1, "seen_ms": 2,
                  "ends_ms": 3}],
    "saved_forms": [{"id": HASH, "login": "ines", "path": "/clinic/practice", "content": '[["name", "Übersee"]]',
                     "saved_ms": 4}],
    "clients": [{"id": 1, "code": "SL-07", "first_name": "Maren", "working_side": "both", "language": "en",
                 "details": '{"phone": "0100", "notes": "likes mornings"}', "therapist_id": 1, "created_ms": 5},
                {"id": 2, "code": "SL-08", "first_name": "Sol", "working_side": "left", "language": "en",
                 "details": "{}", "created_ms": 6, "archived_ms": 7}],
    "stimulators": [{"id": 1, "name": "Grey box", "description": '{"name": "Grey box"}', "created_ms": 8,
                     "changed_ms": 9}],
    "drafts": [{"client_id": 1, "content": '{"hold_s": "half typed"}', "saved_ms": 10, "saved_by": 1}],
    "plans": [{"id": n, "client_id": 1, "version": n, "issued": json.dumps({"version": n}), "note": "“shorter”",
               "issued_ms": 10 + n, "issued_by": 1} for n in (1, 2)],
    "packs": [{"plan_id": 2, "release": "0.1.0-a", "pack_id": "a" * 32, "manifest": "{}", "made_ms": 13}],
    "jobs": [{"id": 1, "kind": "make_pack", "subject_id": 2, "state": "done", "done_n": 4, "of_n": 4, "message": "",
              "made_ms": 14, "ended_ms": 15}],
    "links": [{"id": 1, "client_id": 1, "token_sha256": HASH, "typed_sha256": HASH, "made_ms": 16, "made_by": 1,
               "ends_ms": 17, "uses_left": 3}],
    "devices": [{"device": DEVICE, "client_id": 1, "link_id": 1, "handle": "h" * 16, "device_key": bytes(range(32)),
                 "cookie_sha256": HASH, "kind": "phone", "made_ms": 18, "seen_ms": 19, "pack_id": "a" * 32},
                {"device": "f" * 16, "client_id": 1, "link_id": 1, "handle": "i" * 16, "device_key": bytes(32),
                 "cookie_sha256": HASH, "kind": "phone", "made_ms": 32, "request_sha256": HASH, "replaces": DEVICE}],
    "tries": [{"who": HASH, "minute": 29_925_000, "tries": 2}],
    "records": [_record(1, 1, not_today(DEVICE, 1)), _record(2, 2, not_today(DEVICE, 2, "🙂\0 end"), road="code"),
                _record(3, 2, not_today(DEVICE, 2, "another hand"), aside=1, late=1),
                _record(4, 4, not_today(DEVICE, 4))],
    "backups": [{"id": 1, "at_ms": 20, "sha256": HASH}],
    "first_passwords": [{"token_sha256": HASH, "user_id": 2, "ends_ms": 21}],
    "answers": [{"id": 1, "client_id": 1, "device": DEVICE, "seq": 2, "rule": "skin", "note": "rang her",
                 "answered_ms": 22, "answered_by": 1}],
    "assessments": [{"id": 1, "client_id": 1, "kind": "screening", "subject": "implant", "content": '{"answer": "no"}',
                     "made_ms": 23, "made_by": 1}],
    "goals": [{"id": 1, "client_id": 1, "words": "Hold a cup", "levels": '["a", "b", "c", "d", "e"]', "importance": 3,
               "difficulty": 2, "baseline": -1, "set_on": "2026-09-07", "set_aside": "", "made_ms": 23, "made_by": 1}],
    "goal_reviews": [{"id": 1, "client_id": 1, "goal_id": 1, "day": "2026-10-05", "level": 1, "note": "both hands",
                      "noted_ms": 24, "noted_by": 1}],
    "measures": [{"id": 1, "name": "Grip", "unit": "kg", "direction": "more", "smallest_change": 5.5, "source": "ours",
                  "made_ms": 25}],
    "readings": [{"id": 1, "client_id": 1, "measure_id": 1, "day": "2026-09-07", "value": 7.25, "note": "",
                  "noted_ms": 26, "noted_by": 1, "withdrawn_ms": 27}],
    "reports": [{"id": 1, "client_id": 1, "chosen": "{}", "content": "{}", "made_ms": 28, "made_by": 1}],
    "erasures": [{"id": 1, "client_id": 99, "asked_ms": 29, "asked_by": 1, "begun_ms": 30, "done_ms": 30,
                  "done_by": 1}],
    "rests_ended": [{"id": 1, "client_id": 1, "device": DEVICE, "through": 2, "ended_ms": 31, "ended_by": 1}],
    "caseload_rows": [{"client_id": 1, "day": "2026-10-05", "rank": 0, "reasons_n": 1, "waits": 1, "content": "[]",
                       "lasting": "[2]", "seen_record": 4, "stale": 0}],
    "recordings": [{"client_id": 1, "sha256": HASH, "said": "Öffnen", "wav": b"RIFF\0", "dur_ms": 900, "made_ms": 31,
                    "made_by": 1}],
    "photos": [{"client_id": 1, "sha256": HASH, "jpeg": b"\xff\xd8\0", "width": 3, "height": 4, "made_ms": 32,
                "made_by": 1}],
    "starting_points": [{"id": 1, "name": "Hand, gentle", "aim": "relearning", "content": '{"hold_s": "5"}',
                         "made_ms": 33, "made_by": 1}],
    "equipment": [{"client_id": 1, "content": '{"owner": "clinic"}', "changed_ms": 34, "changed_by": 1}],
    "pauses": [{"id": 1, "client_id": 1, "first_day": "2026-12-24", "last_day": "2026-12-27", "reason": "holiday",
                "made_ms": 35, "made_by": 1, "removed_ms": 36}],
}  # fmt: skip


def step_names() -> list[str]:
    """Names the steps of this release, the first one first."""
    with closing(sqlite3.connect(":memory:")) as empty:
        return [step.name for step in migrations.pending(Db(empty, execute_plugins=False))]


def write_golden(steps: int) -> Path:
    """Writes the database of the first `steps` steps with rows in each of its tables."""
    names = step_names()
    with closing(Db(sqlite3.connect(":memory:"), execute_plugins=False)) as db:
        migrations.apply(db, stop_before=names[steps] if steps < len(names) else None)
        db.execute("UPDATE clinic SET name = 'Saltmarsh Lane Rehab', time_zone = 'Europe/London', store_epoch = ?",
                   ["0123456789abcdef"])
        known = set(db.table_names())
        for table in (one for one in ROWS if one in known):
            db.table(table).insert_all(ROWS[table])
        for n in (1, 2):
            audit.append(db, at_ms=n, user_id=1, action="signed_in", client_id=None, detail={"n": n})
        db.conn.commit()
        file = FOLDER / f"{names[steps - 1]}.sql"
        file.write_text("\n".join(db.conn.iterdump()) + "\n", encoding="utf-8")
    return file


if __name__ == "__main__":
    newest = len(step_names())
    if not (FOLDER / f"{step_names()[-1]}.sql").exists():
        write_golden(newest)
