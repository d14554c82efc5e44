"""The clinic's own measures: name, unit, direction, and the smallest change that matters with its source."""

from __future__ import annotations

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.practice.measures import DIRECTIONS, Measure
from webapp.serving import audit, database, now_ms, replayed_form, require, texts, write
from webapp.storage import measures
from webapp.therapist import blueprint
from webapp.therapist.form import Form, plain

SMALLEST, LARGEST = 0.000001, 1_000_000
SOURCE_LONGEST = 200


@blueprint.get("/measures")
@require("therapist", "lead")
def measure_list() -> ResponseReturnValue:
    active = measures.list_active(database())
    numbers = {m.number for m in active}
    return render_template("therapist/measures.html", measures=active,
                           archived=[m for m in measures.list_all(database()) if m.number not in numbers])


@blueprint.get("/measures/new")
@require("therapist", "lead")
def new_measure() -> ResponseReturnValue:
    return _page(Form(replayed_form() or {"direction": DIRECTIONS[0]}), None)


@blueprint.post("/measures/new", endpoint="new_measure_sent")
@require("therapist", "lead")
def add_measure() -> ResponseReturnValue:
    form = Form(request.form)
    measure = _read(form, 0, None)
    if measure is None:
        return _page(form, None), 422
    with write() as db:
        number = measures.add(db, measure, now_ms())
        audit(db, "measure_added", measure=number)
    flash(texts()("form.saved"))
    return redirect("/clinic/measures", 303)


@blueprint.get("/measures/<int:number>")
@require("therapist", "lead")
def one_measure(number: int) -> ResponseReturnValue:
    measure = _measure(number)
    least = measure.smallest_change
    return _page(Form(replayed_form() or {
        "name": measure.name, "unit": measure.unit, "direction": measure.direction, "source": measure.source,
        "smallest_change": "" if least is None else plain(least)}), measure)


@blueprint.post("/measures/<int:number>", endpoint="one_measure_sent")
@require("therapist", "lead")
def change_measure(number: int) -> ResponseReturnValue:
    form, stored = Form(request.form), _measure(number)
    measure = _read(form, number, stored if measures.has_readings(database(), number) else None)
    if measure is None:
        return _page(form, stored), 422
    with write() as db:
        measures.change(db, measure)
        audit(db, "measure_changed", measure=number)
    flash(texts()("form.saved"))
    return redirect("/clinic/measures", 303)


@blueprint.post("/measures/<int:number>/archive")
@require("therapist", "lead")
def archive_measure(number: int) -> ResponseReturnValue:
    """Takes a measure out of use, or back; what was measured with it stays."""
    measure = _measure(number)
    active = measure in measures.list_active(database())
    with write() as db:
        measures.archive(db, number, now_ms() if active else None)
        audit(db, "measure_archived" if active else "measure_taken_back", measure=number)
    flash(texts()("measure.archived" if active else "measure.taken_back", name=measure.name))
    return redirect("/clinic/measures", 303)


def _measure(number: int) -> Measure:
    found = measures.read(database(), number)
    if found is None:
        raise refuse("not_found")
    return found


def _read(form: Form, number: int, measured_with: Measure | None) -> Measure | None:
    """Reads a measure; unit and direction stay as they are once something was measured."""
    name, unit = form.text("name", required=True, most=60), form.text("unit", most=20)
    direction = form.choice("direction", DIRECTIONS)
    least = form.number("smallest_change", SMALLEST, LARGEST)
    source = form.text("source", required=least is not None, most=SOURCE_LONGEST)
    if measured_with is not None:
        for field, value in (("unit", unit), ("direction", direction)):
            if value != getattr(measured_with, field):
                form.refuse(field, "measure.fixed")
    if not form.ok:
        return None
    return Measure(number=number, name=name, unit=unit, direction=direction, smallest_change=least, source=source)


def _page(form: Form, measure: Measure | None) -> str:
    t = texts()
    return render_template("therapist/measure.html", form=form, measure=measure,
                           directions=[(one, t(f"measure.direction.{one}")) for one in DIRECTIONS])
