"""What stands before every page of the clinic: where a form comes from, who asks, what becomes of a late form."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Flask, current_app, redirect, request, session, url_for
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response

from webapp.errors import refuse
from webapp.server_sessions import ServerSession
from webapp.serving import current_user, database, keep_form, write
from webapp.storage import forms, users

OPEN_TO_ALL = frozenset({"therapist.sign_in", "therapist.sign_in_sent", "therapist.sign_in_state",
                         "therapist.first_password", "therapist.first_password_sent"})
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


def in_clinic(path: str) -> bool:
    return path == "/clinic" or path.startswith("/clinic/")


def guard_origin() -> None:
    """Refuses forms that another site made; browsers say so in a header that pages cannot set."""
    unsafe = request.method not in SAFE_METHODS
    if unsafe and in_clinic(request.path) and request.headers.get("Sec-Fetch-Site", "same-origin") not in {
            "same-origin", "none"}:
        raise refuse("not_from_here")


# photos: the pages themselves take a little less, and say so
LARGE_BODIES = {"therapist.add_photo": 26_000_000, "therapist.teach_back_sent": 26_500_000}


def allow_large() -> None:
    """Lets a photo through to its page, whose answer says what is too much; nothing else here is as long."""
    if (most := LARGE_BODIES.get(request.endpoint or "")) is not None:
        request.max_content_length = most


def guard_role() -> Response | None:
    """Lets nobody into a clinic view who is not signed in, and nobody at all into one that names no roles."""
    if not in_clinic(request.path) or request.endpoint is None or request.endpoint in OPEN_TO_ALL:
        return None
    roles = getattr(current_app.view_functions[request.endpoint], "required_roles", ())
    if not roles:
        raise refuse("not_allowed")
    user = current_user()
    if user is None:
        return _ask_to_sign_in()
    if user.role not in roles:
        raise refuse("not_allowed")
    return None


def forget_kept_form() -> None:
    """Ends the kept form of a page as soon as a valid form of that page arrives."""
    user = current_user() if in_clinic(request.path) and request.method == "POST" else None
    if user is not None and forms.newest_path(database(), user.login, 0) is not None:
        with write() as db:
            forms.forget(db, user.login, request.path)


def _ask_to_sign_in() -> Response:
    if request.headers.get("Sec-Fetch-Dest") == "empty":  # a script asked: a sign-in page would be of no use to it
        raise refuse("not_signed_in")
    if request.method not in SAFE_METHODS and _has_page(request.path):
        keep_form(_owner_of_ended_session())
    return redirect(url_for("therapist.sign_in", next=_page_to_return_to()), 303)


def _owner_of_ended_session() -> users.User | None:
    ended = session.ended_user_id if isinstance(session, ServerSession) else None
    return users.read_active(database(), ended) if ended else None


def _has_page(path: str) -> bool:
    """Tells whether a form's address also shows a page, so that what was typed can be shown there again."""
    try:
        current_app.create_url_adapter(request).match(path, method="GET")  # type: ignore[union-attr]
    except HTTPException:
        return False
    return True


def _page_to_return_to() -> str:
    if request.method in SAFE_METHODS:
        return request.full_path.rstrip("?")
    return request.path if _has_page(request.path) else inside(urlsplit(request.referrer or "").path)


def inside(path: str) -> str:
    """Gives a path of the clinic as it is, and the clinic's first page for any other."""
    parts = urlsplit(path)
    local = not parts.scheme and not parts.netloc and "\\" not in path and in_clinic(parts.path)
    return path if local else "/clinic/"


def guard(app: Flask) -> None:
    """Puts the guards before the form check, which knows nothing of sign-ins that ran out."""
    app.before_request(guard_origin)
    app.before_request(guard_role)
    app.before_request(allow_large)
