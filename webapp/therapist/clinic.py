"""The clinic's own details: what every printed sheet and every phone says of it."""

from __future__ import annotations

from functools import cache
from zoneinfo import available_timezones

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.serving import audit, database, replayed_form, require, texts, write
from webapp.storage import assessments, clinic
from webapp.storage.clinic import Clinic
from webapp.therapist import blueprint
from webapp.therapist.form import Form

MOST_LINES = 6
MOST_CAUTIONS = 12
SCREENING_DAYS = 7, 730


@cache
def time_zones() -> tuple[str, ...]:
    """Lists the places a clinic can be in; names of old standards and machines are left out."""
    places = (zone for zone in available_timezones() if "/" in zone)
    return ("UTC", *sorted(zone for zone in places if zone.split("/")[0] not in {"Etc", "SystemV", "posix", "right"}))


@blueprint.get("/practice")
@require("lead", "administrator")
def practice() -> ResponseReturnValue:
    stored = _typed(clinic.read(database())) | {"screening_days": assessments.screening_days(database())}
    form = Form(replayed_form() or stored)
    return _page(form)


@blueprint.post("/practice", endpoint="practice_sent")
@require("lead", "administrator")
def change_practice() -> ResponseReturnValue:
    form = Form(request.form)
    told, days = _told(form), form.whole("screening_days", *SCREENING_DAYS)
    if not form.ok:
        return _page(form), 422
    with write() as db:
        clinic.change(db, told)
        audit(db, "clinic_changed")
        if days is not None and days != assessments.screening_days(db):
            assessments.set_screening_days(db, days)
            audit(db, "screening_period_set", days=days)
    flash(texts()("form.saved"))
    return redirect("/clinic/practice", 303)


def _page(form: Form) -> str:
    return render_template("therapist/practice.html", form=form, time_zones=[(zone, zone.replace("_", " "))
                                                                             for zone in time_zones()])


def _typed(stored: Clinic) -> dict[str, object]:
    names = ("name", "call_who", "call_when", "call_phone", "call_skin", "emergency", "time_zone")
    return {**{name: getattr(stored, name) for name in names},
            "lines": "\n".join(stored.lines), "cautions": "\n".join(stored.cautions)}


def _told(form: Form) -> Clinic:
    return Clinic(
        name=form.text("name", required=True), lines=form.lines("lines", most_lines=MOST_LINES),
        call_who=form.text("call_who", required=True), call_phone=form.text("call_phone", required=True, most=40),
        call_when=form.text("call_when"), call_skin=" ".join(form.text("call_skin", required=True, most=200).split()),
        emergency=form.text("emergency", required=True), time_zone=form.choice("time_zone", time_zones()),
        cautions=form.lines("cautions", most_lines=MOST_CAUTIONS, most=240))
