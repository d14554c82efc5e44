"""The clinic: its name and address, whom to call, its own cautions, its time zone."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any
from zoneinfo import ZoneInfo

from webapp.practice.thresholds import Thresholds, read_thresholds
from webapp.storage.database import Db, row


@dataclass(frozen=True, slots=True, kw_only=True)
class Clinic:
    """What the printed sheet and the phone say of the clinic; empty texts were not given yet."""

    name: str = ""
    lines: tuple[str, ...] = ()
    call_who: str = ""
    call_when: str = ""
    call_phone: str = ""
    call_skin: str = ""
    emergency: str = ""
    cautions: tuple[str, ...] = ()
    time_zone: str = "UTC"

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    @property
    def is_described(self) -> bool:
        """Tells whether a client's sheet would say who it is from and whom to call."""
        return bool(self.name and self.call_who and self.call_phone and self.call_skin and self.emergency)


TEXTS = ("call_who", "call_when", "call_phone", "call_skin", "emergency")
LISTS = ("lines", "cautions")


def read(db: Db) -> Clinic:
    found = row(db, "SELECT name, details, time_zone FROM clinic WHERE id = 1")
    if found is None:
        raise LookupError("the clinic's row is missing")
    told: dict[str, Any] = json.loads(found["details"])
    texts: dict[str, Any] = {name: str(told.get(name, "")) for name in TEXTS}
    lists: dict[str, Any] = {name: tuple(map(str, told.get(name, ()))) for name in LISTS}
    return Clinic(name=found["name"], time_zone=found["time_zone"], **texts, **lists)


def change(db: Db, clinic: Clinic) -> None:
    details = {name: value for name, value in asdict(clinic).items() if name in TEXTS + LISTS}
    db.execute("UPDATE clinic SET name = ?, details = json_patch(details, ?), time_zone = ? WHERE id = 1",
               [clinic.name, json.dumps(details, ensure_ascii=False), clinic.time_zone])


def thresholds(db: Db) -> Thresholds:
    """Reads from when on a client needs a look here."""
    found = row(db, "SELECT json_extract(details, '$.thresholds') AS told FROM clinic WHERE id = 1")
    return read_thresholds(json.loads(found["told"]) if found and found["told"] else {})


def change_thresholds(db: Db, chosen: Thresholds) -> None:
    db.execute("UPDATE clinic SET details = json_set(details, '$.thresholds', json(?)) WHERE id = 1",
               [json.dumps(asdict(chosen))])


def store_epoch(db: Db) -> str:
    """Reads the mark of this store: a restored one gets a new mark, so phones know to send again."""
    found = row(db, "SELECT store_epoch FROM clinic WHERE id = 1")
    return str(found["store_epoch"]) if found else ""


def set_store_epoch(db: Db, epoch: str) -> None:
    db.execute("UPDATE clinic SET store_epoch = ? WHERE id = 1", [epoch])
