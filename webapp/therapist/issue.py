"""The check before issuing, and the issued plan's page."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Any

from flask import current_app, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.prescribing.checking import CheckedDraft, check_draft
from webapp.prescribing.drafting import Known, text
from webapp.prescribing.issue import changes_since_last, issue_plan
from webapp.prescribing.known import read_known
from webapp.prescribing.readiness import read_standing
from webapp.prescribing.tested import signed
from webapp.qr_image import qr_svg
from webapp.serving import audit, database, now_ms, replayed_form, require, settings, signed_in, write
from webapp.serving import texts as translate
from webapp.settings import LOOPBACK
from webapp.storage import clinic, devices, jobs, links, packs, plans, users
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.link_codes import link_address, make_link, shown_code
from webapp.therapist.plan import client_or_refuse, current_draft, stale_exercises
from webapp.therapist.plan_page import PlanPage
from webapp.therapist.plan_words import not_spoken
from webapp.therapist.screening_words import ScreeningWords
from webapp.therapist.verdict import verdict
from webapp.therapist.words import day_words, moment_words

LONGEST_REASON = 400


@blueprint.get("/clients/<int:client_id>/issue")
@require("therapist", "lead")
def issue(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    known = read_known(database(), client, now_ms())
    typed = replayed_form()
    return _check_page(client, known, dict(typed.items()) if typed else {})


def _checked(client: Client, known: Known) -> tuple[PlanPage, CheckedDraft]:
    draft, _saved_ms = current_draft(client.id, known)
    checked = check_draft(draft, known)
    return PlanPage(draft=draft, known=known, checked=checked, t=translate()), checked


def _check_page(client: Client, known: Known, typed: dict[str, str], *, refused: bool = False) -> str:
    page, checked = _checked(client, known)
    changes = changes_since_last(database(), client.id, checked.issued) if not checked.troubles else None
    standing = read_standing(database(), client.id, checked.issued, now_ms(), translate())
    words = ScreeningWords.made(database(), translate(), Form(typed))
    taken_over = tuple(said for n in page.numbers if (said := page.tested(n)))
    first = {} if known.version > 1 else {"why": translate()("issue.why_first")}
    return render_template("therapist/plan_check.html", client=client, page=page, typed=first | typed, changes=changes,
                           standing=standing, words=words,
                           verdict=verdict(checked, standing, words, client.id, taken_over),
                           kept_back=bool(checked.stops or standing.obstacles),
                           refused=refused, unheard=not_spoken(client.id, known, checked),
                           stale=stale_exercises(page.draft, known))


@blueprint.post("/clients/<int:client_id>/issue", endpoint="issue_sent")
@require("therapist", "lead")
def take_issue(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    known = read_known(database(), client, now_ms())
    page, checked = _checked(client, known)
    standing = read_standing(database(), client_id, checked.issued, now_ms(), translate())
    why, lapsed = (request.form.get(name, "").strip()[:LONGEST_REASON] for name in ("why", "lapsed_reason"))
    kept_back = checked.stops or standing.obstacles
    if kept_back or not why or (standing.lapsed and not lapsed):
        return _check_page(client, known, request.form.to_dict(), refused=True), 409 if kept_back else 422
    issued = checked.issued | {"changes": _typed_changes(known), "exercises": [
        signed(each, known.tested.get(each["exercise"]), text(page.draft, f"ex{each['exercise']}.tested"),
               today=known.today, by=signed_in().name) for each in checked.issued["exercises"]]}
    with write() as db:
        made = issue_plan(db, client_id, issued, user_id=signed_in().id, now_ms=now_ms(), note=why,
                          lapsed_reason=lapsed)
        audit(db, "plan_issued", client_id, version=made.version, lapsed=[one.exercise for one in standing.lapsed],
              overrides=[one["item"] for one in made.issued["overrides"]])
        if not devices.of_client(db, client_id):
            make_link(db, client_id, made.issued["last_day"])
    current_app.extensions["wattlebird_worker"].wake()
    flash(translate()("issue.done", n=made.version))
    return redirect(url_for("therapist.issued", client_id=client_id, version=made.version), 303)


def _typed_changes(known: Known) -> list[dict[str, Any]]:
    """Takes what is new for the client as it was typed; what the unit needs is ticked on the phone line by line."""
    if known.version == 1 or "words" not in request.form:
        return []
    words, steps = (_lines(request.form.get(name, "")) for name in ("words", "unit_steps"))
    return [{"version": known.version, "words": words, "unit_changed": bool(steps), "unit_steps": steps}]


def _lines(typed: str) -> list[str]:
    return [line.strip() for line in typed.splitlines() if line.strip()]


def plan_or_refuse(client_id: int, version: int) -> plans.Plan:
    """Reads a version of a client's plan, or says that the page is not there."""
    found = plans.read_version(database(), client_id, version)
    if found is None:
        raise refuse("not_found")
    return found


@blueprint.get("/clients/<int:client_id>/plans/<int:version>")
@require("therapist", "lead")
def issued(client_id: int, version: int) -> ResponseReturnValue:
    client, plan = client_or_refuse(client_id), plan_or_refuse(client_id, version)
    db, address = database(), settings().public_url
    made = links.of_client(db, client_id)
    phones = devices.of_client(db, client_id)
    versions = {device.device: packs.by_id(db, device.pack_id) for device in phones if device.pack_id}
    loopback = any(f"//{host}" in address for host in LOOPBACK)
    code = shown_code(client_id)
    return render_template(
        "therapist/issued.html", client=client, plan=plan, history=plans.history(db, client_id), links=made,
        names={one.id: one.name for one in users.list_all(db)},
        phones=phones, versions=versions, job=jobs.latest(db, "make_pack", plan.id), code=code,
        code_svg=qr_svg(link_address(code), translate()("issued.qr")) if code else "",
        address=address, now_ms=now_ms(), loopback=loopback,
        day=partial(moment_words, translate(), zone=clinic.read(db).zone),
        plan_days=[day_words(translate(), date.fromisoformat(plan.issued[name])) for name in ("first_day", "last_day")])


@blueprint.get("/clients/<int:client_id>/plans/<int:version>/progress")
@require("therapist", "lead")
def pack_progress(client_id: int, version: int) -> ResponseReturnValue:
    job = jobs.latest(database(), "make_pack", plan_or_refuse(client_id, version).id)
    return render_template("therapist/issued_progress.html", job=job)


@blueprint.post("/clients/<int:client_id>/plans/<int:version>/pack")
@require("therapist", "lead")
def pack_again(client_id: int, version: int) -> ResponseReturnValue:
    plan = plan_or_refuse(client_id, version)
    with write() as db:
        jobs.add(db, "make_pack", plan.id, now_ms())
        audit(db, "pack_asked_again", client_id, version=version)
    current_app.extensions["wattlebird_worker"].wake()
    return redirect(url_for("therapist.issued", client_id=client_id, version=version), 303)

