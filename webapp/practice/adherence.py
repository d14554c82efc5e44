"""Done against planned. Every number of the review and the caseload is defined here, once.

A session is *done* from one minute of cues on; it is *short* under 80 % of its planned time, *cut short* if it is
short or was stopped for pain, skin or another reason: done all the same, and marked. Counted by day and
exercise, so a session more on Tuesday does not make up for Monday: it is *extra*. An *excused* session was not done on
a day that the client rested for skin, illness or a contact lost twice. An *unknown* one is due on a day from which no
log can have come home yet. One in a *paper* diary was counted by nobody: it is neither done nor missed. Shares are of
what was due: planned less excused less unknown less paper. The measures are the usual ones of home-exercise studies
(session and minute adherence, days used, completion), minutes capped at the day's plan.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import date
from operator import attrgetter

from webapp.practice.schedule import Planned
from webapp.practice.session import Entry, Session

DONE_FROM_S = 60  # less is an attempt (the unit was tried, the session did not come about); common practice, no source
COMPLETE_SHARE = 0.8  # the frequent trial convention (from memory); under it a session is called short
EXCUSING = frozenset({1, 2, 3, 6})  # skin pink, skin finding, unwell, contact lost twice: the plan itself asks for rest


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """Some days in numbers: planned = done + missed + excused + unknown + paper; started = done + extra + attempts."""

    planned_n: int = 0
    done_n: int = 0
    missed_n: int = 0
    excused_n: int = 0
    unknown_n: int = 0
    paper_n: int = 0  # written in a diary: neither done by the log nor missed
    extra_n: int = 0
    attempts_n: int = 0
    short_n: int = 0  # of done and extra
    cut_n: int = 0  # of done and extra: short, or stopped before the end
    due_s: int = 0  # planned seconds of what was due
    counted_s: int = 0  # cued seconds, at most the planned ones of each day and exercise
    cued_s: int = 0  # all cued seconds
    contractions_n: int = 0  # of all channels

    def __add__(self, other: Count) -> Count:
        return add_up((self, other))

    @property
    def due_n(self) -> int:
        return self.done_n + self.missed_n

    @property
    def started_n(self) -> int:
        return self.done_n + self.extra_n + self.attempts_n

    @property
    def sessions_share(self) -> float | None:
        """Session adherence: sessions done ÷ due."""
        return self.done_n / self.due_n if self.due_n else None

    @property
    def minutes_share(self) -> float | None:
        """Minute adherence, capped: Σ min(done, planned) ÷ due."""
        return self.counted_s / self.due_s if self.due_s else None

    @property
    def minutes_share_uncapped(self) -> float | None:
        """Minute adherence, uncapped: Σ done ÷ due; what was done beyond a day's plan is in it."""
        return self.cued_s / self.due_s if self.due_s else None

    @property
    def completion_share(self) -> float | None:
        """Sessions with at least 80 % of their minutes ÷ sessions started."""
        complete = self.done_n + self.extra_n - self.short_n
        return complete / self.started_n if self.started_n else None


_NAMES = tuple(field.name for field in fields(Count))
_FIGURES = attrgetter(*_NAMES)


@dataclass(frozen=True, slots=True, kw_only=True)
class DayCount:
    """What one day and exercise came to."""

    day: date
    exercise: int
    count: Count


def is_done(session: Session) -> bool:
    return session.cued_s >= DONE_FROM_S


def is_short(session: Session) -> bool:
    """Tells whether a done session had under 80 % of its planned time."""
    return is_done(session) and session.cued_s < COMPLETE_SHARE * session.planned_s


def is_stopped(session: Session) -> bool:
    """Tells whether the client ended a session early and said why, however far it had come."""
    return session.ending not in {"unknown", "done"}


def is_cut_short(session: Session) -> bool:
    """Tells a done session that was short or stopped: it counts as done, and is marked wherever it is shown."""
    return is_done(session) and (is_short(session) or is_stopped(session))


def excused(not_today: Iterable[Entry], paused: Iterable[date] = ()) -> frozenset[tuple[date, int]]:
    """Finds the days and exercises (0: all) that rested for a reason the plan itself gives, and agreed days off."""
    rested = {(e.day, int(e.fields.get("exercise", 0))) for e in not_today if e.fields.get("why") in EXCUSING}
    return frozenset(rested | {(day, 0) for day in paused})


def count_days(
    planned: Sequence[Planned], sessions: Iterable[Session], resting: frozenset[tuple[date, int]], known_before: date,
    paper: Iterable[Session] = (),
) -> tuple[DayCount, ...]:
    """Counts each day and exercise; days from `known_before` on are unknown where nothing is logged."""
    plans: dict[tuple[date, int], list[Planned]] = defaultdict(list)
    done: dict[tuple[date, int], list[Session]] = defaultdict(list)
    for p in planned:
        plans[p.day, p.exercise].append(p)
    for s in sessions:
        done[s.day, s.exercise].append(s)
    written = Counter((s.day, s.exercise) for s in paper if is_done(s))
    return tuple(
        DayCount(day=day, exercise=exercise, count=_one_day(
            plans[day, exercise], done[day, exercise], written[day, exercise],
            rests=(day, 0) in resting or (day, exercise) in resting, known=day < known_before))
        for day, exercise in sorted({*plans, *done, *written}))


def _one_day(planned: list[Planned], sessions: list[Session], written_n: int, *, rests: bool, known: bool) -> Count:
    practised = [s for s in sessions if is_done(s)]
    done_n = min(len(practised), len(planned))
    paper_n = min(written_n, len(planned) - done_n)
    open_n = len(planned) - done_n - paper_n
    excused_n = open_n if rests else 0
    unknown_n = open_n if not rests and not known else 0
    planned_s = sorted(p.planned_s for p in planned)
    cued_s = sum(s.cued_s for s in sessions)
    due_s = sum(planned_s[len(planned_s) - (len(planned) - excused_n - unknown_n - paper_n):]) if planned else 0
    return Count(
        planned_n=len(planned), done_n=done_n, missed_n=open_n - excused_n - unknown_n, excused_n=excused_n,
        unknown_n=unknown_n, paper_n=paper_n, extra_n=len(practised) - done_n,
        attempts_n=len(sessions) - len(practised), short_n=sum(map(is_short, practised)),
        cut_n=sum(map(is_cut_short, practised)), due_s=due_s,
        counted_s=min(cued_s, due_s), cued_s=cued_s, contractions_n=sum(sum(s.contractions) for s in sessions))


def total(days: Iterable[DayCount]) -> Count:
    """Adds days up."""
    return add_up(d.count for d in days)


def add_up(counts: Iterable[Count]) -> Count:
    """Adds counts up, column by column: a review adds some hundred of them."""
    columns = zip(*map(_FIGURES, counts), strict=True)
    return Count(**dict(zip(_NAMES, map(sum, columns), strict=False)))


def days_used(days: Iterable[DayCount]) -> tuple[int, int]:
    """Counts the planned days with at least one session, and the planned days that are neither excused nor unknown."""
    by_day: dict[date, list[Count]] = defaultdict(list)
    for d in days:
        by_day[d.day].append(d.count)
    due = [counts for counts in by_day.values() if any(c.due_n for c in counts)]
    return sum(1 for counts in due if any(c.done_n for c in counts)), len(due)
