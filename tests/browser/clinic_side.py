"""What the clinic's own database says, and what a therapist or an owner would do to it."""

from __future__ import annotations

import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tests.client.invented_clinic import add_client, add_plan, issued_plan
from webapp import sealing
from webapp.client.packing import make_pack
from webapp.settings import Settings
from webapp.storage import clinic, devices, links, packs, pauses, plans, records
from webapp.storage.database import Db, Store
from webapp.storage.devices import Device
from webapp.storage.records import StoredRecord

CLIENT = 1
LINK = 1


def now_ms() -> int:
    """Reads the clock."""
    return time.time_ns() // 1_000_000


class ClinicSide:
    """The clinic's data folder, beside the server that serves it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.settings = Settings(data_dir=folder)

    @contextmanager
    def _open(self) -> Iterator[tuple[Store, Db]]:
        store = Store(self.settings.database_path)
        db = store.connect()
        try:
            yield store, db
        finally:
            db.close()
            store.close()

    def records(self) -> list[StoredRecord]:
        """Reads every record that came, in the order of coming."""
        with self._open() as (_, db):
            ids = [int(row["id"]) for row in db.query("SELECT id FROM clients")]
            return sorted((one for n in ids for one in records.of_client(db, n)), key=lambda one: one.id)

    def devices(self) -> list[Device]:
        """Lists the phones of the first client."""
        with self._open() as (_, db):
            return devices.of_client(db, CLIENT)

    def uses_left(self) -> int:
        """Tells how many more phones the first client's link lets in."""
        with self._open() as (_, db):
            link = links.read(db, LINK)
            assert link
            return link.uses_left

    def withdraws_all_phones(self) -> None:
        """Withdraws every phone of the first client."""
        with self._open() as (store, db), store.write(db):
            for device in devices.of_client(db, CLIENT):
                devices.revoke(db, device.device, now_ms())

    def withdraws_the_link(self) -> None:
        """Withdraws the first client's link."""
        with self._open() as (store, db), store.write(db):
            links.withdraw(db, LINK, now_ms())

    def another_client(self, code: str) -> str:
        """Adds a client with a plan and a link; gives the link's token."""
        token = sealing.new_token()
        typed = "".join(secrets.choice("0123456789ABCDEFGHJKMNPQRSTVWXYZ") for _ in range(10))
        with self._open() as (store, _):
            add_client(store, self.settings, now_ms(), code, token, typed)
        return token

    def issues_another_version(self, version: int, change: dict[str, Any]) -> None:
        """Issues a version of the first client's plan that says what changed, and packs it."""
        yesterday = date.fromordinal(date(1970, 1, 1).toordinal() + now_ms() // 86_400_000 - 1)
        issued = issued_plan(yesterday, version=version, changes=[{"version": version, **change}])
        with self._open() as (store, db):
            add_plan(store, db, self.settings, CLIENT, issued, now_ms())

    def notes_days_off(self, reason: str, days: int) -> None:
        """Notes that the first client has some days off from yesterday on, and packs the plan anew."""
        first = date.fromordinal(date(1970, 1, 1).toordinal() + now_ms() // 86_400_000 - 1)
        with self._open() as (store, db):
            with store.write(db):
                last = first + timedelta(days=days - 1)
                pauses.add(db, CLIENT, first, last, reason, user_id=1, now_ms=now_ms())
            self._packs_again(store, db)

    def takes_days_off_back(self) -> None:
        """Takes all days off of the first client back, and packs the plan anew."""
        with self._open() as (store, db):
            with store.write(db):
                for one in pauses.of_client(db, CLIENT):
                    pauses.take_back(db, CLIENT, one.id, now_ms())
            self._packs_again(store, db)

    def _packs_again(self, store: Store, db: Db) -> None:
        plan = plans.newest(db, CLIENT)
        assert plan
        make_pack(db, plan.id, lambda done, of: None, store=store, settings=self.settings, now_ms=now_ms)

    def is_upgraded(self, release: str) -> None:
        """Names the release of servers that start from now on."""
        (self.folder / "release").write_text(release)

    def takes_the_worker_off(self, off: bool = True) -> None:
        """Has servers that start from now on send the worker that answers nothing, or the real one again."""
        flag = self.folder / "worker_off"
        flag.touch() if off else flag.unlink()

    def newest_pack_id(self) -> str:
        """Names the pack that the first client's phones should hold."""
        with self._open() as (_, db):
            pack = packs.newest_for_client(db, CLIENT)
            assert pack
            return pack.pack_id

    def clock_goes_ahead(self, ms: int) -> None:
        """Sets the clock of servers that start from now on."""
        (self.folder / "clock_ahead_ms").write_text(str(ms))

    def is_put_back_from(self, backup: Path) -> None:
        """Puts a copy back as a restore does: with an epoch of its own."""
        shutil.rmtree(self.folder)
        shutil.copytree(backup, self.folder)
        with self._open() as (store, db), store.write(db):
            clinic.set_store_epoch(db, secrets.token_hex(8))
