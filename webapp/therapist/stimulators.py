"""The clinic's list of stimulators, each described in its own words."""

from __future__ import annotations

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.serving import audit, database, now_ms, replayed_form, require, texts, write
from webapp.stimulation import plan
from webapp.stimulation.stimulator import BEHAVIOURS, SETTABLE_NAMES, SIDES, SWITCH_SOCKETS
from webapp.storage import stimulators
from webapp.storage.stimulators import StoredStimulator
from webapp.therapist import blueprint
from webapp.therapist import stimulator_form as fields
from webapp.therapist.form import Form


@blueprint.get("/stimulators")
@require("therapist", "lead")
def stimulator_list() -> ResponseReturnValue:
    return render_template("therapist/stimulators.html", stimulators=stimulators.list_active(database()),
                           archived=stimulators.list_archived(database()))


@blueprint.get("/stimulators/new")
@require("therapist", "lead")
def new_stimulator() -> ResponseReturnValue:
    kept, like = replayed_form(), request.args.get("like", type=int)
    form = Form(kept) if kept else fields.new_form()
    if like and not kept:
        form = fields.form_of(stored_or_refuse(like).description)
        form.values["name"] = ""
    return _page(form, None)


@blueprint.post("/stimulators/new", endpoint="new_stimulator_sent")
@require("therapist", "lead")
def add_stimulator() -> ResponseReturnValue:
    form = Form(request.form.copy())
    if act := form.value("act"):
        return _page(form, None, fields.change_menu(form, act))
    described = fields.read_description(form)
    if not form.ok:
        return _page(form, None), 422
    with write() as db:
        added = stimulators.add(db, described, now_ms())
        audit(db, "stimulator_added", stimulator=added)
    flash(texts()("form.saved"))
    return redirect("/clinic/stimulators", 303)


@blueprint.get("/stimulators/<int:stimulator_id>")
@require("therapist", "lead")
def stimulator(stimulator_id: int) -> ResponseReturnValue:
    stored, kept = stored_or_refuse(stimulator_id), replayed_form()
    return _page(Form(kept) if kept else fields.form_of(stored.description), stored)


@blueprint.post("/stimulators/<int:stimulator_id>", endpoint="stimulator_sent")
@require("therapist", "lead")
def change_stimulator(stimulator_id: int) -> ResponseReturnValue:
    stored, form = stored_or_refuse(stimulator_id), Form(request.form.copy())
    if act := form.value("act"):
        return _page(form, stored, fields.change_menu(form, act))
    described = fields.read_description(form)
    if not form.ok:
        return _page(form, stored), 422
    with write() as db:
        stimulators.change(db, stimulator_id, described, now_ms())
        audit(db, "stimulator_changed", stimulator=stimulator_id)
    flash(texts()("stimulator.changed"))
    return redirect("/clinic/stimulators", 303)


@blueprint.post("/stimulators/<int:stimulator_id>/archive")
@require("therapist", "lead")
def archive_stimulator(stimulator_id: int) -> ResponseReturnValue:
    stored = stored_or_refuse(stimulator_id)
    with write() as db:
        stimulators.archive(db, stimulator_id, now_ms())
        audit(db, "stimulator_archived", stimulator=stimulator_id)
    flash(texts()("stimulator.archived", name=stored.name))
    return redirect("/clinic/stimulators", 303)


@blueprint.post("/stimulators/<int:stimulator_id>/take-back")
@require("therapist", "lead")
def take_stimulator_back(stimulator_id: int) -> ResponseReturnValue:
    stored = stored_or_refuse(stimulator_id)
    with write() as db:
        stimulators.take_back(db, stimulator_id)
        audit(db, "stimulator_taken_back", stimulator=stimulator_id)
    flash(texts()("stimulator.taken_back", name=stored.name))
    return redirect("/clinic/stimulators", 303)


def stored_or_refuse(stimulator_id: int) -> StoredStimulator:
    """Reads a stimulator, or says that the page is not there."""
    stored = stimulators.read(database(), stimulator_id)
    if stored is None:
        raise refuse("not_found")
    return stored


def _page(form: Form, stored: StoredStimulator | None, look_at: int = 0) -> str:
    rows = fields.shown_rows(form)
    in_menu = {row.name for row in rows}
    return render_template(
        "therapist/stimulator.html", form=form, stored=stored, rows=rows, look_at=look_at, fields=fields,
        left_over=[name for name in SETTABLE_NAMES if name not in in_menu], behaviours=BEHAVIOURS, sides=SIDES,
        switch_sockets=SWITCH_SOCKETS, drives=plan.DRIVES)
