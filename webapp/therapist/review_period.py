"""Which days a review shows, and what of them it compares: as asked for, else the last quarter of a year.

Compared is what was done since the last visit within the days shown with as many days before it, never earlier than
they or the plan begin. Where no visit is known, or nothing lies before it, the first of these days stand beside the
last ones: a visit is never made up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from webapp.practice.schedule import PlanVersion
from webapp.practice.summary import EARLY_DAYS
from webapp.storage.visits import Visit
from webapp.therapist.form import Form

WEEKS = 13  # a quarter of a year, on one laptop screen
ASKED_FOR = "asked"  # a day that was typed in as that of the last visit
COMPARED_DAYS = 14  # at either end, where no visit divides the days: two weeks, so that one bad day does not decide


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for: days (None: as usual), a version, the day of the visit before this one."""

    first: date | None
    last: date | None
    version: int | None
    visit: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """The two stretches of days that are laid beside each other; `by_visit` where the last visit divides them."""

    before: tuple[date, date]
    since: tuple[date, date]
    by_visit: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What is shown. `days` is None for all there is; `needed_from` is the first day that has to be read for it."""

    days: tuple[date, date] | None
    version: int | None
    visit: Visit | None
    compared: Compared | None
    needed_from: date


def read_asked(form: Form) -> Asked:
    """Reads what was asked for; what is no day is named and left out."""
    return Asked(first=_day(form, "from"), last=_day(form, "to"), version=form.whole("version", 1, 100_000),
                 visit=_day(form, "visit"))


def _day(form: Form, name: str) -> date | None:
    typed = form.value(name).strip()
    try:
        return date.fromisoformat(typed) if typed else None
    except ValueError:
        form.refuse(name, "review.no_day", typed=typed[:20])
        return None


def choose(asked: Asked, versions: Sequence[PlanVersion], visits: Sequence[Visit], today: date) -> Shown:
    """Chooses the days to show; `versions` come oldest first, `visits` newest first. Today's visit is this one."""
    days, version = _days(asked, versions, today)
    begun = min((v.starts for v in versions), default=today)
    first, last = days or (min(begun, today), today)
    known = next((one for one in visits if one.day < today and one.day <= last), None)
    visit = Visit(day=asked.visit, what=ASKED_FOR) if asked.visit else known
    return Shown(days=days, version=version, visit=visit,
                 compared=_compared(max(first, min(begun, last)), min(last, today), visit.day if visit else None),
                 needed_from=days[0] if days else begun - timedelta(days=EARLY_DAYS))


def _compared(first: date, last: date, visit: date | None) -> Compared | None:
    """Divides the days from first to last; None where there are not two of them."""
    if first >= last:
        return None
    day = timedelta(days=1)
    if visit is not None and first < visit <= last:
        before = max(first, visit - ((last - visit) + day))
        return Compared(before=(before, visit - day), since=(visit, last), by_visit=True)
    n = min(COMPARED_DAYS, ((last - first).days + 1) // 2)
    return Compared(before=(first, first + (n - 1) * day), since=(last - (n - 1) * day, last), by_visit=False)


def _days(asked: Asked, versions: Sequence[PlanVersion], today: date) -> tuple[tuple[date, date] | None, int | None]:
    chosen = next((v for v in versions if v.version == asked.version), None)
    if chosen is not None:
        later = [v.starts for v in versions if v.version > chosen.version and v.starts > chosen.starts]
        last = min([chosen.last_day, today, *(day - timedelta(days=1) for day in later)])
        return (chosen.starts, max(chosen.starts, last)), chosen.version
    begun = min((v.starts for v in versions), default=today)
    quarter = today - timedelta(days=today.weekday(), weeks=WEEKS - 1)
    if asked.first is None and asked.last is None and begun >= quarter:
        return None, None
    first, last = asked.first or max(begun, quarter), asked.last or today
    return (min(first, last), max(first, last)), None
