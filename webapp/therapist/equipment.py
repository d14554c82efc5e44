"""A client's equipment and days off: whose the unit is, pads and battery, what is to be got and why; holidays."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from flask import current_app, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from webapp.prescribing.changes import day_text
from webapp.prescribing.drafting import Known, read_draft
from webapp.prescribing.equipment import OWNERS, SESSIONS_A_SET, Need, needs, own_needs
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, texts, write
from webapp.storage import clinic, devices, drafts, equipment, jobs, packs, pauses, plans
from webapp.storage.clients import Client
from webapp.storage.database import Db
from webapp.therapist import blueprint, words
from webapp.therapist.form import LONG, Form
from webapp.therapist.plan import client_or_refuse, client_words
from webapp.translations import Translate

REASONS = ("holiday", "illness", "other")
LONGEST_DAYS = 120


@blueprint.get("/clients/<int:client_id>/equipment")
@require("therapist", "lead")
def equipment_page(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    return _page(client, Form(replayed_form() or equipment.read(database(), client_id)))


def _named(kind: str, names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, texts()(f"equipment.{kind}.{name}")) for name in names]


def _page(client: Client, form: Form) -> str:
    db = database()
    return render_template(
        "therapist/equipment.html", client=client, form=form, words=words,
        owners=_named("owner", OWNERS), reasons=_named("reason", REASONS),
        default_sessions=SESSIONS_A_SET, pauses=pauses.of_client(db, client.id),
        phones_n=_phones_behind(db, client.id))


def _phones_behind(db: Db, client_id: int) -> tuple[int, int]:
    """Counts the phones in use, and those of them that have not said yet that they work with the newest pack."""
    newest = packs.newest_for_client(db, client_id)
    in_use = [one for one in devices.of_client(db, client_id) if not one.revoked and not one.is_paper]
    waiting = jobs.waits_for(db, "make_pack", newest.plan_id) if newest else False
    behind = [one for one in in_use if waiting or newest is None or one.pack_id != newest.pack_id]
    return len(in_use), len(behind)


@blueprint.post("/clients/<int:client_id>/equipment", endpoint="equipment_sent")
@require("therapist", "lead")
def change_equipment(client_id: int) -> ResponseReturnValue:
    """Saves the equipment, adds days off, or takes some back: each button of the page says which."""
    client, form = client_or_refuse(client_id), Form(request.form)
    action, _, rest = form.value("do").partition(":")
    said = {"pause": _add_pause, "take_back": _take_back}.get(action, _save)(client, form, rest)
    if not form.ok:
        return _page(client, form), 422
    flash(said)
    return redirect(url_for("therapist.equipment_page", client_id=client_id), 303)


def _save(client: Client, form: Form, _rest: str) -> str:
    noted = {name: form.text(name) for name in ("serial", "unit_note", "pads_kind", "battery")}
    noted |= {name: str(value) for name in ("pads_stock", "pads_sessions")
              if (value := form.whole(name, 0 if name == "pads_stock" else 1, 200)) is not None}
    noted["owner"] = form.choice("owner", OWNERS)
    noted["needs"] = form.text("needs", most=LONG)
    noted["battery_needed"] = "yes" if form.value("battery_needed") == "yes" else ""
    if form.ok:
        with write() as db:
            equipment.save(db, client.id, noted, user_id=signed_in().id, now_ms=now_ms())
            audit(db, "equipment_changed", client.id)
    return texts()("equipment.saved")


def _add_pause(client: Client, form: Form, _rest: str) -> str:
    first, last = (_day(form, name) for name in ("pause_first", "pause_last"))
    reason = form.choice("pause_reason", REASONS)
    if first and last and not 0 <= (last - first).days < LONGEST_DAYS:
        form.refuse("pause_last", "equipment.pause_order", most=LONGEST_DAYS)
    if form.ok and first and last:
        with write() as db:
            pauses.add(db, client.id, first, last, reason, user_id=signed_in().id, now_ms=now_ms())
            audit(db, "pause_added", client.id)
            _pack_again(db, client)
        current_app.extensions["wattlebird_worker"].wake()
    return texts()("equipment.pause_added")


def _day(form: Form, name: str) -> date | None:
    try:
        return date.fromisoformat(form.text(name, required=True))
    except ValueError:
        form.refuse(name, "equipment.no_day")
        return None


def _take_back(client: Client, _form: Form, rest: str) -> str:
    with write() as db:
        pauses.take_back(db, client.id, int(rest) if rest.isdigit() else 0, now_ms())
        audit(db, "pause_taken_back", client.id)
        _pack_again(db, client)
    current_app.extensions["wattlebird_worker"].wake()
    return texts()("equipment.pause_gone")


def _needs(client: Client, known: Known, noted: Mapping[str, str], t: Translate) -> list[Need]:
    """Lists what the newest version asks for, or a first plan's draft; what was typed where that can't be read."""
    plan, draft = plans.newest(database(), client.id), drafts.read(database(), client.id)
    issued = complete(plan.issued) if plan else read_draft(draft.content, known) if draft else {}
    try:
        return needs(issued, noted, date.fromisoformat(known.today), t)
    except (KeyError, TypeError, ValueError):  # a draft may lack anything
        return list(own_needs(noted, t))


def _pack_again(db: Db, client: Client) -> None:
    """Has the plan packed anew, so that phones learn of the days off; the version stays, the unit too."""
    plan = plans.newest(db, client.id)
    if plan:
        jobs.add(db, "make_pack", plan.id, now_ms())


@blueprint.get("/clients/<int:client_id>/equipment/list")
@require("therapist", "lead")
def equipment_list(client_id: int) -> ResponseReturnValue:
    """The list for whoever pays, to print: what, how many, why; before the first plan is issued, by its draft."""
    client, db = client_or_refuse(client_id), database()
    known, noted = read_known(db, client, now_ms()), equipment.read(db, client_id)
    t, home = client_words(known), clinic.read(db)
    found = _needs(client, known, noted, t)
    with write() as writing:
        audit(writing, "equipment_list_read", client_id)
    return render_template("print/needs.html", client=client, language=known.language, needs=found, c=t, home=home,
                           noted=noted, today=day_text(known.today, t))
