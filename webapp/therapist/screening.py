"""The screening: each row asked and answered by itself, dated and signed; a lead's override with its reason."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.guidance.screening import REGIONS
from webapp.practice.session import local_date
from webapp.prescribing.screening import (
    ABILITIES,
    NEVER_OVERRIDDEN,
    WORD,
    Screening,
    places_now,
    read_screening,
    record_answers,
    record_override,
)
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, write
from webapp.serving import texts as translate
from webapp.storage import assessments, clinic, plans
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.holding import practice_held
from webapp.therapist.plan import client_or_refuse
from webapp.therapist.screening_words import ScreeningWords

PLACES = tuple(f"{region}:{side}" for region in REGIONS for side in ("left", "right"))
SHORTEST_REASON = 12  # characters: a word is no reason
LONGEST = 600


@blueprint.get("/clients/<int:client_id>/screening")
@require("therapist", "lead")
def screening(client_id: int) -> ResponseReturnValue:
    client, typed = client_or_refuse(client_id), replayed_form()
    places = _places(client_id, typed.getlist("place") if typed else request.args.getlist("place"))
    return _page(client, places, Form(typed or {}))


def _places(client_id: int, asked: list[str]) -> frozenset[str]:
    """Gives where the pads lie: in the plan as it stands, and where the therapist says besides."""
    return places_now(database(), client_id) | frozenset(asked).intersection(PLACES)


def _page(client: Client, places: frozenset[str], form: Form) -> str:
    db = database()
    words = ScreeningWords.made(db, translate(), form)
    return render_template(
        "therapist/screening.html", client=client, form=form, places=places, of_plan=places_now(db, client.id),
        screening=read_screening(db, client.id, places, now_ms()), words=words, regions=REGIONS, abilities=ABILITIES,
        never=NEVER_OVERRIDDEN, history=assessments.of_client(db, client.id, "screening"),
        days=assessments.screening_days(db), running=running_version(client.id))


def running_version(client_id: int) -> int:
    """Names the version that runs at home today; 0 where none does."""
    last, today = plans.newest(database(), client_id), local_date(now_ms(), clinic.read(database()).zone)
    return last.version if last and str(last.issued["last_day"]) >= today.isoformat() else 0


@blueprint.post("/clients/<int:client_id>/screening", endpoint="screening_sent")
@require("therapist", "lead")
def take_screening(client_id: int) -> ResponseReturnValue:
    client, form = client_or_refuse(client_id), Form(request.form)
    places = _places(client_id, request.form.getlist("place"))
    standing = read_screening(database(), client_id, places, now_ms())
    answers = _answers(form, standing)
    if not form.ok:
        return _page(client, places, form), 422
    with write() as db:
        kept = record_answers(db, client_id, answers, places, user_id=signed_in().id, now_ms=now_ms())
        audit(db, "screening_answered", client_id, rows=kept)
    t = translate()
    stopped = kept and practice_held(client_id).stops
    flash(t("held.saved_stopped", version=running_version(client_id)) if stopped else
          t("screening.saved", n=kept) if kept else t("screening.saved_none"))
    return redirect(_address(client_id, places), 303)


def _address(client_id: int, places: frozenset[str]) -> str:
    asked = "&".join(f"place={place}" for place in sorted(places - places_now(database(), client_id)))
    return f"/clinic/clients/{client_id}/screening{'?' if asked else ''}{asked}"


def _answers(form: Form, standing: Screening) -> dict[str, dict[str, str]]:
    """Reads what was answered; a row without an answer is left as it is."""
    found: dict[str, dict[str, str]] = {}
    for item in standing.items:
        if not (answer := form.value(item.id)):
            continue
        told = {"answer": answer}
        if answer == "yes":
            told |= {name: form.text(f"{item.id}.{name}", most=LONGEST) for name in ("note", *WORD)}
            _check_day(form, f"{item.id}.on", told["on"])
        found[item.id] = {name: value for name, value in told.items() if value or name == "answer"}
    return found


def _check_day(form: Form, name: str, typed: str) -> None:
    try:
        if typed:
            date.fromisoformat(typed)
    except ValueError:
        form.refuse(name, "screening.day_wrong")


@blueprint.post("/clients/<int:client_id>/screening/override")
@require("lead")
def override_screening(client_id: int) -> ResponseReturnValue:
    client, form = client_or_refuse(client_id), Form(request.form)
    places = _places(client_id, request.form.getlist("place"))
    item = _blocked(read_screening(database(), client_id, places, now_ms()), form.value("item"))
    field = f"{form.value('item')}.reason"
    reason = form.text(field, most=LONGEST)
    if item is None or len(reason) < SHORTEST_REASON:
        form.refuse(field, "screening.override_short" if item else "screening.override_gone")
        return _page(client, places, form), 422
    with write() as db:
        record_override(db, client_id, item, reason, user_id=signed_in().id, now_ms=now_ms())
        audit(db, "screening_overridden", client_id, row=item.id)
    flash(translate()("screening.override_done"))
    return redirect(_address(client_id, places), 303)


def _blocked(standing: Screening, item_id: str) -> Any:
    found = next((item for item in standing.those("blocked") if item.id == item_id), None)
    return found if found and found.id not in NEVER_OVERRIDDEN else None
