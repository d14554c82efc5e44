"""Erasing a client, by the lead, in two steps: it is asked for, then done with the client's code typed."""

from __future__ import annotations

from functools import partial

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.erasing import erase_client
from webapp.serving import audit, database, now_ms, practice, replayed_form, require, settings, signed_in, texts, write
from webapp.storage import clinic, erasures, held
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.plan import client_or_refuse
from webapp.therapist.words import moment_words


@blueprint.get("/clients/<int:client_id>/erase")
@require("lead")
def erase(client_id: int) -> ResponseReturnValue:
    return _page(client_or_refuse(client_id), Form(replayed_form() or {}))


@blueprint.post("/clients/<int:client_id>/erase", endpoint="erase_sent")
@require("lead")
def take_erasure(client_id: int) -> ResponseReturnValue:
    """Asks for the erasure, takes that back, or does it: each by its own button."""
    client, form = client_or_refuse(client_id), Form(request.form)
    act = form.choice("act", ("ask", "take_back", "erase"))
    if act == "erase":
        return _erase(client, form)
    with write() as db:
        erasures.take_back(db, client_id)
        if act == "ask":
            erasures.ask(db, client_id, now_ms(), signed_in().id)
        audit(db, "erasure_asked" if act == "ask" else "erasure_taken_back", client_id)
    return redirect(f"/clinic/clients/{client_id}/erase", 303)


def _erase(client: Client, form: Form) -> ResponseReturnValue:
    asked = erasures.asked(database(), client.id, now_ms())
    if form.text("code", required=True).casefold() != client.code.casefold():
        form.refuse("code", "erase.code_wrong", code=client.code)
    if asked is None:
        form.refuse("code", "erase.ask_first")
    if not form.ok or asked is None:
        return _page(client, form), 422
    made_again = (settings().clips_dir, settings().sessions_dir)
    erase_client(practice().store, database(), asked, packs_dir=settings().packs_dir, made_again=made_again,
                 at_ms=now_ms(), user_id=signed_in().id)
    flash(texts()("erase.done", code=client.code))
    return redirect("/clinic/", 303)


def _page(client: Client, form: Form) -> str:
    db = database()
    moment = partial(moment_words, texts(), zone=clinic.read(db).zone)
    last = held.last_backup_ms(db)
    return render_template(
        "therapist/erase.html", client=client, form=form, counts=held.count_held(db, client.id),
        asked=erasures.asked(db, client.id, now_ms()), last_backup=moment(last) if last else "", moment=moment)
