"""Dates, reasons and answers of the caseload and the review, in words of the catalogue."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from webapp.practice.attention import Reason
from webapp.practice.session import HELP, SKIN, Entry, Session, clock, local_day
from webapp.prescribing.screening import ABILITIES
from webapp.translations import Translate

LISTED = 80  # characters of a note in a list


@lru_cache(maxsize=4096)  # a page names the same days again and again
def day_words(t: Translate, day: date, *, weekday: bool = True) -> str:
    """Writes a day as *Tue 3 Nov*."""
    plain = t("date.day", day=day.day, month=t(f"date.month.{day.month}"))
    return t("date.weekday_day", weekday=t(f"date.weekday.{day.isoweekday()}"), day=plain) if weekday else plain


def ago_words(t: Translate, days: int) -> str:
    """Writes how many days ago something was."""
    return t("date.today") if days <= 0 else t("date.yesterday") if days == 1 else t("date.days_ago", n=days)


def moment_words(t: Translate, at_ms: int, zone: ZoneInfo) -> str:
    """Writes a moment as day and time of the clinic."""
    local = datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(zone)
    return t("date.moment", day=day_words(t, local.date()), time=f"{local:%H:%M}")


def when_words(t: Translate, entry: Entry) -> str:
    """Writes the local day and time of a record."""
    return t("date.moment", day=day_words(t, entry.day), time=clock(entry.at_min))


def minute_words(t: Translate, at_min: int) -> str:
    """Writes a local minute as day and time."""
    return t("date.moment", day=day_words(t, local_day(at_min)), time=clock(at_min))


def reason_words(t: Translate, reason: Reason) -> str:
    """Writes a reason to look at a client as one sentence."""
    params = dict(reason.params)
    if "skin" in params:
        params["skin"] = t(f"answer.skin.{params['skin']}")
    if "kind" in params:
        params["kind"] = kind_words(t, str(params["kind"]))
    if "shows" in params:
        params["strength"] = strength_words(t, float(str(params["strength"])), str(params["shows"]))
        params["ceiling"] = strength_words(t, float(str(params["ceiling"])), str(params["shows"]))
    if "note" in params:
        params["note"] = shortened(str(params["note"]))
    if "row" in params:
        params["row"] = row_words(t, str(params["row"]))
    if until := params.pop("until", ""):
        params["until"] = day_words(t, date.fromisoformat(str(until)))
    day = day_words(t, reason.day) if reason.day else ""
    if reason.rule == "held" and until:
        return t("attention.held_until", **params, day=day)
    return t(f"attention.{reason.rule}", **params, day=day)


def row_words(t: Translate, row: str) -> str:
    """Names a row of the screening in few words."""
    return t(f"{'ability' if row in ABILITIES else 'screening'}.{row}.short")


def shortened(note: str) -> str:
    """Cuts a long note at a word."""
    if len(note) <= LISTED:
        return note
    return note[:LISTED].rsplit(" ", 1)[0] + " …"


def kind_words(t: Translate, kind: str) -> str:
    """Names a kind of record; one that this release does not know by its own name."""
    try:
        return t(f"record.kind.{kind}")
    except KeyError:
        return kind


def strength_words(t: Translate, value: float | None, shows: str) -> str:
    """Writes a strength with what the unit shows."""
    return t("review.not_answered") if value is None else t(f"strength.{shows}", value=f"{value:g}")


def mean_words(t: Translate, value: float, shows: str) -> str:
    """Writes a mean strength, always with one decimal: means stand beside one another."""
    return t(f"strength.{shows}", value=f"{value:.1f}")


def skin_word(t: Translate, answer: int) -> str:
    name = SKIN[answer] if 0 <= answer < len(SKIN) else ""
    return t(f"answer.skin.{name or 'not_answered'}")


def help_word(t: Translate, session: Session) -> str:
    return t(f"answer.help.{HELP[3 if session.help is None else min(session.help, 3)]}")


def share_words(t: Translate, share: float | None) -> str:
    """Writes a share in whole percent; a dash where nothing was due."""
    return t("review.none") if share is None else t("review.percent", n=round(100 * share))


def duration_words(t: Translate, seconds: int) -> str:
    """Writes seconds as minutes, or as hours and minutes from two hours on."""
    minutes = round(seconds / 60)
    if minutes < 120:
        return t("review.minutes", n=minutes)
    return t("review.hours", hours=minutes // 60, minutes=f"{minutes % 60:02d}")
