"""Signing in and out, the first password, a new password."""

from __future__ import annotations

from typing import cast

from flask import flash, redirect, render_template, request, session
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import generate_csrf  # type: ignore[import-untyped]

from webapp import passwords
from webapp.clinic_guard import inside
from webapp.errors import refuse
from webapp.server_sessions import ServerSession
from webapp.serving import (
    audit,
    current_user,
    database,
    now_ms,
    require,
    settings,
    signed_in,
    texts,
    write,
)
from webapp.storage import audit as audit_rows
from webapp.storage import clinic, forms, sessions, users
from webapp.storage.database import Db
from webapp.therapist import blueprint
from webapp.therapist.form import Form

EVERYBODY = ("therapist", "lead", "administrator")
TRIES_PER_ADDRESS = 10  # free of waiting: a whole clinic may share one address
FIRST_PAGE = {"administrator": "/clinic/people"}


def browser_session() -> ServerSession:
    return cast(ServerSession, session)


@blueprint.get("/sign-in")
def sign_in() -> ResponseReturnValue:
    goal = inside(request.args.get("next", "/clinic/"))
    if current_user() is not None:
        return redirect(goal, 303)
    ended = browser_session().ended_user_id
    if ended is not None:
        session["was_user_id"] = ended
    return _sign_in_page(Form({"next": goal}))


@blueprint.post("/sign-in", endpoint="sign_in_sent")
def take_sign_in() -> ResponseReturnValue:
    form = Form(request.form)
    login, password = form.text("login"), form.value("password")
    wait_s = _count_try(login)
    if wait_s:
        form.refuse("login", "sign_in.wait", n=wait_s)
        return _sign_in_page(form), 429, {"Retry-After": str(wait_s)}
    found = users.read_by_login(database(), login)
    if not passwords.is_right(settings(), found.password_hash if found else "", password) or not found \
            or found.disabled_ms is not None:
        _note_refused(found)
        form.refuse("login", "sign_in.wrong")
        return _sign_in_page(form), 422
    _let_in(found, password)
    return redirect(_where_to(found, form.value("next")), 303)


def _sign_in_page(form: Form) -> str:
    return render_template("therapist/sign_in.html", form=form, clinic_title=clinic.read(database()).name)


def _count_try(login: str) -> int:
    """Counts this try and gives the seconds to wait, if an account or address has to."""
    account, address = f"account {login}", f"address {request.remote_addr}"
    with write() as db:
        wait = max(sessions.wait_ms(db, account, now_ms()), sessions.wait_ms(db, address, now_ms()))
        if wait <= 0:
            sessions.count_try(db, account, now_ms())
            sessions.count_try(db, address, now_ms(), free_tries=TRIES_PER_ADDRESS)
    return -(-wait // 1000)


def _forget_tries(db: Db, login: str) -> None:
    sessions.clear_tries(db, f"account {login}")
    sessions.clear_tries(db, f"address {request.remote_addr}")


def _note_refused(found: users.User | None) -> None:
    with write() as db:
        audit_rows.append(db, at_ms=now_ms(), user_id=found.id if found else None, action="sign_in_refused",
                          client_id=None, detail={})


def _let_in(user: users.User, password: str) -> None:
    """Starts the session; the tries that led here are forgotten, a hash of old parameters is made anew."""
    browser_session().start(user.id)
    with write() as db:
        _forget_tries(db, user.login)
        if passwords.needs_new_hash(settings(), user.password_hash):
            users.set_password(db, user.id, passwords.hash_password(settings(), password))
        audit_rows.append(db, at_ms=now_ms(), user_id=user.id, action="signed_in", client_id=None, detail={})


def _where_to(user: users.User, goal: str) -> str:
    """Leads to the form that was cut off, else to the page asked for, else to the first page of this role."""
    kept = forms.newest_path(database(), user.login, now_ms())
    goal = kept or inside(goal)
    return FIRST_PAGE.get(user.role, goal) if goal == "/clinic/" else goal


@blueprint.get("/sign-in/state")
def sign_in_state() -> ResponseReturnValue:
    """Tells a page before it sends a form: is the server there, is one signed in, which token is right."""
    ended = browser_session().ended_user_id is not None
    user = current_user()
    return {"signed_in": user is not None, "kept_on_server": ended, "token": generate_csrf() if user else ""}


@blueprint.post("/sign-out")
@require(*EVERYBODY)
def sign_out() -> ResponseReturnValue:
    with write() as db:
        audit(db, "signed_out")
    browser_session().end_sign_in(signed_in().id)
    return redirect("/clinic/sign-in", 303)


@blueprint.get("/password")
@require(*EVERYBODY)
def password() -> ResponseReturnValue:
    return render_template("therapist/password.html", form=Form({}))


@blueprint.post("/password", endpoint="password_sent")
@require(*EVERYBODY)
def change_password() -> ResponseReturnValue:
    form, user = Form(request.form), signed_in()
    wait_s = _count_try(user.login)
    if wait_s:
        form.refuse("old_password", "sign_in.wait", n=wait_s)
    elif not passwords.is_right(settings(), user.password_hash, form.value("old_password")):
        form.refuse("old_password", "password.old_wrong")
    else:
        with write() as db:
            _forget_tries(db, user.login)
    chosen = read_new_password(form, user)
    if not form.ok:
        return render_template("therapist/password.html", form=form), 422
    browser_session().start(user.id)
    with write() as db:
        set_new_password(user, chosen)
        audit(db, "password_changed")
    flash(texts()("password.changed"))
    return redirect(FIRST_PAGE.get(user.role, "/clinic/"), 303)


def read_new_password(form: Form, user: users.User) -> str:
    """Reads a new password typed twice, exactly as it was typed."""
    chosen = form.value("new_password")
    clinic_name = clinic.read(database()).name
    if weak := passwords.weakness(chosen, (user.login, user.name, clinic_name)):
        form.refuse("new_password", f"password.{weak}", least=passwords.SHORTEST, most=passwords.LONGEST)
    elif chosen != form.value("new_password_again"):
        form.refuse("new_password_again", "password.differs")
    return chosen


def set_new_password(user: users.User, chosen: str) -> None:
    """Changes a password: every session that the old one opened ends, and so do first-password links."""
    db = database()
    users.set_password(db, user.id, passwords.hash_password(settings(), chosen))
    users.end_first_password_tokens(db, user.id)
    sessions.end_of_user(db, user.id, now_ms())


@blueprint.get("/first-password")
def first_password() -> ResponseReturnValue:
    return render_template("therapist/first_password.html", form=Form({}))


@blueprint.post("/first-password", endpoint="first_password_sent")
def take_first_password() -> ResponseReturnValue:
    form = Form(request.form)
    address = f"first password {request.remote_addr}"
    with write() as db:
        if sessions.wait_ms(db, address, now_ms()):
            raise refuse("too_many_tries")
        sessions.count_try(db, address, now_ms(), free_tries=TRIES_PER_ADDRESS)
    user = users.read_by_first_password_token(database(), form.value("token").strip(), now_ms())
    if user is None:
        form.refuse("token", "first_password.unknown")
        return render_template("therapist/first_password.html", form=form), 422
    chosen = read_new_password(form, user)
    if not form.ok:
        return render_template("therapist/first_password.html", form=form), 422
    with write() as db:
        set_new_password(user, chosen)
        sessions.clear_tries(db, address)
        audit_rows.append(db, at_ms=now_ms(), user_id=user.id, action="first_password_chosen", client_id=None,
                          detail={})
    flash(texts()("first_password.done"))
    return redirect("/clinic/sign-in", 303)
