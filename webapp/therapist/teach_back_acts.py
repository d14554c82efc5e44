"""What is done in the middle of a teach-back: a step reworded, split, given a photo; the steps lent to a phone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import flash, redirect, request
from flask.typing import ResponseReturnValue

from webapp.errors import Refusal, refuse
from webapp.photo import MOST_BYTES, clean_photo
from webapp.prescribing.drafting import Known, Typed, read_draft
from webapp.prescribing.step_editing import reword_step, show_step_photo
from webapp.qr_image import qr_svg
from webapp.rehearsals import Rehearsal, rehearsals
from webapp.serving import audit, database, now_ms, settings, signed_in, write
from webapp.serving import texts as translate
from webapp.settings import LOOPBACK
from webapp.storage import clinic, drafts, photos
from webapp.therapist.form import Form
from webapp.therapist.plan import saved_draft
from webapp.therapist.teach_back_run import keep_run, run_of
from webapp.therapist.words import moment_words

Exercise = dict[str, Any]
Run = tuple[dict[str, str], int]  # what goes on, and from which step


@dataclass(frozen=True, slots=True, kw_only=True)
class PhoneCode:
    """Steps that are lent to a client's phone, as the page shows them: the code until it was opened."""

    code: str
    opened: str
    ends: str
    unreachable: bool

    @classmethod
    def of(cls, lent: Rehearsal | None, language: str) -> PhoneCode | None:
        if lent is None:
            return None
        address, zone, t = settings().public_url, clinic.read(database()).zone, translate()
        return cls(
            code="" if lent.opened_ms else qr_svg(f"{address}/rehearse?l={language}#{lent.token}", t("teach.phone.qr")),
            opened=moment_words(t, lent.opened_ms, zone) if lent.opened_ms else "",
            ends=moment_words(t, lent.ends_ms, zone), unreachable=any(f"//{host}" in address for host in LOOPBACK))


def exercise_or_refuse(client_id: int, known: Known, n: int) -> Exercise:
    """Reads exercise n as the draft has it, or as the newest version has it where there is no draft."""
    draft, _saved_ms = saved_draft(client_id, known)
    found: list[Exercise] = [one for one in read_draft(draft, known)["exercises"] if one["exercise"] == n]
    if not found:
        raise refuse("not_found")
    return found[0]


def act_on(client_id: int, known: Known, n: int, form: Form) -> ResponseReturnValue | None:
    """Does what a button in the middle of the run asks; None where it is the run itself that is sent.

    A photo that cannot be taken in is a problem of the form: nothing typed is lost over it.
    """
    name, _, number = form.value("do").partition(":")
    act, step = ACTS.get(name), int(number) if number.isdigit() else 0
    if act is None:
        return None
    asked = Asked(client_id=client_id, known=known, n=n, step=step, typed=_typed(client_id, known, n, form))
    try:
        keep_run(client_id, n, *act(asked))
    except Refusal as refusal:
        told = [translate()(f"error.{refusal.code}{part}", **refusal.params) for part in ("", ".do")]
        form.errors[f"file{step}"] = ". ".join(told)
        return None
    return redirect(f"/clinic/clients/{client_id}/teach-back/{n}", 303)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of a step in the middle of a run, and all that was typed so far."""

    client_id: int
    known: Known
    n: int
    step: int
    typed: dict[str, str]


def _typed(client_id: int, known: Known, n: int, form: Form) -> dict[str, str]:
    """Gives the form as typed, without the words of steps that nobody has touched."""
    steps = exercise_or_refuse(client_id, known, n)["set_up_steps"]
    as_it_was = {(f"words{step['step']}", step["text"]) for step in steps}
    return {name: value for name, value in form.values.items() if (name, value.strip()) not in as_it_was}


def _reword(asked: Asked) -> Run:
    """Puts new words into the draft, on the spot; several lines become several steps."""
    words = [line.strip() for line in asked.typed.get(f"words{asked.step}", "").splitlines() if line.strip()]
    if words:
        _change(asked, lambda draft: reword_step(draft, asked.n, asked.step, words), "step_reworded")
        flash(translate()("teach.reworded"))
    return run_of(asked.typed, asked.step, max(len(words), 1)), asked.step


def _photo(asked: Asked) -> Run:
    """Shows a photo with the step: the one sent with the form, or one that a script has sent before."""
    name, sent = asked.typed.get(f"photo{asked.step}", ""), request.files.get(f"file{asked.step}")
    made = clean_photo(sent.stream.read(MOST_BYTES + 1)) if sent and sent.filename else None
    if made is None and photos.jpeg(database(), asked.client_id, name) is None:
        raise refuse("photo_not_read")
    if made is not None:
        with write() as db:
            photos.add(db, asked.client_id, made.sha256, made.jpeg, (made.width, made.height),
                       user_id=signed_in().id, now_ms=now_ms())
            audit(db, "photo_added", asked.client_id)
    return _show(asked, made.sha256 if made else name, "teach.photo_added")


def _photo_off(asked: Asked) -> Run:
    return _show(asked, "", "teach.photo_off")


def _show(asked: Asked, sha256: str, said: str) -> Run:
    _change(asked, lambda draft: show_step_photo(draft, asked.n, asked.step, sha256), "step_photo_changed")
    flash(translate()(said))
    return run_of(asked.typed, asked.step), asked.step


def _change(asked: Asked, change: Callable[[Typed], Typed], action: str) -> None:
    draft, saved_ms = saved_draft(asked.client_id, asked.known)
    with write() as db:
        drafts.save(db, asked.client_id, change(draft), user_id=signed_in().id, now_ms=now_ms(),
                    seen_ms=saved_ms or None)
        audit(db, action, asked.client_id, exercise=asked.n, step=asked.step)


def _lend(asked: Asked) -> Run:
    """Lends the steps to one phone; what was lent before ends."""
    rehearsals().lend(asked.client_id, asked.n, now_ms())
    with write() as db:
        audit(db, "rehearsal_lent", asked.client_id, exercise=asked.n)
    return run_of(asked.typed) | {"where": "phone"}, asked.step


def _take_back(asked: Asked) -> Run:
    rehearsals().take_back(asked.client_id, asked.n)
    with write() as db:
        audit(db, "rehearsal_taken_back", asked.client_id, exercise=asked.n)
    flash(translate()("teach.phone.taken_back"))
    return run_of(asked.typed) | {"where": "screen"}, asked.step


def _stay(asked: Asked) -> Run:
    """Shows the page again as it was: the Enter key on a choice must neither keep a visit nor lend steps."""
    return run_of(asked.typed), asked.step


ACTS: dict[str, Callable[[Asked], Run]] = {
    "stay": _stay, "reword": _reword, "photo": _photo, "photo_off": _photo_off, "lend": _lend, "take_back": _take_back,
}
