"""Set-up steps lent to a client's phone, to be tried before anything is issued: for some hours, to one phone.

They are in this process's memory alone: a restart takes them back, and there is nothing to clear away.
"""

from __future__ import annotations

import base64
import hashlib
import secrets
import threading
from dataclasses import dataclass, field, replace

from flask import current_app

from webapp.errors import refuse

LENT_MS = 3 * 3_600_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """The steps of one exercise, lent; `token` opens them once, then the phone that did shows its cookie."""

    client_id: int
    exercise: int
    ends_ms: int
    token: str = field(repr=False)
    opened_ms: int | None = None
    cookie_sha256: str = field(repr=False, default="")

    @property
    def key(self) -> tuple[int, int]:
        return self.client_id, self.exercise


def _hashed(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


class Rehearsals:
    """What is lent at the moment, at most once for each exercise of a client."""

    def __init__(self) -> None:
        self._lent: dict[tuple[int, int], Rehearsal] = {}
        self._lock = threading.Lock()

    def lend(self, client_id: int, exercise: int, now_ms: int) -> Rehearsal:
        """Lends an exercise's steps; what was lent of it before ends."""
        token = base64.b32encode(secrets.token_bytes(20)).decode().lower()
        lent = Rehearsal(client_id=client_id, exercise=exercise, ends_ms=now_ms + LENT_MS, token=token)
        with self._lock:
            self._forget_ended(now_ms)
            self._lent[lent.key] = lent
        return lent

    def of_exercise(self, client_id: int, exercise: int, now_ms: int) -> Rehearsal | None:
        """Gives what is lent of an exercise."""
        with self._lock:
            self._forget_ended(now_ms)
            return self._lent.get((client_id, exercise))

    def open(self, token: str, now_ms: int) -> tuple[Rehearsal, str]:
        """Opens what a token lends, once, and gives the cookie of the phone that did."""
        with self._lock:
            self._forget_ended(now_ms)
            found = [one for one in self._lent.values() if secrets.compare_digest(_hashed(one.token), _hashed(token))]
            if not found:
                raise refuse("link_unknown")
            if found[0].opened_ms is not None:
                raise refuse("link_used_up")
            cookie = secrets.token_urlsafe(32)
            opened = replace(found[0], opened_ms=now_ms, cookie_sha256=_hashed(cookie))
            self._lent[opened.key] = opened
        return opened, cookie

    def of_phone(self, cookie: str, now_ms: int) -> Rehearsal | None:
        """Gives what is lent to the phone with this cookie."""
        with self._lock:
            self._forget_ended(now_ms)
            return next((one for one in self._lent.values() if cookie and one.opened_ms is not None
                         and secrets.compare_digest(one.cookie_sha256, _hashed(cookie))), None)

    def take_back(self, client_id: int, exercise: int) -> None:
        """Ends what is lent of an exercise."""
        with self._lock:
            self._lent.pop((client_id, exercise), None)

    def _forget_ended(self, now_ms: int) -> None:
        self._lent = {key: one for key, one in self._lent.items() if now_ms < one.ends_ms}


def rehearsals() -> Rehearsals:
    """Gives what the app lends."""
    lent = current_app.extensions.setdefault("wattlebird_rehearsals", Rehearsals())
    if not isinstance(lent, Rehearsals):
        raise TypeError("another extension took the name of the rehearsals")
    return lent
