"""Caseload and review at size: a clinic of 20 therapists, from 10,000 sessions on.

Sizes: 10,000 and 100,000 sessions; WATTLEBIRD_BENCH_SESSIONS=1000000 goes on to a clinic of 2,000 clients (made once
through the intake, some minutes, and kept in instance/bench). Each page is answered by the whole app, sign-in and
template included. The bare SQL asks the same of the records themselves, without pages and without what was worked out
ahead: of a review all that its panels show (`review_sql.WHOLE`), and beside it only the sums of each day. Beside the
clock stands the processor's time, which holds on a busy machine, too.
"""

from __future__ import annotations

import json
import os
import re
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from statistics import quantiles

from flask import Flask
from flask.testing import FlaskClient

from tests.bench.large_practice import THERAPISTS, clients_for, days_back, large_practice, sessions_of
from tests.bench.review_sql import SUMS, WHOLE
from webapp import passwords
from webapp.app import create_app
from webapp.caseload_rows import refresh_outdated
from webapp.http_server import settle_memory
from webapp.settings import Settings
from webapp.storage.database import Store

SIZES = (10_000, 100_000, 1_000_000)
ASKED, ASKING, WARM_UP = 200, 8, 10  # requests of each kind, by so many therapists; the first ones warm up
AIM_MS, AIM_TIMES = 100, 3
PASSWORD = "a bench needs no secret, only a long one"

CASELOAD_SQL = """
SELECT c.id, c.code, c.first_name,
  (SELECT max(version) FROM plans WHERE client_id = c.id) AS version,
  (SELECT json_extract(issued, '$.last_day') FROM plans WHERE client_id = c.id ORDER BY version DESC LIMIT 1) AS ends,
  (SELECT max(seen_ms) FROM devices WHERE client_id = c.id) AS heard,
  (SELECT count(*) FROM records r WHERE r.client_id = c.id AND r.at_min >= ?2 AND r.kind = 'session' AND r.aside = 0
    AND json_extract(CAST(r.content AS TEXT), '$.cued_s') >= 60) AS done,
  (SELECT count(*) FROM records r, json_each(CAST(r.content AS TEXT), '$.skin_after') s WHERE r.client_id = c.id
    AND r.kind = 'session' AND s.value IN (2, 3, 4, 5) AND NOT EXISTS (
      SELECT 1 FROM answers a WHERE a.device = r.device AND a.seq = r.seq AND a.rule = 'skin')) AS findings,
  (SELECT max(at_min) FROM records r WHERE r.client_id = c.id AND r.kind = 'session') AS last_session
FROM clients c WHERE c.therapist_id = ?1 AND c.archived_ms IS NULL
ORDER BY findings DESC, last_session, c.code LIMIT 50"""
TOKEN = re.compile(r'name="csrf_token" value="([^"]+)"')


def run() -> None:
    """Prints each size in one run, and how it grows."""
    most = int(os.environ.get("WATTLEBIRD_BENCH_SESSIONS", "100000"))
    for size in (size for size in SIZES if size <= max(most, SIZES[0])):
        folder = large_practice(size, print)
        with _served(folder) as (app, store, now_ms):
            _print_size(folder, size, store, now_ms)
            _print_pages(app, store, now_ms)


def _print_size(folder: Path, size: int, store: Store, now_ms: int) -> None:
    db = store.connect()
    begun = time.perf_counter()
    n = refresh_outdated(db, lambda: store.write(db), None, now_ms)
    took_s = time.perf_counter() - begun
    print(f"{sessions_of(folder):,} sessions, {clients_for(size):,} clients, {THERAPISTS} therapists; "
          f"{n:,} places worked out anew in {took_s:.1f} s ({1000 * took_s / max(1, n):.1f} ms each)", flush=True)
    db.close()


