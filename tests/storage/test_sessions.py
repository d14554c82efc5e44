"""The waits after wrong passwords, as the database keeps them."""

from __future__ import annotations

from webapp.storage import sessions
from webapp.storage.database import Store

MINUTE_MS = 60_000
DAY_MS = 86_400_000


def test_a_day_of_guessing_is_judged_about_a_hundred_times(store: Store) -> None:
    """Of a day of guessing each second about a hundred guesses are judged, and the account is not closed for good."""
    db, now, judged = store.connect(), 1_000_000, 0
    end = now + DAY_MS
    with store.write(db):
        while now < end:
            wait = sessions.wait_ms(db, "account ines", now)
            if wait == 0:
                sessions.count_try(db, "account ines", now)
                judged += 1
            now += max(1_000, wait)
    assert 90 < judged <= 110
    assert sessions.wait_ms(db, "account ines", now + 15 * MINUTE_MS) == 0
    db.close()


def test_a_name_is_not_kept_readable(store: Store) -> None:
    """A password typed into the name field is not readable in the database."""
    db = store.connect()
    with store.write(db):
        sessions.count_try(db, "account my secret password", 1)
    assert "secret" not in "\n".join(db.conn.iterdump())
    db.close()


def test_ended_session_is_not_written_again(store: Store) -> None:
    """A request that began before a sign-out cannot bring the session back to life."""
    db = store.connect()
    with store.write(db):
        sessions.add(db, "an id", user_id=None, content='{"a": 1}', created_ms=0, ends_ms=1_000)
        sessions.end(db, "an id", 500)
        sessions.change(db, "an id", user_id=None, content='{"a": 2}', seen_ms=600)
    stored = sessions.read(db, "an id")
    assert stored
    assert (stored.content, stored.ends_ms) == ("{}", 500)
    db.close()


def test_old_rows_go(store: Store) -> None:
    """Sessions and waits go a day after their end."""
    db = store.connect()
    with store.write(db):
        sessions.add(db, "an id", user_id=None, content="{}", created_ms=0, ends_ms=1_000)
        sessions.count_try(db, "account ines", 0)
        sessions.forget_old(db, 2 * DAY_MS)
    assert sessions.read(db, "an id") is None
    assert db["sign_in_failures"].count == 0
    db.close()
