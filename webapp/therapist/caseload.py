"""The caseload: every client, those who need somebody first, with the reason; fifty a page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue

from webapp.caseload_rows import reasons_of, refresh_outdated, strip_of
from webapp.practice.attention import URGENT
from webapp.practice.weeks import Day
from webapp.serving import database, now_ms, require, signed_in, texts, write
from webapp.storage import caseload as places
from webapp.storage import users
from webapp.storage.caseload import Place
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.words import ago_words, day_words, reason_words
from webapp.translations import Translate

PER_PAGE = 50
REASONS_SHOWN = 2  # a line each; the review says them all


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseloadRow:
    """One client in the caseload, in words."""

    client: Client
    therapist: str
    level: str  # answer, look or fine (a note alone is read, not acted on)
    urgent: bool
    reasons: tuple[str, ...]
    more_n: int
    strip: tuple[Day, ...]
    done_n: int
    due_n: int
    cut_n: int
    heard: str
    plan: str
    rests: str


@blueprint.get("/")
@require("therapist", "lead")
def caseload() -> ResponseReturnValue:
    db, user = database(), signed_in()
    mine_n, all_n = places.counts(db, user.id)[0], places.counts(db, None)[0]
    whose = request.args.get("whose") or ("mine" if mine_n else "all")
    therapist_id = user.id if whose == "mine" else None
    refresh_outdated(db, write, therapist_id, now_ms())
    shown_n, waiting_n = places.counts(db, therapist_id)
    pages = max(1, ceil(shown_n / PER_PAGE))
    page = min(max(1, request.args.get("page", 1, int)), pages)
    names = {u.id: u.name for u in users.list_all(db)}
    rows = [_row(texts(), client, place, names)
            for client, place in places.page(db, therapist_id, PER_PAGE, PER_PAGE * (page - 1))]
    return render_template("therapist/caseload.html", rows=rows, whose=whose, mine_n=mine_n, all_n=all_n,
                           waiting_n=waiting_n, page=page, pages=pages)


def _row(t: Translate, client: Client, place: Place, names: dict[int, str]) -> CaseloadRow:
    found, content, today = reasons_of(place.content), place.content, date.fromisoformat(place.day)
    first = found[0] if found else None
    return CaseloadRow(
        client=client, therapist=names.get(client.therapist_id or 0, ""),
        level="fine" if first is None or first.rule == "note" else "answer" if first.needs_answer else "look",
        urgent=first is not None and first.rule in URGENT,
        reasons=tuple(reason_words(t, reason) for reason in found[:REASONS_SHOWN]),
        more_n=max(0, len(found) - REASONS_SHOWN), strip=strip_of(content, today), done_n=content["done"][0],
        due_n=content["done"][1], cut_n=sum(content["done"][2:]),  # an older release kept none
        heard=_heard(t, content["heard"], today), plan=_plan(t, content["plan"]),
        rests=_rests(t, content))


def _rests(t: Translate, content: dict[str, Any]) -> str:
    """Says that practice rests, and until when; a row worked out by an older release names no day."""
    if until := content.get("rests_until"):
        return t("held.until", until=day_words(t, date.fromisoformat(until)))
    return t("caseload.rests") if content["resting"] else ""


def _heard(t: Translate, heard: str | None, today: date) -> str:
    if heard is None:
        return t("caseload.no_phone")
    return ago_words(t, (today - date.fromisoformat(heard)).days)


def _plan(t: Translate, plan: list[object] | None) -> str:
    if plan is None:
        return t("caseload.no_plan")
    last_day = date.fromisoformat(str(plan[1]))
    return t("caseload.plan", version=plan[0], day=day_words(t, last_day, weekday=False))
