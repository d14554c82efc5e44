"""What practice rests by at the clinic's own word: shown first, asked for and ended here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from webapp.client_log import last_heard
from webapp.errors import refuse
from webapp.practice.hold import BY_WORD, CLINIC, NOT_AT_HOME, Hold, holding, stops
from webapp.practice.session import local_date
from webapp.prescribing.holds import ask_for_rest, end_rest, holding_now, read_holds
from webapp.resting import other_rest_digits
from webapp.serving import audit, database, now_ms, require, signed_in, texts, write
from webapp.storage import clinic, devices, plans
from webapp.storage.devices import Device
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.words import day_words, moment_words, row_words
from webapp.translations import Translate

DAY_MS = 86_400_000
DIGIT_DAYS = 14  # so long the digits of an ended rest are shown, unless the phone was heard since
WHY_LONGEST = 400
LONGEST_DAYS = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldLine:
    """One rest that holds, in words; `id` where a press ends it."""

    title: str
    words: tuple[str, ...]
    stops: bool
    id: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What stands at the top of a client's pages: what holds, what a lead let go on, digits that a phone needs."""

    lines: tuple[HeldLine, ...] = ()
    overridden: tuple[str, ...] = ()
    over: tuple[tuple[str, str], ...] = ()

    @property
    def stops(self) -> bool:
        return any(line.stops for line in self.lines)


@blueprint.app_template_global()
def practice_held(client_id: int) -> Held:
    """Reads it for a client; nothing where there is no plan."""
    db, t = database(), texts()
    found, last = read_holds(db, client_id), plans.newest(db, client_id)
    if not found or last is None:
        return Held()
    zone = clinic.read(db).zone
    phones = [d for d in devices.of_client(db, client_id) if not d.revoked and not d.is_paper]
    now = holding(found, local_date(now_ms(), zone))
    return Held(
        lines=tuple(_line(t, hold, last, phones, zone) for hold in now),
        overridden=tuple(
            t("screening.override_line", what=row_words(t, hold.row), name=hold.ended_by, reason=hold.ended_why,
              day=day_words(t, hold.ended_day)) for hold in found
            if hold.ended_why and hold.ended_day and hold.since_ms >= last.issued_ms),
        over=() if now else _over(t, found, phones, zone))


def _line(t: Translate, hold: Hold, last: plans.Plan, phones: list[Device], zone: ZoneInfo) -> HeldLine:
    since = moment_words(t, hold.since_ms, zone)
    if hold.kind == NOT_AT_HOME:
        return HeldLine(
            title=t("held.not_at_home", what=row_words(t, hold.row)), stops=True,
            words=(t("held.stopped", version=last.version, since=since, name=hold.by), *_told(t, hold, phones, zone)))
    title = t("held.until", until=day_words(t, hold.until)) if hold.until else t("held.without_day")
    return HeldLine(title=title, stops=False, id=hold.id,
                    words=(t("held.by_word", since=since, name=hold.by, why=hold.why), *_told(t, hold, phones, zone)))


def _told(t: Translate, hold: Hold, phones: Iterable[Device], zone: ZoneInfo) -> tuple[str, ...]:
    """Says of each phone whether it can know: it hears of a rest when it speaks to the clinic."""
    known = [d for d in phones if last_heard(d) > hold.since_ms]
    deaf = [d for d in phones if d not in known]
    return (
        *(t("held.phone_knows", phone=d.device[:4], when=moment_words(t, last_heard(d), zone)) for d in known),
        *(t("held.phone_deaf", phone=d.device[:4], when=moment_words(t, last_heard(d), zone)) for d in deaf),
        *((t("held.tell"),) if deaf or not known else ()))


def _over(t: Translate, found: tuple[Hold, ...], phones: Iterable[Device], zone: ZoneInfo
          ) -> tuple[tuple[str, str], ...]:
    """Gives the digits of each phone's latest rest that it knows of and whose end it has not heard."""
    told = []
    for phone in phones:
        known = [h for h in found if h.since_ms < last_heard(phone)]
        latest = max(known, key=lambda h: h.id, default=None)
        if latest and latest.ended_ms and last_heard(phone) <= latest.ended_ms > now_ms() - DIGIT_DAYS * DAY_MS:
            words = t("held.over", phone=phone.device[:4], name=latest.ended_by,
                      when=moment_words(t, latest.ended_ms, zone))
            told.append((words, other_rest_digits(phone.device_key, phone.device, CLINIC, latest.id)))
    return tuple(told)


def refuse_if_stopped(client_id: int) -> None:
    """Refuses a code or a sheet of a plan that an answer *not at home* has stopped."""
    if stopping := stops(holding_now(database(), client_id, now_ms())):
        raise refuse("plan_stopped", what=", ".join(row_words(texts(), hold.row) for hold in stopping))


def read_until(form: Form, today: date) -> date | None:
    """Reads the day from which practice goes on, in the days to come; None where none is named."""
    typed = form.value("until").strip()
    try:
        until = date.fromisoformat(typed) if typed else None
    except ValueError:
        until = date.min
    if until and not 0 < (until - today).days <= LONGEST_DAYS:
        form.refuse("until", "held.until_wrong")
    return until


def let_rest(client_id: int, why: str, until: date | None) -> None:
    """Keeps a therapist's word that practice rests, inside the caller's write transaction."""
    hold = ask_for_rest(database(), client_id, why, until, user_id=signed_in().id, now_ms=now_ms())
    audit(database(), "rest_asked", client_id, hold=hold, until=until.isoformat() if until else "")


@blueprint.post("/clients/<int:client_id>/hold/end")
@require("therapist", "lead")
def end_hold(client_id: int) -> ResponseReturnValue:
    """Lets practice go on before its day."""
    asked = request.form.get("hold", 0, int)
    if not any(h.id == asked and h.kind == BY_WORD for h in holding_now(database(), client_id, now_ms())):
        raise refuse("not_found")
    with write() as db:
        end_rest(db, client_id, asked, user_id=signed_in().id, now_ms=now_ms())
        audit(db, "rest_ended", client_id, hold=asked)
    flash(texts()("review.rest.ended"))
    return redirect(url_for("therapist.review", client_id=client_id), 303)
