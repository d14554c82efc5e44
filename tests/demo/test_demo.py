"""The invented practice: whole, made as a real one is, and the same histories whatever day it is made on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from webapp.demo.cases import CASES, Case
from webapp.demo.clinic import PASSWORD, saltmarsh_lane
from webapp.demo.diary import Written, handed_in, moved_to_planned_days
from webapp.demo.making import DemoError, demo_is_made, issued_plan, remove_demo, write_diary
from webapp.demo.programmes import hand_as_in_trials
from webapp.formats.issued_json import read_issued
from webapp.formats.log_record import read_record
from webapp.intake import digest_through
from webapp.passwords import SHORTEST
from webapp.practice.attention import Contact, reasons
from webapp.practice.schedule import read_version
from webapp.practice.session import Entry, read_log
from webapp.prescribing.issue import stops
from webapp.settings import load_settings
from webapp.storage import clients, devices, packs, plans, records, stimulators, users
from webapp.storage.database import Db, Store
from webapp.translations import translator

WEDNESDAY = date(2026, 10, 14)
T = translator("en")


@contextmanager
def opened(folder: Path) -> Iterator[Db]:
    store = Store(load_settings(folder).database_path)
    db = store.connect()
    yield db
    db.close()
    store.close()


def test_demo_is_a_small_practice(made_demo: Path) -> None:
    """Three therapists, twelve clients, two stimulators, a pack for every plan in force."""
    with opened(made_demo) as db:
        assert (users.count(db), len(clients.list_active(db)), len(stimulators.list_active(db))) == (3, 12, 2)
        live = plans.live(db, WEDNESDAY.isoformat())
        assert len(live) == 12
        assert all(packs.newest_for_client(db, p.client_id) for p in live)
    assert len(PASSWORD) >= SHORTEST


def test_records_came_through_the_intake_whole(made_demo: Path) -> None:
    """Every phone's records can be read, have no gap before the last that came, and none was kept aside."""
    with opened(made_demo) as db:
        for client in clients.list_active(db):
            stored = records.of_client(db, client.id)
            assert not [r for r in stored if r.aside]
            assert all(read_record(r.content).is_known for r in stored)
            for phone in devices.of_client(db, client.id):
                hashes = records.hashes(db, phone.device, phone.handle)
                assert digest_through(hashes)[0] == len(hashes)


def test_weeks_of_practice_are_two_to_three_months(made_demo: Path) -> None:
    """The longest history is over two months, none over three, and it ends on the day it was made."""
    with opened(made_demo) as db:
        days = [(WEDNESDAY - date(1970, 1, 1)).days - r.at_min // 1440
                for c in clients.list_active(db) for r in records.of_client(db, c.id)]
    assert 60 < max(days) < 93
    assert min(days) == 0


def test_second_start_finds_the_demo(demo_folder: Path) -> None:
    """A finished demo is known by its mark; only a demo is ever thrown away."""
    assert demo_is_made(demo_folder) == WEDNESDAY
    remove_demo(demo_folder)
    assert demo_is_made(demo_folder) is None


def test_folder_with_something_else_is_left_alone(tmp_path: Path) -> None:
    """A practice that is no demo is neither used nor removed."""
    (tmp_path / "wattlebird.db").write_bytes(b"a real practice")
    with pytest.raises(DemoError):
        remove_demo(tmp_path)
    assert (tmp_path / "wattlebird.db").read_bytes() == b"a real practice"


def history(case: Case, today: date) -> list[dict[str, Any]]:
    return [json.loads(json.dumps(issued_plan(case, issue, saltmarsh_lane("UTC"), today, T))) for issue in case.issues]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.first_name)
def test_plans_are_whole_and_without_a_stop(case: Case) -> None:
    """Each plan of the demo could be issued by hand."""
    for issued in history(case, WEDNESDAY):
        read_issued(issued)
        assert not any(stops(e, issued["version"], issued["first_day"]) for e in issued["exercises"])


def test_plan_as_in_trials_has_their_figures() -> None:
    """35 Hz (Sci Rep 2021;11); two sessions of 29 minutes, ten a week (Trials 2022, s13063-022-06303-y)."""
    programme = hand_as_in_trials()
    assert (programme.settings["frequency_hz"], programme.settings["session_min"]) == (35, 29)
    assert len(programme.days) * len(programme.slots) == 10


def diary(case: Case, today: date) -> tuple[Case, list[Written]]:
    """Writes a case's diary as of two in the afternoon of a day."""
    issued = history(case, today)
    moved = moved_to_planned_days(case, [read_version(one) for one in issued], today)
    now = datetime(today.year, today.month, today.day, 14, tzinfo=UTC)
    written = write_diary(moved, issued, today, now)
    came = {n for _at, n in handed_in(moved, written, today, now)}
    return moved, [w for n, w in enumerate(written) if n in came]


def test_diary_of_a_day_is_always_the_same() -> None:
    """The generator is seeded: the same day gives the same weeks."""
    for case in CASES[:3]:
        assert diary(case, WEDNESDAY) == diary(case, WEDNESDAY)


EXPECTED = {"SL-03": "skin_stays", "SL-04": "skin", "SL-08": "silent", "SL-09": "quiet", "SL-10": "lost_twice",
            "SL-11": "pain", "SL-01": "ends"}


@pytest.mark.parametrize("weekday", range(7))
def test_histories_tell_the_same_on_every_day_of_the_week(weekday: int) -> None:
    """Whatever day the demo is made on, Ines has bumps, Tomas is silent, Ruta is quiet, and so on."""
    today = WEDNESDAY + timedelta(days=weekday)
    for code, rule in EXPECTED.items():
        case = next(c for c in CASES if c.code == code)
        _moved, written = diary(case, today)
        place = {id(w): n for n, w in enumerate(written)}
        entries = [Entry(device="a", seq=place[id(w)] + 1, kind=w.kind, fields=w.fields, **w.head) for w in written]
        silent = case.silent_since is not None
        last = max(e.day for e in entries) if silent else today
        versions = [read_version(one) for one in history(case, today)]
        found = reasons(read_log(entries), versions, Contact(phones_n=1, last_day=last), frozenset(), today)
        assert rule in {r.rule for r in found}, (case.first_name, today)
