"""Phones that record and sync as fast as they can, until the server is gone."""

from __future__ import annotations

import http.client
import random
import sqlite3
import threading
from contextlib import closing

from tests.trust.phones import ModelPhone, new_phone
from tests.waiting import until
from webapp.settings import Settings
from webapp.storage import records
from webapp.storage.database import Store, connect

NOW_MS = 1_795_500_000_000
PHONES = 4


class Load:
    """Some phones of one practice, each in a thread of its own while a server lives."""

    def __init__(self, settings: Settings, seed: int) -> None:
        self.settings = settings
        self.chance = random.Random(seed)
        store = Store(settings.database_path)
        self.phones = [new_phone(store, f"SL-{n:02}") for n in range(PHONES)]
        store.close()
        self.receipts = 0

    def goes_on_at(self, port: int) -> list[threading.Thread]:
        threads = [threading.Thread(target=self._records_and_syncs, args=(phone, port, self.chance.random()))
                   for phone in self.phones]
        for thread in threads:
            thread.start()
        return threads

    def _records_and_syncs(self, phone: ModelPhone, port: int, seed: float) -> None:
        chance = random.Random(seed)
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as server:
            while self._syncs(phone, server):
                for _ in range(chance.randint(1, 3)):
                    phone.writes(chance.getrandbits(32), NOW_MS)

    def _syncs(self, phone: ModelPhone, server: http.client.HTTPConnection) -> bool:
        """Sends once; False when the server is gone, or has gone in the middle of its answer."""
        sent = phone.sends(NOW_MS)
        try:
            server.request("POST", "/exchange/sync", sent.body, sent.headers)
            answer = server.getresponse()
            body = answer.read()
        except (OSError, http.client.HTTPException):
            return False
        assert answer.status == 200, body
        head = "".join(f"\r\n{name}: {value}" for name, value in answer.getheaders())
        assert phone.hears(f"HTTP/1.1 200 OK{head}\r\n\r\n".encode("latin-1") + body)
        self.receipts += 1
        return True

    def runs_until(self, port: int, receipts: int, linger_s: float) -> list[threading.Thread]:
        """Gets so many receipts more, and goes on for a moment longer."""
        threads, wanted = self.goes_on_at(port), self.receipts + receipts
        until(lambda: self.receipts >= wanted or not any(thread.is_alive() for thread in threads), every_s=0.002)
        threading.Event().wait(linger_s)
        return threads

    # --- what must hold ---

    def lost(self) -> int:
        """Counts the records that a phone holds for received and the database does not have: all if it is damaged."""
        try:
            self._is_whole()
            return sum(len(set(phone.received) - self._stored(phone)) for phone in self.phones)
        except sqlite3.DatabaseError:
            return sum(phone.through for phone in self.phones)

    def _is_whole(self) -> None:
        with closing(connect(self.settings.database_path)) as db:
            if [tuple(row) for row in db.conn.execute("PRAGMA integrity_check")] != [("ok",)]:
                raise sqlite3.DatabaseError("damaged")

    def _stored(self, phone: ModelPhone) -> set[bytes]:
        with closing(connect(self.settings.database_path)) as db:
            found = [one.content for one in records.of_device(db, phone.device.device)]
        assert len(found) == len(set(found)), "a record is stored twice"
        assert set(found) <= set(phone.log), "a record is stored that no phone wrote"
        return set(found)

    def comes_home(self, port: int) -> None:
        """Has every phone sync until nothing is left, and asks whether all of it is there."""
        for phone in self.phones:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as server:
                while phone.through < len(phone.log):
                    assert self._syncs(phone, server)
            assert set(phone.log) == self._stored(phone)
