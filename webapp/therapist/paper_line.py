"""One line of a paper diary, put right or taken back by a record that names it: nothing stored is changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from flask import flash, redirect, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.paper import PaperLine, correct_line, is_kept
from webapp.practice.session import Session, clock, worst
from webapp.practice.skin import NOT_ANSWERED
from webapp.serving import audit, now_ms, replayed_form, require, texts, write
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.form import Form, plain
from webapp.therapist.paper import client_of, diary_log, diary_of, page, zone_of
from webapp.therapist.paper_form import Diary, read_lines


@blueprint.get("/clients/<int:client_id>/paper/<int:seq>")
@require("therapist", "lead")
def paper_line(client_id: int, seq: int) -> ResponseReturnValue:
    client, line, diary = _line(client_id, seq)
    return page(client, diary, Form(replayed_form() or _as_typed(line)), line)


@blueprint.post("/clients/<int:client_id>/paper/<int:seq>", endpoint="paper_line_sent")
@require("therapist", "lead")
def correct(client_id: int, seq: int) -> ResponseReturnValue:
    client, line, diary = _line(client_id, seq)
    form = Form(request.form)
    takes_back = form.value("do") == "take_back"
    with write() as db:
        read = None if takes_back else _read(form, line, diary, client)
        if form.ok:
            receipt = correct_line(db, client.id, line, read, zone_of(client), now_ms())
            audit(db, "paper_line_corrected", client.id, seq=seq, taken_back=takes_back, new=receipt.new)
    if not form.ok:
        return page(client, diary, form, line), 422
    flash(texts()("paper.taken_back" if takes_back else "paper.corrected"))
    return redirect(f"/clinic/clients/{client.id}/paper", 303)


def _line(client_id: int, seq: int) -> tuple[Client, Session, Diary]:
    client = client_of(client_id)
    line = next((one for one in diary_log(client).paper if one.entry.seq == seq), None)
    diary = diary_of(client)
    if line is None or diary is None:
        raise refuse("not_found")
    return client, line, diary


def _read(form: Form, line: Session, diary: Diary, client: Client) -> PaperLine | None:
    read = read_lines(form, replace(diary, today=max(diary.today, line.day)), texts())
    if read and is_kept(diary_log(client).paper, read[0][1], line.entry.seq):
        form.refuse("time-1", "paper.twice")
    if read and read[0][1].shows != line.shows:
        form.refuse("exercise-1", "paper.other_unit")
    return read[0][1] if read else None


def _as_typed(line: Session) -> dict[str, str]:
    """Writes a line as it would be typed in."""
    strength = dict(enumerate(line.strength, 1))
    typed = {
        "day": line.day.isoformat(), "time": clock(line.entry.at_min), "exercise": str(line.exercise),
        "minutes": plain(timedelta(seconds=line.cued_s) / timedelta(minutes=1)),
        **{f"strength_{n}": _number(strength.get(n)) for n in (1, 2)}, "skin_before": _skin(line.skin_before),
        "skin_after": _skin(line.skin_after), "pain": _number(line.pain_after), "note": line.note}
    return {f"{name}-1": value for name, value in typed.items()}


def _number(value: float | None) -> str:
    return "" if value is None else plain(value)


def _skin(answers: tuple[int, ...]) -> str:
    return str(worst(answers)) if any(answer != NOT_ANSWERED for answer in answers) else ""
