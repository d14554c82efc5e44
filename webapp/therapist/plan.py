"""The plan builder: shows a draft, keeps it as typed, and answers each change with hills, numbers and findings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.errors import Refusal, refuse
from webapp.prescribing.checking import CheckedDraft, check_draft
from webapp.prescribing.drafting import Known, Typed, exercise_count
from webapp.prescribing.editing import apply_action, fill_defaults, new_draft
from webapp.prescribing.first_day import begin_today
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.prescribing.readiness import read_standing
from webapp.prescribing.redrafting import draft_of
from webapp.prescribing.step_editing import keep_steps_fresh, remember_steps, steps_are_stale
from webapp.security_headers import PERMISSIONS_POLICY
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, write
from webapp.serving import texts as translate
from webapp.storage import clients, drafts, photos, plans, recordings
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.own_starts import tend_starts, what_changed
from webapp.therapist.plan_page import PlanPage
from webapp.therapist.screening_words import ScreeningWords
from webapp.translations import Translate, translator

MICROPHONE_POLICY = PERMISSIONS_POLICY.replace("microphone=()", "microphone=(self)")
NOT_TYPED = frozenset({"csrf_token", "do", "seen_ms"})
SEVERAL = ("days", "slots")  # fields where several may be ticked
WRAPPING = ("title", "name", "muscle", "muscles", "mark", "second_place")


def client_or_refuse(client_id: int) -> Client:
    """Reads a client, or says that the page is not there."""
    client = clients.read(database(), client_id)
    if client is None:
        raise refuse("not_found")
    return client


def typed_form(form: MultiDict[str, str]) -> Typed:
    """Takes a form as typed, but for the fields that are the page's own; what wraps on the page has no line breaks."""
    return {name: values if name.rsplit(".", 1)[-1] in SEVERAL else _one_line(name, values[-1])
            for name, values in form.lists() if name not in NOT_TYPED}


def _one_line(name: str, typed: str) -> str:
    return " ".join(typed.splitlines()) if name.rsplit(".", 1)[-1] in WRAPPING else typed


def client_words(known: Known) -> Translate:
    """Gives t() in the client's language, or in the tests' pseudo-language with the rest of the page."""
    return translate() if translate()("app.name").startswith("⟦") else translator(known.language)


def current_draft(client_id: int, known: Known) -> tuple[Typed, int]:
    """Gives the draft as it stands and when it was saved: as typed, else from the newest version, else a new one."""
    typed = replayed_form()
    return (typed_form(typed), 0) if typed is not None else saved_draft(client_id, known)


def saved_draft(client_id: int, known: Known) -> tuple[Typed, int]:
    """Gives the draft as it is kept and when it was: else one made of the newest version, else a new one."""
    if (saved := drafts.read(database(), client_id)) is not None:
        return saved.content, saved.saved_ms
    last = plans.newest(database(), client_id)
    draft = new_version(complete(last.issued), known) if last else new_draft(known)
    fill_defaults(draft, known, client_words(known))
    return draft, 0


def new_version(issued: Mapping[str, Any], known: Known) -> Typed:
    """Starts a draft from what the client has; its steps follow the settings until someone changes them."""
    draft = draft_of(issued, known)
    begin_today(draft, known)
    remember_steps(draft, issued, client_words(known))
    return draft


def stale_exercises(draft: Typed, known: Known) -> list[int]:
    """Names the exercises whose steps somebody wrote for other settings, pads or another unit."""
    t = client_words(known)
    return [n for n in range(1, exercise_count(draft) + 1) if steps_are_stale(draft, n, known, t)]


