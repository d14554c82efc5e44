"""The clinic's clients: new, changed, archived, taken back."""

from __future__ import annotations

import re
from typing import Any

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, texts, write
from webapp.storage import clients, users
from webapp.storage.clients import Client, ClientDetails
from webapp.therapist import blueprint
from webapp.therapist.form import LONG, Form
from webapp.translations import LANGUAGES

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,15}")
SIDES = ("left", "right", "both")


@blueprint.get("/clients/new")
@require("therapist", "lead")
def new_client() -> ResponseReturnValue:
    blank = {"language": LANGUAGES[0], "therapist_id": signed_in().id}
    return _page(Form(replayed_form() or blank), None)


@blueprint.post("/clients/new", endpoint="new_client_sent")
@require("therapist", "lead")
def add_client() -> ResponseReturnValue:
    form = Form(request.form)
    told = _told(form, None)
    if not form.ok:
        return _page(form, None), 422
    with write() as db:
        client_id = clients.add(db, created_ms=now_ms(), **told)
        audit(db, "client_added", client_id)
    flash(texts()("client.added"))
    return redirect(f"/clinic/clients/{client_id}/screening", 303)


@blueprint.get("/clients/<int:client_id>/edit")
@require("therapist", "lead")
def edit_client(client_id: int) -> ResponseReturnValue:
    client = _client(client_id)
    return _page(Form(replayed_form() or _typed(client)), client)


@blueprint.post("/clients/<int:client_id>/edit", endpoint="edit_client_sent")
@require("therapist", "lead")
def change_client(client_id: int) -> ResponseReturnValue:
    client, form = _client(client_id), Form(request.form)
    told = _told(form, client)
    if not form.ok:
        return _page(form, client), 422
    with write() as db:
        clients.change(db, client_id, **told)
        audit(db, "client_changed", client_id)
    flash(texts()("form.saved"))
    return redirect(f"/clinic/clients/{client_id}", 303)


@blueprint.get("/clients/archived")
@require("therapist", "lead")
def archived_clients() -> ResponseReturnValue:
    return render_template("therapist/clients_archived.html", clients=clients.list_archived(database()))


@blueprint.post("/clients/<int:client_id>/archive")
@require("therapist", "lead")
def archive_client(client_id: int) -> ResponseReturnValue:
    client = _client(client_id)
    with write() as db:
        clients.archive(db, client_id, now_ms())
        audit(db, "client_archived", client_id)
    flash(texts()("client.archived", code=client.code))
    return redirect("/clinic/", 303)


@blueprint.post("/clients/<int:client_id>/take-back")
@require("therapist", "lead")
def take_client_back(client_id: int) -> ResponseReturnValue:
    client = _client(client_id)
    with write() as db:
        clients.take_back(db, client_id)
        audit(db, "client_taken_back", client_id)
    flash(texts()("client.taken_back", code=client.code))
    return redirect("/clinic/", 303)


def _client(client_id: int) -> Client:
    client = clients.read(database(), client_id)
    if client is None:
        raise refuse("not_found")
    return client


def _page(form: Form, client: Client | None) -> str:
    t = texts()
    return render_template(
        "therapist/client_form.html", form=form, client=client, sides=[(side, t(f"side.{side}")) for side in SIDES],
        languages=[(language, t(f"language.{language}")) for language in LANGUAGES],
        therapists=[(user.id, user.name) for user in users.list_clinicians(database())])


def _typed(client: Client) -> dict[str, object]:
    details = client.details
    return {"code": client.code, "first_name": client.first_name, "working_side": client.working_side,
            "language": client.language, "therapist_id": client.therapist_id, "phone": details.phone,
            "helper_name": details.helper_name, "helper_phone": details.helper_phone, "notes": details.notes}


def _told(form: Form, client: Client | None) -> dict[str, Any]:
    """Reads the form; a code belongs to one client only."""
    code = form.text("code", required=True, most=16)
    if code and not CODE.fullmatch(code):
        form.refuse("code", "client.code_form")
    taken = clients.read_by_code(database(), code)
    if taken and taken.id != (client.id if client else None):
        form.refuse("code", "client.code_taken", code=code)
    therapists = {str(user.id): user.id for user in users.list_clinicians(database())}
    return {
        "code": code, "first_name": form.text("first_name", required=True, most=40),
        "working_side": form.choice("working_side", SIDES), "language": form.choice("language", LANGUAGES),
        "therapist_id": therapists.get(form.choice("therapist_id", therapists)),
        "details": ClientDetails(phone=form.text("phone", most=40), helper_name=form.text("helper_name"),
                                 helper_phone=form.text("helper_phone", most=40), notes=form.text("notes", most=LONG)),
    }
