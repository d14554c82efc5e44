"""The files that a client's data is handed out in: FHIR, CSV, calendar, everything."""

from __future__ import annotations

from flask import Response, request
from flask.typing import ResponseReturnValue

from webapp.client_log import ClientLog
from webapp.exports.calendar import write_calendar
from webapp.exports.everything import archive
from webapp.exports.fhir import write_bundle
from webapp.exports.fhir_facts import FhirFacts
from webapp.exports.tables import sessions_csv
from webapp.serving import audit, database, now_ms, require, texts, write
from webapp.storage import clinic, goals, held, measures, pauses, plans
from webapp.therapist import blueprint
from webapp.therapist.issue import plan_or_refuse
from webapp.therapist.plan import client_or_refuse
from webapp.therapist.report import attachment, read_log
from webapp.translations import translator

FHIR, CSV, CALENDAR, ZIP = "application/fhir+json", "text/csv; charset=utf-8", "text/calendar; charset=utf-8", (
    "application/zip")


def fhir_facts(log: ClientLog, *, words: bool) -> FhirFacts:
    """Gathers what the FHIR bundle is written from: the same log, plans, goals and numbers as the pages show."""
    db, client_id = database(), log.client.id
    return FhirFacts(
        t=texts(), client_code=log.client.code, clinic_name=clinic.read(db).name, today=log.today, made_ms=now_ms(),
        issued=[p.issued for p in reversed(log.plans)], versions=log.versions, sessions=log.log.sessions,
        summary=log.summary, goals=goals.of_client(db, client_id),
        reviews=[n.review for n in goals.reviews(db, client_id)], measures=measures.list_all(db),
        readings=[n.reading for n in measures.readings(db, client_id)], words=words)


def _words_agreed() -> bool:
    return request.form.get("words_agreed") == "yes"


@blueprint.post("/clients/<int:client_id>/fhir")
@require("therapist", "lead")
def fhir_file(client_id: int) -> ResponseReturnValue:
    log, words = read_log(client_or_refuse(client_id)), _words_agreed()
    content = write_bundle(fhir_facts(log, words=words))
    return _handed_out(log, content, FHIR, "fhir.json", "fhir", words=words)


@blueprint.post("/clients/<int:client_id>/sessions.csv")
@require("therapist", "lead")
def csv_file(client_id: int) -> ResponseReturnValue:
    log, words = read_log(client_or_refuse(client_id)), _words_agreed()
    content = sessions_csv((*log.log.sessions, *log.log.paper), log.versions, words=words)
    return _handed_out(log, content, CSV, "sessions.csv", "csv", words=words)


@blueprint.post("/clients/<int:client_id>/everything")
@require("therapist", "lead")
def everything_file(client_id: int) -> ResponseReturnValue:
    """Hands out all that is held, as a client may ask: their own words included, since it is theirs."""
    log, t = read_log(client_or_refuse(client_id)), texts()
    files = {"fhir.json": write_bundle(fhir_facts(log, words=True)),
             "sessions.csv": sessions_csv((*log.log.sessions, *log.log.paper), log.versions, words=True)}
    if log.plan:
        files["calendar.ics"] = _calendar(log.plan)
    readme = t("files.readme", code=log.client.code, clinic=clinic.read(database()).name, day=log.today.isoformat())
    content = archive(held.read_held(database(), client_id), files, readme, now_ms())
    return _handed_out(log, content, ZIP, "everything.zip", "everything", words=True)


@blueprint.get("/clients/<int:client_id>/plans/<int:version>/calendar.ics")
@require("therapist", "lead")
def calendar_file(client_id: int, version: int) -> ResponseReturnValue:
    client, plan = client_or_refuse(client_id), plan_or_refuse(client_id, version)
    with write() as db:
        audit(db, "file_handed_out", client_id, kind="calendar")
    content = _calendar(plan)
    return attachment(content, CALENDAR, f"{client.code}-calendar.ics")


def _calendar(plan: plans.Plan) -> bytes:
    off = pauses.off(database(), plan.client_id)
    return write_calendar(plan.issued, translator(str(plan.issued["language"])), off)


def _handed_out(log: ClientLog, content: bytes, kind: str, name: str, what: str, *, words: bool) -> Response:
    """Sends a file and notes in the trail that it left the house, and whether with the client's words."""
    with write() as db:
        audit(db, "file_handed_out", log.client.id, kind=what, words_agreed=words)
    return attachment(content, kind, f"{log.client.code}-{name}")
