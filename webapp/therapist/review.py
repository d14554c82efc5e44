"""The review of one client: what needs an answer, then done against planned, strength, pain, notes; all by the log."""

from __future__ import annotations

from functools import partial
from weakref import proxy

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from webapp.client_log import ClientLog, read_gaps, read_recent_log
from webapp.errors import refuse
from webapp.practice.adherence import is_cut_short
from webapp.practice.attention import Reason, together
from webapp.practice.schedule import read_version
from webapp.practice.session import local_date
from webapp.practice.summary import skin_answers, title_of
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, texts, write
from webapp.storage import answers, clients, clinic, plans, records, rests, visits
from webapp.storage.clients import Client
from webapp.therapist import blueprint, words
from webapp.therapist.charts import SIGNS
from webapp.therapist.form import Form
from webapp.therapist.holding import let_rest, read_until
from webapp.therapist.rest import end_rests
from webapp.therapist.review_page import ClinicFacts, ReviewPage, StrengthPicture, review_page
from webapp.therapist.review_period import Shown, choose, read_asked
from webapp.therapist.review_records import entry_text

NOTE_LONGEST = 400
ASKED = ("from", "to", "version", "visit")
PARTS = ("sessions", "others")  # long tables, which come when they are opened
FIGURES = "figures"  # those behind a strength chart, likewise


@blueprint.get("/clients/<int:client_id>")
@require("therapist", "lead")
def review(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    asked = Form(request.args)
    log, shown = _read(client, asked)
    with write() as db:
        audit(db, "review_read", client_id)
    return _page(log, shown, Form(replayed_form() or {}), asked)


@blueprint.post("/clients/<int:client_id>", endpoint="answer")
@require("therapist", "lead")
def take_answer(client_id: int) -> ResponseReturnValue:
    """Notes how a finding was dealt with (in words: a press alone hides nothing); it stays on the page as answered."""
    form, asked = Form(request.form), Form({})
    log, shown = _read(client_or_refuse(client_id), asked)
    note = form.text("note", required=True, most=NOTE_LONGEST)
    next_step = form.text("next_step", most=NOTE_LONGEST)
    group = _asked(log, form)
    if not form.ok:
        return _page(log, shown, form, asked), 422
    if group:
        at_ms = now_ms()
        with write() as db:
            for device, seq, rule in dict.fromkeys(each for reason in group for each in reason.answers):
                answers.add(db, client_id=client_id, device=device, seq=seq, rule=rule, note=note, next_step=next_step,
                            answered_ms=at_ms, answered_by=signed_in().id)
                audit(db, "finding_answered", client_id, device=device, seq=seq, rule=rule)
            if form.value("may_go_on") == "yes":
                end_rests(db, log)
    flash(texts()("review.answered_now" if group else "review.answered_before"))
    return redirect(url_for("therapist.review", client_id=client_id), 303)


@blueprint.post("/clients/<int:client_id>/seen")
@require("therapist", "lead")
def note_seen(client_id: int) -> ResponseReturnValue:
    """Keeps that the client was seen today: the next review compares with it."""
    client = client_or_refuse(client_id)
    with write() as db:
        visits.note_seen(db, client.id, made_ms=now_ms(), made_by=signed_in().id)
        audit(db, "client_seen", client.id)
    flash(texts()("review.seen_noted"))
    return redirect(url_for("therapist.review", client_id=client.id), 303)


def client_or_refuse(client_id: int) -> Client:
    """Reads a client, or says that the page is not there."""
    client = clients.read(database(), client_id)
    if client is None:
        raise refuse("not_found")
    return client


def _asked(log: ClientLog, form: Form) -> tuple[Reason, ...]:
    """Finds what an answer is about among what still needs one: everything of the same session."""
    key = (form.value("device"), form.value("seq"), form.value("rule"))
    return next((group for group in together(log.reasons)
                 if any(r.key and (r.key[0], str(r.key[1]), r.rule) == key for r in group)), ())


@blueprint.post("/clients/<int:client_id>/hold")
@require("therapist", "lead")
def take_rest(client_id: int) -> ResponseReturnValue:
    """Lets practice rest until a day, or until the therapist's word: one press beside a finding, or with a reason."""
    form, asked = Form(request.form), Form({})
    log, shown = _read(client_or_refuse(client_id), asked)
    why, until = form.text("why", required=True, most=NOTE_LONGEST), read_until(form, log.today)
    if not form.ok:
        return _page(log, shown, form, asked), 422
    with write():
        let_rest(client_id, why, until)
    flash(texts()("held.rests_now"))
    return redirect(url_for("therapist.review", client_id=client_id), 303)


def _read(client: Client, asked: Form) -> tuple[ClientLog, Shown]:
    """Reads as much of the log as the days that were asked for need."""
    db, zone = database(), clinic.read(database()).zone
    today = local_date(now_ms(), zone)
    history = plans.history(db, client.id)
    versions = [read_version(plan.issued) for plan in reversed(history)]
    shown = choose(read_asked(asked), versions, visits.of_client(db, client.id, zone), today)
    return read_recent_log(db, client, now_ms(), zone, shown.needed_from, history), shown


def _page(log: ClientLog, shown: Shown, form: Form, asked: Form) -> str:
    db = database()
    facts = ClinicFacts(
        zone=clinic.read(db).zone, now_ms=now_ms(), limits=clinic.thresholds(db), gaps=read_gaps(db, log),
        records_n=records.count_by_device(db, log.client.id), rests_ended=rests.of_client(db, log.client.id))
    t = texts()  # given to the template, too: its tables ask for some two thousand texts
    page = review_page(t, log, shown, facts)
    part, asked_for = request.args.get("part"), {name: request.args[name] for name in ASKED if name in request.args}
    names = {"sessions": t("review.all_sessions", n=len(page.sessions)),
             "others": t("review.other_records", n=len(page.others))}
    picture = _picture(page, request.args.get("picture", "")) if part == FIGURES else None
    # a template's macros and what they are given hold one another until garbage is looked for: some thousand values,
    # half of a page's time, were they not given weakly
    seen_log = proxy(log)
    return render_template(
        f"therapist/review_{part}.html" if part in (*PARTS, FIGURES) else "therapist/review.html", t=t, picture=picture,
        page=proxy(page), log=seen_log, summary=proxy(page.summary), told=partial(entry_text, t, seen_log),
        client=log.client, form=form, asked=asked, zone=facts.zone, words=words, titles=partial(title_of, log.versions),
        signs=SIGNS, cut_short=is_cut_short, seen=partial(skin_answers, versions=log.versions), asked_for=asked_for,
        page_parts=[(name, names[name]) for name in PARTS if getattr(page, name)],
        opened=PARTS if "all" in request.args else ())


def _picture(page: ReviewPage, number: str) -> StrengthPicture:
    """Finds the strength chart that is asked for, counted from 1."""
    found = dict(enumerate(page.strength, 1)).get(int(number) if number.isdecimal() else 0)
    if found is None:
        raise refuse("not_found")
    return found
