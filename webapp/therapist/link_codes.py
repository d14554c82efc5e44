"""The secret of a link, shown for half an hour after it is made: the database keeps only its hashes."""

from __future__ import annotations

import base64
import hashlib
import secrets
import threading
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from flask import current_app

from webapp.serving import audit, now_ms, settings, signed_in
from webapp.storage import clinic, links
from webapp.storage.database import Db

SHOWN_MS = 30 * 60_000
LEAST_DAYS = 30  # a link outlives a short plan, so that a sheet on the fridge still works
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCode:
    """A link whose secret can still be shown."""

    link_id: int
    client_id: int
    token: str = field(repr=False)
    typed: str = field(repr=False)
    made_ms: int

    @property
    def spoken(self) -> str:
        """Gives the ten characters in two groups, as they are easier to type."""
        return f"{self.typed[:5]} {self.typed[5:]}"


class ShownCodes:
    """Keeps secrets in this process's memory alone, each for half an hour."""

    def __init__(self) -> None:
        self._codes: dict[int, ShownCode] = {}
        self._lock = threading.Lock()

    def put(self, code: ShownCode) -> None:
        with self._lock:
            self._codes[code.link_id] = code

    def newest(self, client_id: int, at_ms: int) -> ShownCode | None:
        """Gives the newest code of a client; what is too old is forgotten."""
        with self._lock:
            self._codes = {n: code for n, code in self._codes.items() if at_ms - code.made_ms < SHOWN_MS}
            own = [code for code in self._codes.values() if code.client_id == client_id]
        return max(own, key=lambda code: code.link_id, default=None)

    def forget(self, link_id: int) -> None:
        with self._lock:
            self._codes.pop(link_id, None)


def shown_codes() -> ShownCodes:
    """Gives the app's store of secrets."""
    codes = current_app.extensions.setdefault("wattlebird_shown_codes", ShownCodes())
    if not isinstance(codes, ShownCodes):
        raise TypeError("another extension took the name of the shown codes")
    return codes


def shown_code(client_id: int) -> ShownCode | None:
    """Gives the code of a client that can still be shown."""
    return shown_codes().newest(client_id, now_ms())


def link_address(code: ShownCode) -> str:
    """Gives the address in the QR code; the secret stands in the fragment, which no server log ever sees."""
    return f"{settings().public_url}/join#{code.token}"


def _hashed(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def make_link(db: Db, client_id: int, last_day: str) -> int:
    """Makes a link of a client, inside a write transaction; its secret is shown for half an hour."""
    token = base64.b32encode(secrets.token_bytes(20)).decode().lower()
    typed = "".join(secrets.choice(CROCKFORD) for _ in range(10))
    link_id = links.insert(
        db, client_id=client_id, token_sha256=_hashed(token), typed_sha256=_hashed(typed), user_id=signed_in().id,
        now_ms=now_ms(), ends_ms=_end_ms(db, last_day), uses=settings().devices_per_link)
    audit(db, "link_made", client_id, link=link_id)
    shown_codes().put(ShownCode(link_id=link_id, client_id=client_id, token=token, typed=typed, made_ms=now_ms()))
    return link_id


def _end_ms(db: Db, last_day: str) -> int:
    after = datetime.combine(date.fromisoformat(last_day) + timedelta(days=1), time(), clinic.read(db).zone)
    return max(int(after.timestamp() * 1000), now_ms() + LEAST_DAYS * 86_400_000)
