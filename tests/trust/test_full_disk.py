"""A disk that is full, a database that cannot be written, fifty requests at once: clear answers, no false receipt."""

from __future__ import annotations

import http.client
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.therapist.house import House
from tests.trust.lives import Lives
from tests.trust.load import NOW_MS
from tests.trust.phones import ModelPhone, Sent, new_phone
from tests.trust.practice import make_practice, on_the_wire
from tests.waiting import until
from webapp.jobs import Progress, Worker
from webapp.storage import jobs, records
from webapp.storage.database import Db, Store, connect

AT_ONCE = 50


class SmallDisk:
    """A clinic and a phone; the disk below the database has no room, or cannot be written, for as long as a test says.

    SQLite itself refuses, by the limits that it has for a connection: max_page_count gives SQLITE_FULL, query_only
    gives SQLITE_READONLY.
    """

    def __init__(self, folder: Path, reason: str) -> None:
        self.reason = reason
        self.house = House(folder)
        self.phone = new_phone(self.house.practice.store, "SL-07")
        self.desk = self.house.browser("otto")
        self.is_in_trouble = False
        self._connect = self.house.practice.store.connect
        self.house.practice.store.connect = self._connects  # type: ignore[method-assign]

    def _connects(self) -> Db:
        db = self._connect()
        if self.is_in_trouble:
            db.conn.execute(f"PRAGMA {TROUBLES[self.reason]}").fetchall()
        return db

    def syncs(self) -> tuple[int, str, bool]:
        """Has the phone sync; gives the status, the answer's text, and whether the phone believes it."""
        sent = self.phone.sends(self.house.clock.ms)
        answer = self.house.app.test_client().post("/exchange/sync", data=sent.body, headers=sent.headers)
        return answer.status_code, answer.text, self.phone.hears(on_the_wire(answer))

    def stored(self) -> list[bytes]:
        return [one.content for one in records.of_device(self.house.db, self.phone.device.device)]


TROUBLES = {"full": "max_page_count = 1", "read_only": "query_only = ON"}


