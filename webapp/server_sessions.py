"""Sign-in sessions kept in the database; the cookie holds a random id and nothing else."""

from __future__ import annotations

import json
import secrets
from typing import Any

from flask import Flask, Request, Response
from flask.sessions import SessionInterface, SessionMixin
from werkzeug.datastructures import CallbackDict

from webapp.serving import database, now_ms, settings, write
from webapp.storage import sessions
from webapp.storage.database import CannotStoreError

SEEN_STEP_MS = 30_000  # how exactly "last used" is kept: not every page has to cost a write
HOUR_MS = 3_600_000
MINUTE_MS = 60_000


class ServerSession(CallbackDict[str, Any], SessionMixin):
    """One browser's session while a request runs; `ended_user_id` is whose it was, if it had run out."""

    def __init__(self, content: dict[str, Any], session_id: str, *, new: bool, seen_ms: int) -> None:
        super().__init__(content, _mark_modified)
        self.session_id = session_id
        self.new = new
        self.modified = False
        self.seen_ms = seen_ms
        self.replaces = ""
        self.ended_user_id: int | None = None

    def renew(self) -> None:
        """Takes a new id: one that was known before the sign-in leads nowhere after it."""
        if not self.new:
            self.replaces = self.session_id
        self.session_id, self.new, self.modified = new_id(), True, True

    def start(self, user_id: int) -> None:
        """Begins the session of a person who has just proved who they are."""
        self.clear()
        self.renew()
        self["user_id"] = user_id

    def end_sign_in(self, user_id: int) -> None:
        """Ends a sign-in; the browser's next session only remembers whose forms may still come from old pages."""
        self.clear()
        self.renew()
        self["was_user_id"] = user_id


def _mark_modified(session: Any) -> None:
    session.modified = True


def new_id() -> str:
    return secrets.token_urlsafe(32)  # 256 bits


def cookie_name(https: bool) -> str:
    return "__Host-wattlebird" if https else "wattlebird"


class ServerSessions(SessionInterface):
    """Opens and keeps sessions for the clinic's pages alone; every other page has none."""

    def open_session(self, app: Flask, request: Request) -> ServerSession | None:
        if request.path != "/clinic" and not request.path.startswith("/clinic/"):
            return None
        given = request.cookies.get(cookie_name(settings().https), "")
        stored = sessions.read(database(), given) if given else None
        fresh = ServerSession({}, new_id(), new=True, seen_ms=0)
        if stored is None:
            return fresh
        idle_ms = settings().idle_minutes * MINUTE_MS
        if now_ms() >= min(stored.ends_ms, stored.seen_ms + idle_ms):
            fresh.ended_user_id = stored.user_id
            return fresh
        current = ServerSession(json.loads(stored.content), given, new=False, seen_ms=stored.seen_ms)
        current.ended_user_id = current.get("was_user_id")
        return current

    def save_session(self, app: Flask, session: SessionMixin, response: Response) -> None:
        if not isinstance(session, ServerSession):
            return
        response.vary.add("Cookie")
        if session.replaces:
            with write() as db:
                sessions.end(db, session.replaces, now_ms())
        if session.new:
            if session:
                self._add(session, response)
        elif session.modified or now_ms() - session.seen_ms > SEEN_STEP_MS:
            self._change(session)

    def _change(self, session: ServerSession) -> None:
        try:
            with write() as db:
                sessions.change(db, session.session_id, user_id=session.get("user_id"),
                                content=json.dumps(dict(session)), seen_ms=now_ms())
        except CannotStoreError:
            if session.modified:  # when it was last used is no reason to refuse a page
                raise

    def _add(self, session: ServerSession, response: Response) -> None:
        created = now_ms()
        with write() as db:
            sessions.forget_old(db, created)
            sessions.add(db, session.session_id, user_id=session.get("user_id"), content=json.dumps(dict(session)),
                         created_ms=created, ends_ms=created + settings().sign_in_hours * HOUR_MS)
        response.set_cookie(cookie_name(settings().https), session.session_id, path="/", httponly=True,
                            secure=settings().https, samesite="Strict")
