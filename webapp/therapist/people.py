"""Who may sign in: adding people, links for a first password, closing and opening accounts."""

from __future__ import annotations

import secrets

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.serving import audit, database, now_ms, replayed_form, require, settings, signed_in, texts, write
from webapp.storage import sessions, users
from webapp.storage.users import User
from webapp.therapist import blueprint
from webapp.therapist.form import Form

LINK_DAYS = 3
DAY_MS = 86_400_000
MAY_MANAGE = {"lead": ("therapist", "lead"), "administrator": ("therapist", "lead", "administrator")}


@blueprint.get("/people")
@require("lead", "administrator")
def people() -> ResponseReturnValue:
    return _page(Form(replayed_form() or {"role": "therapist"}))


@blueprint.post("/people", endpoint="people_sent")
@require("lead", "administrator")
def add_person() -> ResponseReturnValue:
    form = Form(request.form)
    name, login = form.text("name", required=True), form.text("login", required=True)
    role = form.choice("role", MAY_MANAGE[signed_in().role])
    if login and not users.LOGIN.fullmatch(login):
        form.refuse("login", "people.login_form")
    elif login and users.read_by_login(database(), login):
        form.refuse("login", "people.login_taken", login=login)
    if not form.ok:
        return _page(form), 422
    with write() as db:
        added = users.add(db, login=login, name=name, role=role, password_hash=users.NO_PASSWORD, created_ms=now_ms())
        audit(db, "person_added", person=added, role=role)
    return _link_page(added, 201)


@blueprint.post("/people/<int:user_id>/link")
@require("lead", "administrator")
def make_password_link(user_id: int) -> ResponseReturnValue:
    return _link_page(_managed(user_id).id, 200)


@blueprint.post("/people/<int:user_id>/disable")
@require("lead", "administrator")
def disable_person(user_id: int) -> ResponseReturnValue:
    person = _managed(user_id)
    if person.id == signed_in().id or not users.keeper_remains(database(), without_id=person.id):
        flash(texts()("people.cannot_close"))
        return redirect("/clinic/people", 303)
    with write() as db:
        users.disable(db, person.id, now_ms())
        users.end_first_password_tokens(db, person.id)
        sessions.end_of_user(db, person.id, now_ms())
        audit(db, "person_disabled", person=person.id)
    flash(texts()("people.closed", name=person.name))
    return redirect("/clinic/people", 303)


@blueprint.post("/people/<int:user_id>/enable")
@require("lead", "administrator")
def enable_person(user_id: int) -> ResponseReturnValue:
    person = _managed(user_id)
    with write() as db:
        users.enable(db, person.id)
        audit(db, "person_enabled", person=person.id)
    flash(texts()("people.opened", name=person.name))
    return redirect("/clinic/people", 303)


def _page(form: Form) -> str:
    may = MAY_MANAGE[signed_in().role]
    return render_template("therapist/people.html", form=form, people=users.list_all(database()), may=may)


def _managed(user_id: int) -> User:
    """Reads a person whom the one signed in may manage."""
    person = users.read(database(), user_id)
    if person is None:
        raise refuse("not_found")
    if person.role not in MAY_MANAGE[signed_in().role]:
        raise refuse("not_allowed")
    return person


def _link_page(user_id: int, status: int) -> ResponseReturnValue:
    """Makes a link and shows it, once: the token stands behind a #, so no server log and no referrer sees it."""
    token = secrets.token_urlsafe(24)
    with write() as db:
        users.keep_first_password_token(db, user_id, token, now_ms() + LINK_DAYS * DAY_MS)
        audit(db, "password_link_made", person=user_id)
    return render_template("therapist/people_link.html", person=users.read(database(), user_id), days=LINK_DAYS,
                           address=f"{settings().public_url}/clinic/first-password#{token}"), status
