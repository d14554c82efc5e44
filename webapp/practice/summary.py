"""What the review of one client shows: the log laid over the plan, by week, exercise and channel."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from webapp.practice.adherence import Count, DayCount, count_days, days_used, excused, total
from webapp.practice.schedule import PlanVersion, in_force, planned_between
from webapp.practice.session import PAPER, Entry, Log, Session, worst
from webapp.practice.skin import NOT_ANSWERED, UNCHANGED
from webapp.practice.skin_findings import SkinFinding, skin_findings
from webapp.practice.weeks import Week, week_grid

EARLY_DAYS = 31  # a phone's clock may be off; a session long before there was a plan is a clock that was never set


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseTotal:
    """One exercise over the whole window."""

    exercise: int
    title: str
    count: Count


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One answer or figure of one session."""

    session: Session
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthLine:
    """The strengths reached on one channel of one exercise, in one unit, oldest first."""

    exercise: int
    title: str
    channel: int
    channel_name: str
    shows: str
    points: tuple[Point, ...]
    ceilings: tuple[tuple[date, float], ...]  # from that day on


@dataclass(frozen=True, slots=True, kw_only=True, weakref_slot=True)
class Summary:
    """Everything that a review shows in numbers, by the log."""

    first: date
    last: date
    total: Count
    days_used: tuple[int, int]
    weeks: tuple[Week, ...]
    exercises: tuple[ExerciseTotal, ...]
    strength: tuple[StrengthLine, ...]
    pain_before: tuple[Point, ...]
    pain_after: tuple[Point, ...]
    effort: tuple[Point, ...]
    help_n: tuple[int, int, int, int]  # none, prompt, hands-on, not answered
    looks_missing: tuple[Session, ...]
    versions: tuple[tuple[date, int], ...]
    paper: tuple[Session, ...] = ()  # from a diary: in no number, shown beside them
    misdated: tuple[Session, ...] = ()  # their date cannot be: in no number, shown as what they are
    days: tuple[DayCount, ...] = ()
    skin_asked: bool = False  # any answer about the skin was given
    findings: tuple[SkinFinding, ...] = ()  # about the skin, oldest first
    sessions: tuple[Session, ...] = ()  # those that are counted, oldest first


def summarise(log: Log, versions: Sequence[PlanVersion], *, today: date, known_before: date,
              period: tuple[date, date] | None = None, grid: bool = True) -> Summary:
    """Lays a log over the versions of a plan, from the first day of either to today, or over the days of a period.

    `known_before`: the first day from which no log can have come home whole; from then on, nothing logged is *unknown*.
    Without `grid` the weeks are left out, where only the numbers are asked for.
    """
    earliest, latest = earliest_day(versions, date.min), today + timedelta(days=1)
    misdated = tuple(s for s in log.sessions if not earliest <= s.day <= latest)
    if misdated:
        log = replace(log, sessions=tuple(s for s in log.sessions if earliest <= s.day <= latest))
    first, last = period or _whole(log, versions, today)
    if period:
        log = within(log, first, last)
        versions = [v for v in versions if v.starts <= last]
    planned = planned_between(versions, first, min(last, today))
    days = count_days(planned, log.sessions, excused(log.not_today, log.paused), min(known_before, today), log.paper)
    findings = skin_findings(log)
    told = [a for s in (*log.sessions, *log.paper) for a in s.skin_before + s.skin_after]
    return Summary(
        first=first, last=last, total=total(days), days_used=days_used(days),
        weeks=week_grid(log, days, findings, first, last) if grid else (),
        findings=findings, skin_asked=any(a != NOT_ANSWERED for a in told), misdated=misdated, paper=log.paper,
        exercises=_exercises(days, versions), strength=_strength(log.sessions, versions),
        pain_before=_points(log.sessions, "pain_before"), pain_after=_points(log.sessions, "pain_after"),
        effort=_points(log.sessions, "effort"), help_n=_help(log.sessions), looks_missing=looks_missing(log, today),
        versions=tuple((v.starts, v.version) for v in versions if v.starts <= today), days=days, sessions=log.sessions)


def _whole(log: Log, versions: Sequence[PlanVersion], today: date) -> tuple[date, date]:
    """Gives the days that a log and its plans span; a phone in another time zone may be in tomorrow."""
    begun = [v.starts for v in versions if v.starts <= today] + [s.day for s in (*log.sessions, *log.paper)]
    return min(begun, default=today), max([*(s.day for s in log.sessions), today])


def within(log: Log, first: date, last: date) -> Log:
    """Keeps the records of the days from first to last."""
    def sessions(every: Iterable[Session]) -> tuple[Session, ...]:
        return tuple(s for s in every if first <= s.day <= last)

    def entries(every: Iterable[Entry]) -> tuple[Entry, ...]:
        return tuple(e for e in every if first <= e.day <= last)

    # a look on the morning after belongs to the last evening
    looks = tuple(e for e in log.looks if first <= e.day <= last + timedelta(days=1))
    return Log(sessions=sessions(log.sessions), looks=looks, not_today=entries(log.not_today),
               findings=entries(log.findings), changes=entries(log.changes), packs=entries(log.packs),
               others=entries(log.others), aside=entries(log.aside), late=entries(log.late),
               late_sessions=sessions(log.late_sessions), paper=sessions(log.paper))


