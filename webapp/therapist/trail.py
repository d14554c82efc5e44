"""The audit trail, shown to the lead: who did what, about whom, when; and whether the chain of it is whole."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

from flask import Response, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.serving import audit, database, require, write
from webapp.serving import texts as translate
from webapp.storage import audit as trail_rows
from webapp.storage import clients, clinic, users
from webapp.storage.audit import Asked
from webapp.storage.database import CannotStoreError
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.trail_words import detail_words
from webapp.therapist.words import moment_words
from webapp.translations import Translate

A_PAGE = 100
# pages of a client that leave a row of their own, or are a part of a page that left one
OWN_ROW = frozenset({"therapist.review", "therapist.client_goals", "therapist.one_report", "therapist.report_as_pdf",
                     "therapist.calendar_file", "therapist.photo", "therapist.pack_progress"})
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2999, 12, 31)


@blueprint.after_request
def note_reading(answer: Response) -> Response:
    """Notes that a client's page was read; where nothing can be stored just now, it is shown all the same."""
    client_id = (request.view_args or {}).get("client_id")
    told = client_id is not None and request.endpoint not in OWN_ROW
    if request.method == "GET" and answer.status_code == 200 and told and g.get("user"):
        try:
            with write() as db:
                audit(db, "client_read", client_id, page=str(request.endpoint).removeprefix("therapist."))
        except CannotStoreError:
            return answer
    return answer


@blueprint.get("/trail")
@require("lead")
def trail() -> ResponseReturnValue:
    db, form = database(), Form(request.args)
    asked, page_n = _asked(form), max(request.args.get("page", 1, int), 1)
    found, all_n = trail_rows.page(db, asked, most=A_PAGE, after_n=(page_n - 1) * A_PAGE)
    t = translate()
    every = ("", t("trail.all"))
    actions = sorted(((one, action_words(t, one)) for one in trail_rows.actions(db)), key=lambda pair: pair[1])
    rows = [TrailRow.of(one, t) for one in found]
    return render_template(
        "therapist/trail.html", form=form, rows=rows, all_n=all_n, page_n=page_n, pages_n=-(-all_n // A_PAGE),
        broken=trail_rows.first_broken(db), actions=[every, *actions],
        people=[every, *((str(one.id), one.name) for one in users.list_all(db))],
        moment=partial(moment_words, t, zone=clinic.read(db).zone),
        query={name: value for name, value in request.args.items() if name != "page" and value})


def _asked(form: Form) -> Asked:
    """Reads the filters; a client who is not known finds nothing, not everything."""
    db, code = database(), form.value("code").strip()
    client = clients.read_by_code(db, code) if code else None
    first, last = _day(form, "from"), _day(form, "to")
    zone = clinic.read(db).zone
    return Asked(
        user_id=int(form.value("person")) if form.value("person").isdigit() else None, action=form.value("action"),
        client_id=client.id if client else -1 if code else None,
        from_ms=_midnight_ms(first, zone) if first else None,
        to_ms=_midnight_ms(last + timedelta(days=1), zone) if last else None)


def _day(form: Form, name: str) -> date | None:
    return form.day(name, FIRST_DAY, LAST_DAY) if form.value(name) else None


def _midnight_ms(day: date, zone: Any) -> int:
    return int(datetime(day.year, day.month, day.day, tzinfo=zone).timestamp() * 1000)


def action_words(t: Translate, action: str) -> str:
    """Names an action; one of another release by its own name."""
    try:
        return t(f"trail.action.{action}")
    except KeyError:
        return action.replace("_", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailRow:
    """One row of the trail in words."""

    id: int
    at_ms: int
    who: str
    what: str
    about: str
    detail: str
    hash: str

    @classmethod
    def of(cls, found: Mapping[str, Any], t: Translate) -> TrailRow:
        told = json.loads(found["detail"])
        about = found["client_code"] or (t("trail.client_gone", n=found["client_id"]) if found["client_id"] else "")
        return cls(id=found["id"], at_ms=found["at_ms"], who=found["user_name"] or t("trail.nobody"), about=about,
                   what=action_words(t, found["action"]), detail=detail_words(t, told), hash=found["hash"][:12])