def _print_pages(app: Flask, store: Store, now_ms: int) -> None:
    db, chance = store.connect(), Random(1)
    therapists = [row["id"] for row in db.query("SELECT id FROM users ORDER BY id LIMIT ?", [ASKING])]
    signed_in = _sign_in(app, store, therapists)
    ids = [row["id"] for row in db.query("SELECT id FROM clients")]
    today = datetime.fromtimestamp(now_ms / 1000, UTC).date()

    def as_therapist() -> Callable[[], object]:
        client = signed_in[chance.choice(therapists)]
        return lambda: _get(client, "/clinic/?whose=mine")

    def one_review() -> Callable[[], object]:
        path, client = f"/clinic/clients/{chance.choice(ids)}", signed_in[chance.choice(therapists)]
        return lambda: _get(client, path)

    def bare(asked: Sequence[str], since: int, choose: Callable[[], int]) -> Callable[[], Callable[[], object]]:
        def made() -> Callable[[], object]:
            value = choose()
            return lambda: [db.conn.execute(sql, [value, since]).fetchall() for sql in asked]

        return made

    def of_client(asked: Sequence[str]) -> Callable[[], Callable[[], object]]:
        return bare(asked, days_back(today, 91), lambda: chance.choice(ids))

    mine = bare([CASELOAD_SQL], days_back(today, 13), lambda: chance.choice(therapists))
    _print_row("my clients, 50 a page", _measure(as_therapist), _measure(mine))
    review = _measure(one_review)
    _print_row("review of a client", review, _measure(of_client(WHOLE)))
    _print_row("… beside the sums alone", review, _measure(of_client([SUMS])))
    db.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class Took:
    """Milliseconds of one kind of request: by the clock, and of the processor."""

    median: float
    p95: float
    processor_p95: float


def _measure(make: Callable[[], Callable[[], object]]) -> Took:
    """Asks again and again; the first few warm up."""
    clock, processor = [], []
    for n in range(ASKED + WARM_UP):
        ask = make()
        begun, begun_processor = time.perf_counter(), time.process_time()
        ask()
        if n >= WARM_UP:
            clock.append(1000 * (time.perf_counter() - begun))
            processor.append(1000 * (time.process_time() - begun_processor))
    cuts = quantiles(clock, n=20)
    return Took(median=cuts[9], p95=cuts[18], processor_p95=quantiles(processor, n=20)[18])


def _print_row(name: str, page: Took, sql: Took) -> None:
    print(f"   {name:<24} p50 {page.median:6.1f}  p95 {page.p95:6.1f} ms, bare SQL {sql.p95:6.1f}: "
          f"{page.p95 / sql.p95:5.1f} times; processor p95 {page.processor_p95:6.1f} ms, bare SQL "
          f"{sql.processor_p95:6.1f}: {page.processor_p95 / sql.processor_p95:5.1f} times "
          f"(aims: {AIM_TIMES} times, {AIM_MS} ms)", flush=True)


def _get(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200, (path, answer.status_code)


def _sign_in(app: Flask, store: Store, users: list[int]) -> dict[int, FlaskClient]:
    """Signs some therapists in, each in a browser of their own."""
    db = store.connect()
    hashed = passwords.hash_password(app.extensions["wattlebird"].settings, PASSWORD)
    with store.write(db):
        db.execute("UPDATE users SET password_hash = ?", [hashed])
        db.execute("DELETE FROM sign_in_failures")
    logins = {row["id"]: row["login"] for row in db.query("SELECT id, login FROM users")}
    db.close()
    found = {}
    for user in users:
        client = app.test_client()
        token = TOKEN.search(client.get("/clinic/sign-in").text)
        assert token
        client.post("/clinic/sign-in", data={"csrf_token": token[1], "login": logins[user], "password": PASSWORD})
        found[user] = client
    return found


@contextmanager
def _served(folder: Path) -> Iterator[tuple[Flask, Store, int]]:
    """Serves the practice as of the day on which it was made; memory is handled as the server does."""
    now_ms = int(json.loads((folder / "made.json").read_text(encoding="utf-8"))["now_ms"])
    app = create_app(Settings(data_dir=folder, secret_key="b" * 64), now_ms=lambda: now_ms, start_worker=False)
    settle_memory()
    yield app, app.extensions["wattlebird"].store, now_ms
    app.extensions["wattlebird"].store.close()