@blueprint.get("/clients/<int:client_id>/plan")
@require("therapist", "lead")
def plan(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    known = read_known(database(), client, now_ms())
    draft, saved_ms = current_draft(client_id, known)
    page = make_response(_page(client, known, draft, saved_ms))
    page.headers["Permissions-Policy"] = MICROPHONE_POLICY
    return page


def _page(client: Client, known: Known, draft: Typed, saved_ms: int, *, conflict: bool = False) -> str:
    page = PlanPage(draft=draft, known=known, checked=check_draft(draft, known), t=translate())
    standing = read_standing(database(), client.id, page.checked.issued, now_ms(), translate())
    words = ScreeningWords.made(database(), translate(), Form({}))
    return render_template("therapist/plan.html", client=client, page=page, saved_ms=saved_ms, standing=standing,
                           before_home=words,
                           stale=stale_exercises(draft, known), conflict=conflict)


@blueprint.post("/clients/<int:client_id>/plan", endpoint="plan_sent")
@require("therapist", "lead")
def save_plan(client_id: int) -> ResponseReturnValue:
    client, action = client_or_refuse(client_id), request.form.get("do", "save")
    known = read_known(database(), client, now_ms())
    typed = typed_form(request.form)
    draft = apply_action(typed, action, known, client_words(known))
    if said := what_changed(action, typed, draft, translate()) or tend_starts(action, draft):
        flash(said, f"start:{action.split(':')[1]}")
    by_script = request.accept_mimetypes.best == "application/json"
    try:
        saved_ms = _save(client_id, draft, force=action == "keep_mine")
    except Refusal as refusal:
        if by_script or refusal.code != "draft_changed":
            raise
        return _page(client, known, draft, int(request.form.get("seen_ms", "0") or 0), conflict=True), 409
    if by_script:
        return {"saved_ms": saved_ms}
    goal = "therapist.issue" if action == "check" else "therapist.plan"
    return redirect(url_for(goal, client_id=client_id), 303)


def _save(client_id: int, draft: Typed, *, force: bool) -> int:
    typed = request.form.get("seen_ms", "")
    seen_ms = int(typed) if typed.isdigit() and not force else None
    with write() as db:
        begun = drafts.read(db, client_id) is None
        saved_ms = drafts.save(db, client_id, draft, user_id=signed_in().id, now_ms=now_ms(), seen_ms=seen_ms)
        if begun:
            audit(db, "draft_begun", client_id)
    return saved_ms


@blueprint.post("/clients/<int:client_id>/plan/figures")
@require("therapist", "lead")
def plan_figures(client_id: int) -> ResponseReturnValue:
    known = read_known(database(), client_or_refuse(client_id), now_ms())
    draft = typed_form(request.form)
    checked = check_draft(draft, known)
    n = min(max(request.args.get("exercise", 1, int), 1), len(checked.exercises))
    page = PlanPage(draft=draft, known=known, checked=checked, t=translate())
    return render_template("therapist/plan_figures.html", page=page, n=n, figures=page.figures(n))


@blueprint.post("/clients/<int:client_id>/plan/steps")
@require("therapist", "lead")
def plan_steps(client_id: int) -> ResponseReturnValue:
    known = read_known(database(), client_or_refuse(client_id), now_ms())
    draft, n = typed_form(request.form), request.args.get("exercise", 1, int)
    keep_steps_fresh(draft, n, known, client_words(known))
    page = PlanPage(draft=draft, known=known, checked=_unchecked(), t=translate())
    stale = [n] if steps_are_stale(draft, n, known, client_words(known)) else []
    return render_template("therapist/plan_steps.html", client=clients.read(database(), client_id), page=page, n=n,
                           stale=stale)


def _unchecked() -> CheckedDraft:
    return CheckedDraft(issued={}, troubles=(), exercises=())


@blueprint.post("/clients/<int:client_id>/plan/discard")
@require("therapist", "lead")
def discard_draft(client_id: int) -> ResponseReturnValue:
    client_or_refuse(client_id)
    with write() as db:
        drafts.discard(db, client_id)
        recordings.forget_unissued(db, client_id)
        photos.forget_unissued(db, client_id)
        audit(db, "draft_discarded", client_id)
    return redirect(url_for("therapist.plan", client_id=client_id), 303)
