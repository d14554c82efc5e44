"""A client's goals and measures: what was set, what was found at each review, what it comes to."""

from __future__ import annotations

from datetime import date

from flask import flash, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.client_log import ClientLog, read_client_log
from webapp.errors import refuse
from webapp.practice.goals import LEVELS, Goal, GoalReview
from webapp.practice.measures import Reading
from webapp.practice.session import local_date
from webapp.serving import audit, database, now_ms, replayed_form, require, signed_in, texts, write
from webapp.storage import clinic, goals, measures
from webapp.storage.clients import Client
from webapp.therapist import blueprint, words
from webapp.therapist.form import Form
from webapp.therapist.goal_form import EARLIEST, read_goal, typed_goal
from webapp.therapist.goals_page import GoalsPage, goals_page
from webapp.therapist.plan import client_or_refuse

NOTE_LONGEST, WHY_LONGEST = 400, 200
LARGEST = 1_000_000  # no measure of a clinic is larger


def _today() -> date:
    return local_date(now_ms(), clinic.read(database()).zone)


def read_page(client: Client) -> GoalsPage:
    """Reads everything that the page of goals and measures shows."""
    db = database()
    return goals_of(read_client_log(db, client, now_ms(), clinic.read(db).zone))


def goals_of(log: ClientLog, until: date = date.max) -> GoalsPage:
    """Reads the goals and measures of a client whose log is at hand, as they stood on a day."""
    db, client_id = database(), log.client.id
    return goals_page(
        [g for g in goals.of_client(db, client_id) if g.set_on <= until],
        [n for n in goals.reviews(db, client_id) if n.review.day <= until], measures.list_all(db),
        measures.list_active(db), [n for n in measures.readings(db, client_id) if n.reading.day <= until], log.summary)


@blueprint.get("/clients/<int:client_id>/goals")
@require("therapist", "lead")
def client_goals(client_id: int) -> ResponseReturnValue:
    client = client_or_refuse(client_id)
    with write() as db:
        audit(db, "goals_read", client_id)
    return _page(client, Form(replayed_form() or {"day": _today().isoformat()}))


@blueprint.post("/clients/<int:client_id>/goals", endpoint="client_goals_sent")
@require("therapist", "lead")
def take_review(client_id: int) -> ResponseReturnValue:
    """Notes what was found at a review: a level for each goal, a value for each measure, as far as given."""
    client, form = client_or_refuse(client_id), Form(request.form)
    page = read_page(client)
    day, note = form.day("day", EARLIEST, _today()), form.text("note", most=NOTE_LONGEST)
    levels = {g.goal.number: _level(form, f"level-{g.goal.number}") for g in page.goals}
    values = {m.number: form.number(f"value-{m.number}", -LARGEST, LARGEST) for m in page.in_use}
    if form.ok and not any(v is not None for v in (*levels.values(), *values.values())):
        form.refuse("day", "goals.nothing_found")
    if not form.ok or day is None:
        return _page(client, form), 422
    at = {"noted_ms": now_ms(), "noted_by": signed_in().id}
    with write() as db:
        for number, level in levels.items():
            if level is not None:
                goals.add_review(db, client_id, GoalReview(goal=number, day=day, level=level, note=note), **at)
        for number, value in values.items():
            if value is not None:
                measures.add_reading(db, client_id, Reading(measure=number, day=day, value=value, note=note), **at)
        audit(db, "goals_reviewed", client_id, goals=sum(v is not None for v in levels.values()),
              measures=sum(v is not None for v in values.values()))
    flash(texts()("form.saved"))
    return redirect(f"/clinic/clients/{client_id}/goals", 303)


def _level(form: Form, name: str) -> int | None:
    return int(form.choice(name, [str(level) for level in LEVELS])) if form.value(name) else None


@blueprint.post("/clients/<int:client_id>/goals/take-out")
@require("therapist", "lead")
def take_out_found(client_id: int) -> ResponseReturnValue:
    """Takes out one level or value that was noted wrongly."""
    client_or_refuse(client_id)
    kind, number = request.form.get("kind", ""), request.form.get("number", 0, type=int)
    if kind not in {"review", "reading"}:
        raise refuse("bad_request")
    with write() as db:
        (goals.withdraw_review if kind == "review" else measures.withdraw_reading)(db, client_id, number, now_ms())
        audit(db, "finding_taken_out", client_id, kind=kind, number=number)
    flash(texts()("goals.taken_out"))
    return redirect(f"/clinic/clients/{client_id}/goals", 303)


