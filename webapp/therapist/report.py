"""Reports and files of a client: what leaves the house, made here and kept as it left."""

from __future__ import annotations

from functools import partial

from flask import Response, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.client_log import ClientLog, read_client_log
from webapp.errors import refuse
from webapp.exports.report import read_report, write_report
from webapp.exports.report_pdf import report_pdf
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, texts, write
from webapp.settings import static_folder
from webapp.storage import clinic, reports
from webapp.storage.clients import Client
from webapp.storage.reports import StoredReport
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.goals import goals_of
from webapp.therapist.plan import client_or_refuse
from webapp.therapist.report_facts import ASKS, PARTS, READERS, Chosen, Facts, chosen_fields, summary_of_period
from webapp.therapist.report_form import blank_report, read_report_form, report_form
from webapp.therapist.report_page import compose_report
from webapp.therapist.report_photos import kept_photos, photos_of, shown_photos
from webapp.therapist.report_training import teach_back_days
from webapp.therapist.words import moment_words


def read_log(client: Client) -> ClientLog:
    db = database()
    return read_client_log(db, client, now_ms(), clinic.read(db).zone)


@blueprint.get("/clients/<int:client_id>/report")
@require("therapist", "lead")
def report_and_files(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    log = read_log(client)
    return render_template("therapist/files.html", client=client, log=log,
                           made=reports.of_client(database(), client_id),
                           moment=partial(moment_words, texts(), zone=clinic.read(database()).zone))


@blueprint.get("/clients/<int:client_id>/report/new")
@require("therapist", "lead")
def new_report(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    log, made, kept = read_log(client), reports.of_client(database(), client_id), replayed_form()
    first, last = log.summary.first, log.today
    form = Form(kept) if kept else report_form(made[0].chosen, first, last) if made else blank_report(first, last)
    return _form_page(log, form)


@blueprint.post("/clients/<int:client_id>/report/new", endpoint="new_report_sent")
@require("therapist", "lead")
def make_report(client_id: int) -> ResponseReturnValue:
    """Makes a report and keeps it; that the client agreed to their words is kept with it and in the trail."""
    client, form = client_or_refuse(client_id), Form(request.form)
    log = read_log(client)
    chosen = read_report_form(form, log.today, [one.sha256 for one in photos_of(log, texts())])
    if chosen is None:
        return _form_page(log, form), 422
    content = write_report(compose_report(facts_of(log, chosen)))
    with write() as db:
        report_id = reports.add(db, client_id=client_id, chosen=chosen_fields(chosen), content=content,
                                made_ms=now_ms(), made_by=signed_in().id)
        audit(db, "report_made", client_id, report=report_id, words_agreed=chosen.words_agreed,
              photos=len(chosen.photos))
    return redirect(f"/clinic/clients/{client_id}/report/{report_id}", 303)


def facts_of(log: ClientLog, chosen: Chosen) -> Facts:
    """Gathers what a report speaks of: the numbers of the client's own pages, over the period that was chosen."""
    practice = clinic.read(database())
    return Facts(t=texts(), chosen=chosen, log=log, taught=teach_back_days(database(), log.client.id, practice.zone),
                 clinic=practice, summary=summary_of_period(log, chosen.first, chosen.last),
                 goals=goals_of(log, chosen.last), author=signed_in().name)


@blueprint.get("/clients/<int:client_id>/report/<int:report_id>")
@require("therapist", "lead")
def one_report(client_id: int, report_id: int) -> ResponseReturnValue:
    client, stored = client_or_refuse(client_id), _stored(client_id, report_id)
    with write() as db:
        audit(db, "report_read", client_id, report=report_id)
    report = read_report(stored.content)
    return render_template("print/report.html", client=client, stored=stored, report=report,
                           photos=shown_photos(report, client_id))


@blueprint.get("/clients/<int:client_id>/report/<int:report_id>/pdf")
@require("therapist", "lead")
def report_as_pdf(client_id: int, report_id: int) -> ResponseReturnValue:
    client, stored = client_or_refuse(client_id), _stored(client_id, report_id)
    with write() as db:
        audit(db, "report_taken_out", client_id, report=report_id)
    name = f"{client.code}-report-{report_id}.pdf"
    report = read_report(stored.content)
    drawn = report_pdf(report, static_folder() / "vendor", kept_photos(report, client_id))
    return attachment(drawn, "application/pdf", name)


def attachment(content: bytes, kind: str, name: str) -> Response:
    """Sends a file to be kept."""
    return Response(content, content_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def _stored(client_id: int, report_id: int) -> StoredReport:
    found = reports.read(database(), client_id, report_id)
    if found is None:
        raise refuse("not_found")
    return found


def _form_page(log: ClientLog, form: Form) -> str:
    t = texts()
    return render_template(
        "therapist/report_form.html", client=log.client, form=form,
        photos=[(one.sha256, one.caption) for one in photos_of(log, t)],
        readers=[(one, t(f"report.reader.{one}")) for one in READERS],
        parts=[(one, t(f"report.part.{one}")) for one in PARTS], asks=[(one, t(f"report.ask.{one}")) for one in ASKS])
