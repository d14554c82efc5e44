"""A practice of a chosen size, made by a seeded generator through the intake; kept in instance/bench and gone on with.

Clients practise as the demo's do: missed days, a cold, red skin, worn pads. One transaction a client, so what was made
before a stop is there afterwards.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from webapp.demo import programmes as p
from webapp.demo.cases import Case, Issue
from webapp.demo.clinic import saltmarsh_lane
from webapp.demo.diary import Written
from webapp.demo.making import issued_plan, write_diary
from webapp.formats.log_record import FORMAT, canonical
from webapp.intake import take_in
from webapp.sealing import sha256_hex
from webapp.storage import clients, clinic, devices, plans, users
from webapp.storage.database import Db, Store
from webapp.storage.devices import Device
from webapp.translations import translator

FOLDER = Path(__file__).resolve().parents[2] / "instance" / "bench"
SEED = 20_261_125
THERAPISTS, SESSIONS_A_CLIENT = 20, 500
DAY_MS = 86_400_000
SKIN_ANSWERS = (2, 3, 4, 5)


def clients_for(sessions_n: int) -> int:
    """Gives the clients of a practice: 2,000 for a million sessions."""
    return max(THERAPISTS, round(sessions_n / SESSIONS_A_CLIENT))


def large_practice(sessions_n: int, say: Callable[[str], None]) -> Path:
    """Makes the practice of about so many sessions, or goes on with one that was cut off; returns its folder."""
    folder = FOLDER / f"practice-{sessions_n}"
    store = Store(folder / "wattlebird.db")
    db = store.connect()
    now_ms = _made_at(folder)
    therapists = _people(store, db, now_ms)
    begun = time.monotonic()
    there = len(clients.list_active(db))
    for n in range(there, clients_for(sessions_n)):
        _add_client(store, db, n, sessions_n / clients_for(sessions_n), therapists[n % THERAPISTS], now_ms)
        if n % 20 == 19:
            made, of = n + 1, clients_for(sessions_n)
            left_s = (time.monotonic() - begun) / (made - there) * (of - made)
            say(f"   {made} of {of} clients, {left_s:.0f} s to go")
    db.close()
    store.close()
    return folder


def _made_at(folder: Path) -> int:
    """Remembers the moment that the practice was begun at, so that going on makes the same clients."""
    mark = folder / "made.json"
    if not mark.exists():
        mark.write_text(json.dumps({"now_ms": time.time_ns() // 1_000_000}), encoding="utf-8")
    return int(json.loads(mark.read_text(encoding="utf-8"))["now_ms"])


def _people(store: Store, db: Db, now_ms: int) -> list[int]:
    with store.write(db):
        if not users.list_all(db):
            clinic.change(db, saltmarsh_lane("UTC"))
            for n in range(THERAPISTS):
                users.add(db, login=f"therapist{n:02d}", name=f"Therapist {n}", role="therapist", password_hash="",
                          created_ms=now_ms)
    return [user.id for user in users.list_all(db)]


def _add_client(store: Store, db: Db, n: int, sessions_n: float, therapist_id: int, now_ms: int) -> None:
    chance, now = Random(f"{SEED} {n}"), datetime.fromtimestamp(now_ms / 1000, UTC).astimezone(ZoneInfo("UTC"))
    case = _case(n, chance, sessions_n)
    history = [issued_plan(case, issue, clinic.read(db), now.date(), translator("en")) for issue in case.issues]
    written = write_diary(case, history, now.date(), now)
    with store.write(db):
        client_id = clients.add(db, code=case.code, first_name=case.first_name, working_side="right", language="en",
                                details=clients.ClientDetails(), therapist_id=therapist_id, created_ms=now_ms)
        for plan in history:
            plans.insert(db, client_id=client_id, version=plan["version"], issued=json.dumps(plan), note="",
                         user_id=therapist_id, now_ms=_day_ms(plan["issued_on"]))
        phone = _phone(db, client_id, n, now_ms - 300 * DAY_MS)
        heard_ms = now_ms - (chance.randrange(1, 12) * DAY_MS if chance.random() < 0.1 else 0)
        contents = [_bytes(phone, record, seq) for seq, record in enumerate(written, 1)]
        devices.saw(db, phone.device, heard_ms)
        take_in(db, phone, contents, "sync", phone.handle, heard_ms)


def _case(n: int, chance: Random, sessions_n: float) -> Case:
    """Draws one client: twice a day, so many weeks that the wanted number of sessions comes about."""
    programme = chance.choice((p.hand_as_in_trials, p.foot_as_in_trial, p.elbow, p.grasp, p.deltoid, p.knee))()
    done = chance.uniform(0.5, 0.98)
    slots = ("morning", "afternoon", "evening")[:chance.choice((1, 2, 2, 3))]
    a_week = len(programme.days) * len(slots) * done
    days = max(14, round(7 * chance.uniform(0.5, 1.5) * sessions_n / a_week))
    exercise = p.Programme(title=programme.title, channels=programme.channels, settings=programme.settings,
                           task=programme.task, looks_right=programme.looks_right, days=programme.days, slots=slots,
                           unit=programme.unit)
    issues = (Issue(days_ago=days, exercises=(exercise,)),
              Issue(days_ago=days // 2, exercises=(exercise,), words=("A new version",)))
    events = chance.sample(range(1, days), min(days - 1, 6))
    return Case(
        code=f"B-{n:05d}", first_name=f"Client {n}", working_side="right", therapist="", story="", issues=issues,
        done=done, pain=chance.randrange(4), effort=chance.randrange(3, 7), hands_on=chance.random() / 4,
        pink=chance.random() / 3, strength=(0.8, chance.uniform(0.95, 1.02)), last_day_in=chance.randrange(-3, 60),
        idle_since=chance.randrange(4, 12) if chance.random() < 0.06 else None,
        skin={events[0]: (0, chance.choice(SKIN_ANSWERS))} if chance.random() < 0.25 else {},
        pain_on={events[1]: 8} if chance.random() < 0.1 else {}, notes=dict.fromkeys(events[2:5], "The lead came off."))


def _day_ms(day: str) -> int:
    return int(datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC).timestamp() * 1000)


def _phone(db: Db, client_id: int, n: int, made_ms: int) -> Device:
    made = sha256_hex(f"{SEED} {n}")
    phone = Device(device=made[:16], client_id=client_id, link_id=None, handle=made[16:32], cookie_sha256=made,
                   device_key=bytes.fromhex(made), rejoin_sha256=None, rejoin_ends_ms=None, kind="phone",
                   made_ms=made_ms, seen_ms=None, pack_id=None, revoked_ms=None)
    devices.add(db, phone)
    return phone


def _bytes(phone: Device, record: Written, seq: int) -> bytes:
    named = {} if record.refers_to is None else {"session_seq": record.refers_to + 1}
    return canonical({"format": FORMAT, "device": phone.device, "seq": seq, "kind": record.kind, **record.head,
                      **record.fields, **named})


def sessions_of(folder: Path) -> int:
    """Counts the sessions of a practice."""
    store = Store(folder / "wattlebird.db")
    db = store.connect()
    found = next(db.query("SELECT count(*) AS n FROM records WHERE kind = 'session'"))
    db.close()
    store.close()
    return int(found["n"])


def days_back(today: date, days: int) -> int:
    """Gives the local minute of midnight so many days ago."""
    return (today - timedelta(days=days) - date(1970, 1, 1)).days * 1440
