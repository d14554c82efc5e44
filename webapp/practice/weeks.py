"""The weeks of a review as a grid: what each day came to, in one word."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from webapp.practice.adherence import Count, DayCount, add_up, is_cut_short, is_stopped
from webapp.practice.session import ENDINGS, WHYS, Entry, Log, Session
from webapp.practice.skin_findings import SkinFinding

SHORT = "short"  # how a session was cut that nobody stopped


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day of the week grid. `state` is what the sign says; the counts stand beside it."""

    day: date
    state: str  # none, done, cut, part, missed, excused, unknown, extra, paper
    count: Count
    why: str = ""  # the reason given for not practising, where there is one
    finding: bool = False
    cut: str = ""  # where a session was cut short: why it was stopped, "short" where nobody stopped it


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Monday to Sunday."""

    start: date
    days: tuple[Day, ...]
    count: Count


def week_grid(log: Log, days: Sequence[DayCount], findings: Iterable[SkinFinding], first: date, last: date
              ) -> tuple[Week, ...]:
    """Lays what was counted over whole weeks."""
    counts: dict[date, Count] = {}
    for d in days:
        counts[d.day] = counts[d.day] + d.count if d.day in counts else d.count
    whys, cuts, marked = {e.day: _why(e) for e in log.not_today}, _cuts(log.sessions), {f.entry.day for f in findings}
    start = first - timedelta(days=first.weekday())
    weeks = []
    while start <= last:
        row = tuple(_day(start + timedelta(days=n), counts, whys, cuts, marked) for n in range(7))
        weeks.append(Week(start=start, days=row, count=add_up(d.count for d in row if d.day in counts)))
        start += timedelta(days=7)
    return tuple(weeks)


def _day(day: date, counts: dict[date, Count], whys: dict[date, str], cuts: dict[date, str],
         marked: set[date]) -> Day:
    count = counts.get(day, Count())
    return Day(day=day, state=day_state(count), count=count, why=whys.get(day, ""), finding=day in marked,
               cut=cuts.get(day, ""))


def _cuts(sessions: Iterable[Session]) -> dict[date, str]:
    """Says of each day why a session was cut short, by the gravest reason; the endings come in that order."""
    found: dict[date, int] = {}
    for session in filter(is_cut_short, sessions):
        number = session.ended if is_stopped(session) else len(ENDINGS)
        found[session.day] = min(number, found.get(session.day, number))
    return {day: ENDINGS[number] if number < len(ENDINGS) else SHORT for day, number in found.items()}


def day_state(count: Count) -> str:
    """Says in one word what a day came to."""
    if count.done_n and count.done_n < count.planned_n - count.excused_n:
        return "part"
    if count.done_n or count.extra_n:
        return "cut" if count.cut_n else "done" if count.done_n else "extra"
    for state in ("missed", "paper", "excused", "unknown"):
        if getattr(count, f"{state}_n"):
            return state
    return "none"


def _why(entry: Entry) -> str:
    number = entry.fields.get("why", 0)
    return WHYS[number] if isinstance(number, int) and 0 <= number < len(WHYS) else WHYS[0]
