"""From when on a client needs a look: the clinic's thresholds, each with its reason."""

from __future__ import annotations

from dataclasses import asdict, fields

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.practice.thresholds import RANGES, STANDARD, Thresholds
from webapp.serving import audit, database, replayed_form, require, texts, write
from webapp.storage import clinic
from webapp.therapist import blueprint
from webapp.therapist.form import Form

NAMES = tuple(field.name for field in fields(Thresholds))


@blueprint.get("/practice/attention")
@require("lead", "administrator")
def thresholds() -> ResponseReturnValue:
    return _page(Form(replayed_form() or asdict(clinic.thresholds(database()))))


@blueprint.post("/practice/attention", endpoint="thresholds_sent")
@require("lead", "administrator")
def change_thresholds() -> ResponseReturnValue:
    form = Form(request.form)
    typed = {name: form.whole(name, *RANGES[name], required=True) for name in NAMES}
    if not form.ok:
        return _page(form), 422
    chosen = Thresholds(**{name: value for name, value in typed.items() if value is not None})
    before = asdict(clinic.thresholds(database()))
    changed = {name: value for name, value in asdict(chosen).items() if value != before[name]}
    with write() as db:
        clinic.change_thresholds(db, chosen)
        audit(db, "thresholds_changed", **changed)
    flash(texts()("form.saved"))
    return redirect("/clinic/practice/attention", 303)


def _page(form: Form) -> str:
    return render_template("therapist/thresholds.html", form=form, names=NAMES, standard=asdict(STANDARD),
                           ranges=RANGES)
