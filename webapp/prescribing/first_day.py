"""The first day of a version: today where the last one's is past, and what is found where one is past all the same."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from webapp.prescribing.drafting import Known, Typed, text
from webapp.stimulation.finding import CAUTION, Finding, make_finding

WEEKS_AFTER = 8  # as a new plan starts, where the last one is over


def begin_today(draft: Typed, known: Known) -> None:
    """Lets a version that follows another begin today, where that one's first day is past.

    The steps of a build-up keep their dates, so that it goes on where it stands.
    """
    if text(draft, "first_day") >= known.today:
        return
    draft["first_day"] = known.today
    if text(draft, "last_day") < known.today:
        last = date.fromisoformat(known.today) + timedelta(weeks=WEEKS_AFTER, days=-1)
        draft["last_day"] = last.isoformat()


def first_day_findings(first_day: str, today: str) -> Iterator[Finding]:
    """Finds a first day that is past: a version counts from it, also over what was done by the one before."""
    try:
        day = date.fromisoformat(first_day)
    except ValueError:
        return  # said where the date is read
    if day.isoformat() < today:
        yield make_finding(CAUTION, "first_day_past", source="definition", field="first_day", value=day.isoformat(),
                           limit=today, nearest=(today,))
