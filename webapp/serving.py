"""What every view of a request has at hand: the database, the settings, who asks, the texts, the clock."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import wraps
from typing import Any, ParamSpec, TypeVar, cast

from flask import Flask, current_app, g, request, session
from werkzeug.datastructures import MultiDict

from webapp.errors import refuse
from webapp.settings import Settings
from webapp.storage import audit as audit_rows
from webapp.storage import forms, users
from webapp.storage.database import Db, Store
from webapp.translations import Translate, translator

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """What one running app holds: its settings, its store and its clock."""

    settings: Settings
    store: Store
    now_ms: Callable[[], int]


def wall_clock_ms() -> int:
    """Reads the server's clock in milliseconds since 1970."""
    return time.time_ns() // 1_000_000


def attach(app: Flask, practice: Practice) -> None:
    """Gives an app its practice and closes each request's connection."""
    app.extensions["wattlebird"] = practice
    app.teardown_appcontext(_close)


def practice() -> Practice:
    return cast(Practice, current_app.extensions["wattlebird"])


def settings() -> Settings:
    return practice().settings


def now_ms() -> int:
    return practice().now_ms()


def database() -> Db:
    """Opens the request's connection at its first use."""
    if "db" not in g:
        g.db = practice().store.connect()
    return cast(Db, g.db)


def _close(_error: BaseException | None) -> None:
    db = g.pop("db", None)
    if db is not None:
        db.close()


@contextmanager
def write() -> Iterator[Db]:
    """Runs a write transaction on the request's connection; audit rows belong inside it."""
    with practice().store.write(database()) as db:
        yield db


def texts() -> Translate:
    """Gives t() in the language of this request (therapists: English, or the tests' pseudo-language)."""
    if "t" not in g:
        g.t = translator("qps" if settings().pseudo_language else "en")
    return cast(Translate, g.t)


def current_user() -> users.User | None:
    """Reads who is signed in, once a request; a disabled user is nobody."""
    if "user" not in g:
        user_id = session.get("user_id")
        g.user = users.read_active(database(), int(user_id)) if user_id else None
    return cast("users.User | None", g.user)


def signed_in() -> users.User:
    """Gives the signed-in user or refuses."""
    user = current_user()
    if user is None:
        raise refuse("not_signed_in")
    return user


def require(*roles: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Lets only these roles into a view; every clinic view carries it (a test walks the routes)."""

    def decorate(view: Callable[P, R]) -> Callable[P, R]:
        @wraps(view)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
            if signed_in().role not in roles:
                raise refuse("not_allowed")
            return view(*args, **kwargs)

        guarded.required_roles = roles  # type: ignore[attr-defined]
        return guarded

    return decorate


def audit(db: Db, action: str, client_id: int | None = None, **detail: Any) -> None:
    """Writes one audit row; inside a write transaction it stands or falls with the write."""
    user = current_user()
    audit_rows.append(db, at_ms=now_ms(), user_id=user.id if user else None, action=action, client_id=client_id,
                      detail=detail)


def keep_form(owner: users.User | None = None) -> None:
    """Keeps the form of this request for a day, under the page's address and the person's name."""
    person = owner or current_user()
    if person is not None:
        with write() as db:
            forms.keep(db, person.login, request.path, request.form.items(multi=True), now_ms())


def replayed_form() -> MultiDict[str, str] | None:
    """Gives what this person had typed on this page when it could not be taken in; the next accepted form ends it."""
    pairs = forms.read(database(), signed_in().login, request.path, now_ms())
    g.form_is_replayed = pairs is not None
    return MultiDict(pairs) if pairs is not None else None
