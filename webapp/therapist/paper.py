"""The paper road: a therapist types in the diary that a client wrote on the sheet."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.client_log import read_client_log
from webapp.errors import refuse
from webapp.paper import is_kept, keep_lines
from webapp.practice.schedule import read_version
from webapp.practice.session import Log, Session, local_date
from webapp.serving import audit, database, now_ms, replayed_form, require, texts, write
from webapp.storage import clients, clinic, plans
from webapp.storage.clients import Client
from webapp.therapist import blueprint, words
from webapp.therapist.form import Form
from webapp.therapist.paper_form import LINES_N, Diary, lines_n, read_lines


@blueprint.get("/clients/<int:client_id>/paper")
@require("therapist", "lead")
def paper(client_id: int) -> ResponseReturnValue:
    client = client_of(client_id)
    return page(client, diary_of(client), Form(replayed_form() or {}))


@blueprint.post("/clients/<int:client_id>/paper", endpoint="paper_sent")
@require("therapist", "lead")
def keep_paper(client_id: int) -> ResponseReturnValue:
    client, form = client_of(client_id), Form(request.form)
    diary = diary_of(client)
    if diary is None:
        raise refuse("not_found")
    if form.value("do") == "more":
        form.values = form.values.copy()
        form.values["lines_n"] = str(lines_n(form) + LINES_N)
        return page(client, diary, form)
    return _keep(client, diary, form)


def _keep(client: Client, diary: Diary, form: Form) -> ResponseReturnValue:
    with write() as db:
        read = read_lines(form, diary, texts())
        kept = diary_log(client).paper
        typed: set[tuple[int, int]] = set()
        for n, line in read:
            key = (line.at_min, line.exercise)
            if key in typed or is_kept(kept, line):
                form.refuse(f"time-{n}", "paper.twice")
            typed.add(key)
        if form.ok:
            receipt = keep_lines(db, client.id, [line for _, line in read], zone_of(client), now_ms())
            audit(db, "paper_typed_in", client.id, new=receipt.new)
    if not form.ok:
        return page(client, diary, form), 422
    flash(texts()("paper.kept", n=len(read)))
    return redirect(f"/clinic/clients/{client.id}/paper", 303)


def page(client: Client, diary: Diary | None, form: Form, line: Session | None = None) -> str:
    """Shows the form for new lines, or for one that is to be corrected."""
    return render_template("therapist/paper.html", client=client, diary=diary, form=form, words=words, line=line,
                           lines_n=1 if line else lines_n(form), log=diary_log(client))


def diary_log(client: Client) -> Log:
    """Reads the client's log, diary included, as it stands after corrections."""
    return read_client_log(database(), client, now_ms(), clinic.read(database()).zone).log


def client_of(client_id: int) -> Client:
    client = clients.read(database(), client_id)
    if client is None:
        raise refuse("not_found")
    return client


def zone_of(client: Client) -> ZoneInfo:
    """Gives the time zone that the client's plan is kept in."""
    newest = plans.newest(database(), client.id)
    return ZoneInfo(newest.issued["time_zone"]) if newest else clinic.read(database()).zone


def diary_of(client: Client) -> Diary | None:
    issued = [plan.issued for plan in reversed(plans.history(database(), client.id))]
    if not issued:
        return None
    today = local_date(now_ms(), zone_of(client))
    return Diary(versions=tuple(map(read_version, issued)), plan=issued[-1]["plan"], today=today)
