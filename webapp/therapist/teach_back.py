"""Teach-back: the set-up steps run together, each marked; and the therapist's decision *ready for home*."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.prescribing.drafting import Known
from webapp.prescribing.known import read_known
from webapp.prescribing.placing import step_drawings
from webapp.prescribing.practised import ROWS, asked_of_client, quickest_stop, strengths
from webapp.prescribing.screening import read_screening
from webapp.prescribing.teach_back import MARKS, last_marks, read_readiness, record_ready, record_teach_back, visits
from webapp.rehearsals import rehearsals
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, write
from webapp.serving import texts as translate
from webapp.storage import devices, drafts, plans
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.plan import client_or_refuse
from webapp.therapist.screening_words import ScreeningWords
from webapp.therapist.teach_back_acts import PhoneCode, act_on, exercise_or_refuse
from webapp.therapist.teach_back_run import taken_run
from webapp.translations import translator

WHERE, UNIT, DECISIONS = ("screen", "phone"), ("dry", "with"), ("later", "not_yet", "ready")
FIRST = {"where": "screen", "unit": "dry", "decision": "later"}
LONGEST_NOTE = 400


@blueprint.get("/clients/<int:client_id>/teach-back/<int:n>")
@require("therapist", "lead")
def teach_back(client_id: int, n: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    known = read_known(database(), client, now_ms())
    typed = replayed_form()
    run, at = taken_run(client_id, n)
    lent = {"where": "phone"} if rehearsals().of_exercise(client_id, n, now_ms()) else {}
    return _page(client, known, n, Form(typed if typed is not None else FIRST | lent | run), at)


def _page(client: Client, known: Known, n: int, form: Form, at: int = 0) -> str:
    db, exercise = database(), exercise_or_refuse(client.id, known, n)
    last, before = plans.newest(db, client.id), visits(db, client.id, exercise)
    [standing] = read_readiness(db, client.id, [exercise])
    return render_template(
        "therapist/teach_back.html", client=client, exercise=exercise, form=form, standing=standing, marks=MARKS,
        visits=before, last_marks=last_marks(before), words=ScreeningWords.made(db, translate(), form), at=at,
        from_version=last.version if last and drafts.read(db, client.id) is None else None,
        phone=PhoneCode.of(rehearsals().of_exercise(client.id, n, now_ms()), client.language),
        has_plan=any(not one.revoked for one in devices.of_client(db, client.id)),
        practised=asked_of_client(translator(client.language)), quickest_stop=quickest_stop(exercise),
        strengths=tuple(strengths(exercise, translate())),
        drawings=step_drawings(exercise, translator(client.language)), where=WHERE, unit=UNIT, decisions=DECISIONS)


@blueprint.post("/clients/<int:client_id>/teach-back/<int:n>", endpoint="teach_back_sent")
@require("therapist", "lead")
def take_teach_back(client_id: int, n: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    known, form = read_known(database(), client, now_ms()), Form(request.form)
    if acted := act_on(client_id, known, n, form):
        return acted
    if not form.ok:
        return _page(client, known, n, form), 422
    exercise = exercise_or_refuse(client_id, known, n)
    marks = [form.value(f"mark{step['step']}") for step in exercise["set_up_steps"]]
    practised = {row: form.value(f"mark_{row}") for row in ROWS}
    where, unit = form.choice("where", WHERE), form.choice("unit", UNIT)
    decision, note = form.choice("decision", DECISIONS), form.text("note", most=LONGEST_NOTE)
    if decision == "ready":
        _check_ready(form, client_id, [*marks, *practised.values()] if unit == "with" else marks, unit)
    if not form.ok:
        return _page(client, known, n, form), 422
    told: dict[str, Any] = {"note": note, "user_id": signed_in().id, "now_ms": now_ms()}
    with write() as db:
        record_teach_back(db, client_id, exercise, marks, with_unit=unit == "with", where=where,
                          practised=practised, **told)
        if decision != "later":
            record_ready(db, client_id, exercise, ready=decision == "ready", **told)
        audit(db, "teach_back_kept", client_id, exercise=n, decision=decision)
    flash(translate()("teach.saved"))
    return redirect(f"/clinic/clients/{client_id}/teach-back/{n}", 303)


def _check_ready(form: Form, client_id: int, marks: list[str], unit: str) -> None:
    """Holds *ready* to what was seen: with the unit, all of it marked, hands-on help only with somebody there."""
    if unit != "with":
        form.refuse("decision", "teach.needs_unit")
    if blank := sum(mark not in MARKS for mark in marks):
        form.refuse("decision", "teach.missing_marks", n=blank)
    helper = read_screening(database(), client_id, frozenset(), now_ms()).given("helper")
    if "help" in marks and helper and helper != "each_time":
        form.refuse("decision", "teach.needs_helper")
