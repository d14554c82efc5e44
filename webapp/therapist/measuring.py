"""Measure this unit: which conventions it follows, from taps at what it does, and writing them into its description."""

from __future__ import annotations

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.formats.stimulator_json import read_stimulator, write_stimulator
from webapp.serving import audit, now_ms, replayed_form, require, texts, write
from webapp.stimulation.measuring import PARTS, Measurement, measure
from webapp.storage import stimulators
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.measuring_form import read_watched, said_parts
from webapp.therapist.stimulators import stored_or_refuse

BLANK = {"ramp_up_s": "1", "hold_s": "6", "ramp_down_s": "1", "rest_s": "8", "session_min": "3", "turns": "1",
         "delay_s": "1", "seen": ""}
MOST_SHOWN = 4


@blueprint.get("/stimulators/<int:stimulator_id>/measure")
@require("therapist", "lead")
def measure_unit(stimulator_id: int) -> ResponseReturnValue:
    kept = replayed_form()
    return _page(stimulator_id, Form(kept) if kept else Form(BLANK), None)


@blueprint.post("/stimulators/<int:stimulator_id>/measure", endpoint="measure_unit_sent")
@require("therapist", "lead")
def take_measurement(stimulator_id: int) -> ResponseReturnValue:
    form = Form(request.form.copy())
    watched = read_watched(form)
    measured = measure(watched) if watched else None
    if watched and measured is None:
        form.refuse("seen", "measure.too_few")
    if measured is None:
        return _page(stimulator_id, form, None), 422
    if form.value("act") == "write":
        return _written(stimulator_id, form, measured)
    return _page(stimulator_id, form, measured)


def _written(stimulator_id: int, form: Form, measured: Measurement) -> ResponseReturnValue:
    """Writes what was found and ticked into the unit's description."""
    wanted = form.values.getlist("take")
    found = {verdict.name: verdict.value for verdict in measured.verdicts if verdict.value and verdict.name in wanted}
    stored = stored_or_refuse(stimulator_id)
    described = write_stimulator(read_stimulator(stored.description | found))
    with write() as db:
        stimulators.change(db, stimulator_id, described, now_ms())
        audit(db, "stimulator_measured", stimulator=stimulator_id, found=found)
    flash(texts()("measure.written"))
    return redirect(f"/clinic/stimulators/{stimulator_id}", 303)


def _page(stimulator_id: int, form: Form, measured: Measurement | None) -> str:
    stored = stored_or_refuse(stimulator_id)
    return render_template("therapist/measure_unit.html", stored=stored, form=form, measured=measured, parts=PARTS,
                           shown=measured.fits[:MOST_SHOWN] if measured else (), seconds=said_parts)
