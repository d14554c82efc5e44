"""What if: some settings changed on the review, old and new side by side, and in one step the next version's draft."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from flask import redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.prescribing.checking import check_draft
from webapp.prescribing.drafting import Known, Typed, channel_count, exercise_count, shown_settings, text
from webapp.prescribing.electrical import Figure
from webapp.prescribing.figures import Figures
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.prescribing.step_editing import keep_steps_fresh
from webapp.serving import audit, database, now_ms, require, signed_in, texts, write
from webapp.storage import drafts, plans
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.plan import client_or_refuse, client_words, new_version, saved_draft
from webapp.therapist.plan_page import PlanPage

TIMES = ("session_min", "ramp_up_s", "hold_s", "ramp_down_s", "rest_s", "frequency_hz", "pulse_width_us")
OF_CHANNEL = ("intensity", "ceiling")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One number, as it is and as it would be."""

    name: str
    now: str
    then: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One exercise in both states; None where its times can't be read."""

    n: int
    fields: tuple[str, ...]
    now: Figures | None
    then: Figures | None
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """The page's content: the plan as it is, what it would be, and what is typed."""

    now: PlanPage
    then: PlanPage
    version: int
    draft_begun: bool
    exercises: tuple[Compared, ...]


@blueprint.get("/clients/<int:client_id>/what-if")
@require("therapist", "lead")
def what_if(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    known = read_known(database(), client, now_ms())
    return _page(client, _compare(client_id, known, saved_draft(client_id, known)[0]))


@blueprint.post("/clients/<int:client_id>/what-if", endpoint="what_if_sent")
@require("therapist", "lead")
def try_out(client_id: int) -> ResponseReturnValue:
    """Works out what was typed; with *open as a draft* it is kept and the plan builder goes on from there."""
    client = client_or_refuse(client_id)
    known = read_known(database(), client, now_ms())
    draft = _changed(saved_draft(client_id, known)[0], known)
    if request.form.get("do") != "draft":
        return _page(client, _compare(client_id, known, draft))
    for n in range(1, exercise_count(draft) + 1):
        keep_steps_fresh(draft, n, known, client_words(known))
    with write() as db:
        drafts.save(db, client_id, draft, user_id=signed_in().id, now_ms=now_ms(), seen_ms=None)
        audit(db, "draft_from_review", client_id)
    return redirect(url_for("therapist.plan", client_id=client_id), 303)


def _changed(draft: Typed, known: Known) -> Typed:
    """Lays what was typed over a draft; fields that the page does not have are left out."""
    allowed = {name for n in range(1, exercise_count(draft) + 1) for name in _fields(draft, n, known)}
    return {**draft, **{name: value for name, value in request.form.items() if name in allowed}}


def _fields(draft: Typed, n: int, known: Known) -> Iterator[str]:
    ex = f"ex{n}"
    shown = shown_settings(draft, ex, known.stimulators.get(text(draft, f"{ex}.stimulator"), {}))
    yield from (f"{ex}.{name}" for name in TIMES if name in shown)
    yield from (f"{ex}.ch{c}.{name}" for c in range(1, channel_count(draft, ex) + 1) for name in OF_CHANNEL)


def _compare(client_id: int, known: Known, draft: Typed) -> WhatIf:
    newest = plans.newest(database(), client_id)
    if newest is None:
        raise refuse("not_found")
    before = new_version(complete(newest.issued), known)
    now, then = _plan_page(before, known), _plan_page(draft, known)
    return WhatIf(now=now, then=then, version=newest.version,
                  draft_begun=drafts.read(database(), client_id) is not None,
                  exercises=tuple(_compare_exercise(n, now, then, known) for n in then.numbers))


def _plan_page(draft: Typed, known: Known) -> PlanPage:
    return PlanPage(draft=draft, known=known, checked=check_draft(draft, known), t=texts())


def _compare_exercise(n: int, now: PlanPage, then: PlanPage, known: Known) -> Compared:
    was = now.figures(n) if n in now.numbers else None
    is_to_be = then.figures(n)
    return Compared(n=n, fields=tuple(_fields(then.draft, n, known)), now=was, then=is_to_be,
                    rows=tuple(_rows(was, is_to_be)))


def _rows(now: Figures | None, then: Figures | None) -> Iterator[Row]:
    olds, news = _by_name(now), _by_name(then)
    for name in dict.fromkeys([*olds, *news]):
        yield Row(name=name, now=olds.get(name, "–"), then=news.get(name, "–"))


def _by_name(figures: Figures | None) -> dict[str, str]:
    found: tuple[Figure, ...] = (*figures.numbers, *figures.electrical) if figures else ()
    return {figure.name: figure.value for figure in found}


def _page(client: Client, content: WhatIf) -> str:
    part: Any = request.args.get("part")
    name = {"form": "what_if_form", "figures": "what_if_figures"}.get(part, "what_if")
    return render_template(f"therapist/{name}.html", client=client, what_if=content)