@pytest.fixture(params=sorted(TROUBLES))
def disk(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[SmallDisk]:
    disk = SmallDisk(tmp_path, request.param)
    yield disk
    disk.house.close()


def records_much(phone: ModelPhone, count: int) -> None:
    """Has a phone record more than the free space of the database's last pages holds."""
    for seed in range(count):
        phone.writes(seed, NOW_MS)


def test_a_phone_gets_no_receipt_and_its_log_comes_home_when_there_is_room(disk: SmallDisk) -> None:
    """The refusal names its reason, nothing is stored, nothing is marked; afterwards all goes on by itself."""
    records_much(disk.phone, 60)
    disk.is_in_trouble = True
    status, text, believed = disk.syncs()
    assert (status, believed, disk.phone.through, disk.stored()) == (503, False, 0, [])
    assert f"store_{disk.reason}" in text
    disk.is_in_trouble = False
    assert disk.syncs()[::2] == (200, True)
    assert disk.stored() == disk.phone.log == disk.phone.received


def test_a_therapist_reads_what_is_wrong_and_goes_on_later(disk: SmallDisk) -> None:
    """Pages without a write still open; a log that is handed in is refused in words and can be handed in again."""
    records_much(disk.phone, 60)
    payloads = disk.phone.shows(0, None)
    token = disk.desk.token()
    disk.is_in_trouble = True
    disk.house.clock.pass_minutes(2)
    assert disk.desk.get("/clinic/returns").status_code == 200
    refused = disk.desk.client.post("/clinic/returns/take-in", json={"payloads": payloads, "road": "code"},
                                    headers={"X-CSRFToken": token})
    assert refused.status_code == 503
    assert {"full": "no room left", "read_only": "cannot store anything"}[disk.reason] in refused.text
    assert disk.stored() == []
    disk.is_in_trouble = False
    taken = disk.desk.client.post("/clinic/returns/take-in", json={"payloads": payloads, "road": "code"},
                                  headers={"X-CSRFToken": token})
    assert taken.status_code == 200
    assert disk.stored() == disk.phone.log


def test_nobody_is_half_signed_in(tmp_path: Path) -> None:
    """A sign-in that cannot be kept is refused in words, and works later."""
    disk = SmallDisk(tmp_path, "read_only")
    disk.is_in_trouble = True
    browser = disk.house.browser()
    refused = browser.get("/clinic/sign-in")
    assert refused.status_code == 503
    assert "Nothing was changed" in refused.text
    disk.is_in_trouble = False
    assert browser.sign_in("ines").status_code == 303
    disk.house.close()


def test_work_waits_for_room_and_is_done_then(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """The worker neither dies nor forgets: a job that stopped half-way is done from its beginning."""
    disk = SmallDisk(tmp_path, "read_only")
    store, seen = disk.house.practice.store, list[str]()

    def work(_db: Db, _subject_id: int, progress: Progress) -> None:
        seen.append("begun")
        disk.is_in_trouble = len(seen) == 1
        with closing(store.connect()) as db, store.write(db):
            db.execute("UPDATE clinic SET name = 'Saltmarsh Lane Rehab'")
        progress(1, 1)

    with store.write(disk.house.db):
        jobs.add(disk.house.db, "make", 1, 1)
    worker = Worker(store, {"make": work}, disk.house.clock)
    worker.start()
    until(lambda: "jobs wait" in caplog.text)
    disk.is_in_trouble = False
    worker.wake()
    until(lambda: (job := jobs.latest(disk.house.db, "make", 1)) and job.state == "done")
    worker.stop()
    assert seen == ["begun", "begun"]
    disk.house.close()


# --- fifty at once ---


def _posts(sent: Sent, port: int, start: threading.Barrier, answers: list[tuple[int, bytes]]) -> None:
    start.wait(30)
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as server:
        server.request("POST", "/exchange/sync", sent.body, sent.headers)
        answer = server.getresponse()
        answers.append((answer.status, answer.read()))


def test_fifty_identical_requests_at_once_are_taken_in_once(tmp_path: Path) -> None:
    """One row for each record, fifty receipts that say the same, no failure: the real server, all at one moment."""
    settings = make_practice(tmp_path)
    store = Store(settings.database_path)
    phone = new_phone(store, "SL-07")
    store.close()
    records_much(phone, 20)
    lives, answers = Lives(settings), list[tuple[int, bytes]]()
    start, sent = threading.Barrier(AT_ONCE), phone.sends(NOW_MS)
    lives.starts()
    try:
        threads = [threading.Thread(target=_posts, args=(sent, lives.port, start, answers)) for _ in range(AT_ONCE)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        lives.is_killed()
    assert [status for status, _ in answers] == [200] * AT_ONCE
    assert len({_without_time(body) for _, body in answers}) == 1
    with closing(connect(settings.database_path)) as db:
        assert [one.content for one in records.of_device(db, phone.device.device)] == phone.log


def _without_time(body: bytes) -> bytes:
    return body.partition(b',"server_ms"')[0]


def test_the_database_refuses_a_second_row_whatever_the_code_does(tmp_path: Path) -> None:
    """Two records under one number that both count, or one content twice, cannot be in the table."""
    settings = make_practice(tmp_path)
    store = Store(settings.database_path)
    phone = new_phone(store, "SL-07")
    row = {"device": phone.device.device, "client_id": phone.device.client_id, "seq": 1, "kind": "x", "at_min": 0,
           "utc_q": 0, "road": "sync", "store": "", "received_ms": 0, "late": 0}
    with closing(store.connect()) as db:
        records.add(db, {**row, "content": b"a", "content_sha256": b"A", "aside": 0})
        for again in ({"content": b"b", "content_sha256": b"B", "aside": 0},
                      {"content": b"a", "content_sha256": b"A", "aside": 1}):
            with pytest.raises(sqlite3.IntegrityError):
                records.add(db, {**row, **again})
    store.close()