@blueprint.get("/clients/<int:client_id>/goals/new")
@require("therapist", "lead")
def new_goal(client_id: int) -> ResponseReturnValue:
    blank = {"importance": "2", "difficulty": "2", "baseline": "-1", "set_on": _today().isoformat()}
    return _goal_page(client_or_refuse(client_id), Form(replayed_form() or blank), None)


@blueprint.post("/clients/<int:client_id>/goals/new", endpoint="new_goal_sent")
@require("therapist", "lead")
def add_goal(client_id: int) -> ResponseReturnValue:
    client, form = client_or_refuse(client_id), Form(request.form)
    goal = read_goal(form, 0, _today())
    if goal is None:
        return _goal_page(client, form, None), 422
    with write() as db:
        number = goals.add(db, client_id, goal, made_ms=now_ms(), made_by=signed_in().id)
        audit(db, "goal_set", client_id, goal=number)
    flash(texts()("form.saved"))
    return redirect(f"/clinic/clients/{client_id}/goals", 303)


@blueprint.get("/clients/<int:client_id>/goals/<int:number>")
@require("therapist", "lead")
def one_goal(client_id: int, number: int) -> ResponseReturnValue:
    client, goal = client_or_refuse(client_id), _goal(client_id, number)
    return _goal_page(client, Form(replayed_form() or typed_goal(goal)), goal)


@blueprint.post("/clients/<int:client_id>/goals/<int:number>", endpoint="one_goal_sent")
@require("therapist", "lead")
def change_goal(client_id: int, number: int) -> ResponseReturnValue:
    """Changes a goal that was not reviewed yet; later its levels stand, or the score would mean nothing."""
    client, form, goal = client_or_refuse(client_id), Form(request.form), _goal(client_id, number)
    changed = None if _is_reviewed(client_id, goal) else read_goal(form, number, _today())
    if changed is None:
        return _goal_page(client, form, goal), 422
    with write() as db:
        goals.change(db, client_id, changed)
        audit(db, "goal_changed", client_id, goal=number)
    flash(texts()("form.saved"))
    return redirect(f"/clinic/clients/{client_id}/goals", 303)


@blueprint.post("/clients/<int:client_id>/goals/<int:number>/aside")
@require("therapist", "lead")
def set_goal_aside(client_id: int, number: int) -> ResponseReturnValue:
    """Sets a goal aside with a reason, or lets it count again."""
    client, goal = client_or_refuse(client_id), _goal(client_id, number)
    form = Form({**typed_goal(goal), "why": request.form.get("why", "")})
    why = "" if goal.set_aside else form.text("why", required=True, most=WHY_LONGEST)
    if not form.ok:
        return _goal_page(client, form, goal), 422
    with write() as db:
        goals.set_aside(db, client_id, number, why)
        audit(db, "goal_set_aside" if why else "goal_counts_again", client_id, goal=number)
    flash(texts()("form.saved"))
    return redirect(f"/clinic/clients/{client_id}/goals", 303)


def _goal(client_id: int, number: int) -> Goal:
    found = goals.read(database(), client_id, number)
    if found is None:
        raise refuse("not_found")
    return found


def _is_reviewed(client_id: int, goal: Goal) -> bool:
    return any(one.review.goal == goal.number for one in goals.reviews(database(), client_id))


def _page(client: Client, form: Form) -> str:
    return render_template("therapist/goals.html", client=client, form=form, page=read_page(client), words=words,
                           latest=_today().isoformat(), levels=LEVELS)


def _goal_page(client: Client, form: Form, goal: Goal | None) -> str:
    t = texts()
    return render_template(
        "therapist/goal.html", client=client, form=form, goal=goal, levels=LEVELS, latest=_today().isoformat(),
        reviewed=goal is not None and _is_reviewed(client.id, goal),
        degrees=[(str(n), t(f"goals.degree.{n}")) for n in range(4)],
        baselines=[(str(n), t(f"goals.level.{n}")) for n in LEVELS])
