"""The planned sessions as iCalendar (RFC 5545), with an alarm before each, for the client's own calendar.

Times float: a session stays at ten o'clock by the wall clock across a change of the clocks. No code and no name goes
in; a calendar is seen by others. The same issued plan with the same days off gives the same bytes. A day off is an
exception to its series, so that the series keeps its name; one whose every day is off is called off.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from typing import Any

from icalendar import Alarm, Calendar, Event, vRecur

from webapp.practice.schedule import NO_DAYS_OFF, DaysOff, Planned, PlanVersion, days_from, planned_on, read_version
from webapp.translations import Translate

SLOT_TIMES = {"morning": time(9), "midday": time(12, 30), "afternoon": time(15), "evening": time(18, 30)}  # ours
OTHER_TIMES = (time(10), time(14), time(18), time(20))  # where a plan names no part of the day; ours
BETWEEN_MIN = 15  # to change the pads for the next exercise of the same part of the day; ours
ALARM_MIN = 10
DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Sessions of one exercise at one time of day, all of one length, weekly on the same days."""

    exercise: int
    at: time
    session_s: int
    days: tuple[date, ...]


def write_calendar(issued: Mapping[str, Any], t: Translate, off: DaysOff = NO_DAYS_OFF) -> bytes:
    """Writes the calendar of an issued plan."""
    version = read_version(issued)
    calendar = Calendar()
    calendar.add("prodid", "-//Wattlebird//Planned sessions//EN")
    calendar.add("version", "2.0")
    stamp = datetime.combine(date.fromisoformat(issued["issued_on"]), time(), UTC)
    for n, series in enumerate(all_series(version)):
        calendar.add_component(_event(series, version, stamp, _uid(issued, series, n), t, off))
    return bytes(calendar.to_ical())


def all_series(version: PlanVersion) -> tuple[Series, ...]:
    """Gathers a version's sessions into series; where a session changes its length or its time a new one begins.

    Within a series no day of an exercise's weekdays is left out, so that a weekly rule gives these days and no other.
    """
    found: dict[tuple[int, int], list[tuple[date, time, int]]] = defaultdict(list)
    for day in days_from(version.starts, version.last_day):
        nth: dict[int, int] = defaultdict(int)
        for planned, at in _timed(planned_on(version, day), day):
            found[planned.exercise, nth[planned.exercise]].append((day, at, planned.planned_s))
            nth[planned.exercise] += 1
    return tuple(
        Series(exercise=exercise, at=at, session_s=seconds, days=tuple(day for day, _at, _s in run))
        for (exercise, _nth), sessions in sorted(found.items())
        for (at, seconds), run in groupby(sessions, key=itemgetter(1, 2)))


def _timed(planned: tuple[Planned, ...], day: date) -> Iterator[tuple[Planned, time]]:
    """Gives each session of a day its time; exercises of one part of the day follow one another."""
    free: dict[time, time] = {}
    used: dict[int, int] = defaultdict(int)
    for one in sorted(planned, key=lambda p: (SLOT_TIMES.get(p.slot, OTHER_TIMES[0]), p.exercise)):
        at = SLOT_TIMES.get(one.slot)
        if at is None:
            at = OTHER_TIMES[used[one.exercise] % len(OTHER_TIMES)]
            used[one.exercise] += 1
        begins = datetime.combine(day, free.get(at, at))
        free[at] = (begins + timedelta(seconds=one.planned_s, minutes=BETWEEN_MIN)).time()
        yield one, begins.time()


def _uid(issued: Mapping[str, Any], series: Series, n: int) -> str:
    """Names a series: the same in a later version of the plan, so that it takes the older one's place."""
    about = f"{issued['client_code']}/{issued['plan']}/{series.exercise}/{series.at}/{n}"
    return f"{sha256(about.encode()).hexdigest()[:32]}@wattlebird"


def _event(series: Series, version: PlanVersion, stamp: datetime, uid: str, t: Translate, off: DaysOff) -> Event:
    found = version.exercise(series.exercise)
    title = found.title if found else str(series.exercise)
    start = datetime.combine(series.days[0], series.at)
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("sequence", version.version + off.changed_n)  # a program takes in only what counts higher
    event.add("summary", t("client.calendar.summary", title=title))
    event.add("dtstart", start)  # without a zone: floating
    event.add("duration", timedelta(seconds=series.session_s))
    if len(series.days) > 1:
        weekdays = sorted({day.weekday() for day in series.days})
        event.add("rrule", vRecur(freq="weekly", byday=[DAYS[n] for n in weekdays],
                                  until=datetime.combine(series.days[-1], series.at)))
    _leave_out(event, series, off)
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", t("client.calendar.alarm", n=ALARM_MIN, title=title))
    alarm.add("trigger", timedelta(minutes=-ALARM_MIN))
    event.add_component(alarm)
    return event


def _leave_out(event: Event, series: Series, off: DaysOff) -> None:
    """Excepts the days off, with times that float as the start does; an alarm of theirs does not ring then."""
    left_out = [datetime.combine(day, series.at) for day in series.days if day in off.days]
    if len(left_out) == len(series.days):
        event.add("status", "CANCELLED")
    elif left_out:
        event.add("exdate", left_out)