def earliest_day(versions: Sequence[PlanVersion], no_plan: date) -> date:
    """Gives the first day of which a session can be, a month before any plan; without one, the day that is given.

    No session can be later than tomorrow: a client may be a time zone ahead.
    """
    return min((v.starts - timedelta(days=EARLY_DAYS) for v in versions), default=no_plan)


def title_of(versions: Sequence[PlanVersion], exercise: int, version: int | None = None) -> str:
    """Names an exercise as the given version, else the newest that has it, calls it."""
    named = sorted(versions, key=lambda v: (v.version == version, v.version), reverse=True)
    return next((found.title for v in named if (found := v.exercise(exercise)) is not None), "")


def _exercises(days: Sequence[DayCount], versions: Sequence[PlanVersion]) -> tuple[ExerciseTotal, ...]:
    numbers = sorted({d.exercise for d in days})
    return tuple(
        ExerciseTotal(exercise=n, title=title_of(versions, n), count=total(d for d in days if d.exercise == n))
        for n in numbers)


def _strength(sessions: Sequence[Session], versions: Sequence[PlanVersion]) -> tuple[StrengthLine, ...]:
    keys = sorted({(s.exercise, channel, s.shows) for s in sessions
                   for channel, value in enumerate(s.strength, 1) if value is not None})
    return tuple(_line(exercise, channel, shows, sessions, versions) for exercise, channel, shows in keys)


def _line(exercise: int, channel: int, shows: str, sessions: Sequence[Session],
          versions: Sequence[PlanVersion]) -> StrengthLine:
    points = tuple(
        Point(session=s, value=value) for s in sessions
        if s.exercise == exercise and s.shows == shows and len(s.strength) >= channel
        and (value := s.strength[channel - 1]) is not None)
    ceilings, name = [], ""
    for version in sorted(versions, key=lambda v: v.version):
        found = version.exercise(exercise)
        if found is not None and found.shows == shows and len(found.ceilings) >= channel:
            ceilings.append((version.starts, found.ceilings[channel - 1]))
            name = found.channel_names[channel - 1]
    return StrengthLine(exercise=exercise, title=title_of(versions, exercise), channel=channel, channel_name=name,
                        shows=shows, points=points, ceilings=tuple(ceilings))


def _points(sessions: Iterable[Session], name: str) -> tuple[Point, ...]:
    return tuple(Point(session=s, value=float(value)) for s in sessions if (value := getattr(s, name)) is not None)


def _help(sessions: Iterable[Session]) -> tuple[int, int, int, int]:
    counts = [0, 0, 0, 0]
    for s in sessions:
        counts[3 if s.help is None else min(s.help, 3)] += 1
    return (counts[0], counts[1], counts[2], counts[3])


def looks_missing(log: Log, today: date) -> tuple[Session, ...]:
    """Finds the sessions before today that ended with coloured skin and whose look next morning was not answered."""
    looked = {(e.device, str(e.fields.get("session_seq"))) for e in log.looks if e.fields.get("when") == 2}
    return tuple(
        s for s in log.sessions
        if s.day < today and worst(s.skin_after) != UNCHANGED and (s.entry.device, str(s.entry.seq)) not in looked)


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinAnswer:
    """One answer about one pad's skin that was not *unchanged*; `moment` is before, after, hour or morning.

    `place` is "" where a paper diary does not say which pad it was.
    """

    moment: str
    place: str
    answer: int


def places_of(session: Session, versions: Sequence[PlanVersion]) -> tuple[str, ...]:
    """Names the pad places of a session, as the version of the plan that it was done with does."""
    named = next((v.exercise(session.exercise) for v in versions if v.version == session.version), None)
    return named.places if named else ()


def skin_answers(session: Session, versions: Sequence[PlanVersion]) -> tuple[SkinAnswer, ...]:
    """Lists what was seen on the skin in a session, with the places of its pads."""
    places = places_of(session, versions)
    if session.entry.road == PAPER:  # a diary has one answer for all pads
        places = ("",) * len(places)
    return tuple(
        SkinAnswer(moment=moment, place=places[n] if n < len(places) else str(n + 1), answer=answer)
        for moment, answers in (("before", session.skin_before), ("after", session.skin_after))
        for n, answer in enumerate(answers) if answer not in (UNCHANGED, NOT_ANSWERED))


def above_ceiling(session: Session, versions: Sequence[PlanVersion]) -> tuple[tuple[int, float, float], ...]:
    """Lists (channel, strength, ceiling) where a session went above the ceiling of the version it was done with."""
    plan = next((v for v in versions if v.version == session.version), None) or in_force(versions, session.day)
    found = plan.exercise(session.exercise) if plan else None
    if found is None or found.shows != session.shows:
        return ()
    return tuple(
        (channel, value, ceiling)
        for channel, (value, ceiling) in enumerate(zip(session.strength, found.ceilings, strict=False), 1)
        if value is not None and value > ceiling)
