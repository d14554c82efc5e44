"""What was planned: a plan's versions, laid out on the calendar. Pack and review both take it from here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedExercise:
    """One exercise of an issued version: when it is due, and what a review has to name."""

    exercise: int
    title: str
    weekdays: frozenset[int]  # 1 Monday … 7 Sunday, as ISO 8601
    slots: tuple[str, ...]  # one for each time a day
    session_s: int
    build_up: tuple[tuple[date, int], ...] = ()  # from that day on, that many seconds
    shows: str = "ma"
    channel_names: tuple[str, ...] = ()
    ceilings: tuple[float, ...] = ()
    places: tuple[str, ...] = ()  # in order of channels and pads, as a record counts them
    muscles: tuple[str, ...] = ()  # what each channel works
    steps: tuple[str, ...] = ()  # of setting up, as a record counts them from 1

    def session_s_on(self, day: date) -> int:
        """Gives the planned seconds of one session on a day."""
        begun = [seconds for start, seconds in self.build_up if start <= day]
        return begun[-1] if begun else self.session_s


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanVersion:
    """One issued version; in force from `starts` until the next one starts or `last_day` is over."""

    version: int
    starts: date
    last_day: date
    exercises: tuple[PlannedExercise, ...]
    changes: tuple[str, ...] = ()
    pads_sessions: int = 0  # a set of pads is changed after so many sessions; 0 where nobody said

    def exercise(self, number: int) -> PlannedExercise | None:
        return next((e for e in self.exercises if e.exercise == number), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One session that the plan asks for on a day."""

    day: date
    slot: str
    exercise: int
    planned_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysOff:
    """Days that a client and a therapist agreed to leave out, and how often that was changed.

    On a day off for `illness` nobody practises; on another a client may by choice: the pads are there, and a holiday
    forbids nothing. What is practised then counts as done, what is not is excused.
    """

    days: frozenset[date] = frozenset()
    illness: frozenset[date] = frozenset()  # of the days
    changed_n: int = 0


NO_DAYS_OFF = DaysOff()


def read_version(issued: Mapping[str, Any]) -> PlanVersion:
    """Reads what a schedule needs from an issued plan (wattlebird.issued/1) that was checked before."""
    first, issued_on = (date.fromisoformat(issued[name]) for name in ("first_day", "issued_on"))
    words = [word for change in issued.get("changes", ()) if change.get("version") == issued["version"]
             for word in change.get("words", ())]
    return PlanVersion(
        version=issued["version"], starts=max(first, issued_on), last_day=date.fromisoformat(issued["last_day"]),
        exercises=tuple(_exercise(e) for e in issued["exercises"]), changes=tuple(words),
        pads_sessions=issued.get("pads_sessions") or 0)


def _exercise(issued: Mapping[str, Any]) -> PlannedExercise:
    channels = issued["channels"]
    shows = "level" if any("ceiling_level" in c for c in channels) else "ma"
    slots = tuple(issued.get("slots") or ("any",) * issued["times_a_day"])
    steps = sorted((date.fromisoformat(s["from"]), _seconds(s["session_min"]))
                   for s in issued.get("minutes_by_date", ()))
    return PlannedExercise(
        exercise=issued["exercise"], title=issued["title"], weekdays=frozenset(issued["days"]), slots=slots,
        session_s=_seconds(issued["settings"]["session_min"]), build_up=tuple(steps), shows=shows,
        channel_names=tuple(c["name"] for c in channels),
        ceilings=tuple(float(c["ceiling_level" if shows == "level" else "ceiling_ma"]) for c in channels),
        places=tuple(pad["place"] for c in channels for pad in c["pads"]),
        muscles=tuple(c.get("muscle") or c["name"] for c in channels),
        steps=tuple(step["text"] for step in issued.get("set_up_steps", ())))


def _seconds(minutes: float) -> int:
    return round(minutes * 60)


def planned_on(version: PlanVersion, day: date) -> tuple[Planned, ...]:
    """Lists the sessions of one version on one day, slot by slot in the order of the exercises."""
    if not version.starts <= day <= version.last_day:
        return ()
    return tuple(
        Planned(day=day, slot=slot, exercise=e.exercise, planned_s=e.session_s_on(day))
        for e in version.exercises if day.isoweekday() in e.weekdays for slot in e.slots)


def in_force(versions: Sequence[PlanVersion], day: date) -> PlanVersion | None:
    """Finds the version that a day belongs to: the newest that had started, up to its last day."""
    started = [v for v in versions if v.starts <= day]
    newest = max(started, key=lambda v: v.version, default=None)
    return newest if newest is not None and day <= newest.last_day else None


def days_from(first: date, last: date) -> Iterable[date]:
    """Counts the days from the first to the last, both included."""
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def starts_again(version: PlanVersion, off: DaysOff, day: date) -> date | None:
    """Finds the first day after a day off on which a session is planned and expected."""
    ahead = days_from(day + timedelta(days=1), version.last_day)
    return next((one for one in ahead if one not in off.days and planned_on(version, one)), None)


def planned_between(versions: Sequence[PlanVersion], first: date, last: date) -> tuple[Planned, ...]:
    """Lists what was planned from one day to another, each day by the version in force on it."""
    found: list[Planned] = []
    for day in days_from(first, last):
        version = in_force(versions, day)
        if version is not None:
            found.extend(planned_on(version, day))
    return tuple(found)
