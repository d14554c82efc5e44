"""What was done since the last visit beside what was done before it; without one, the first days beside the last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from webapp.client_log import ClientLog
from webapp.practice.skin_findings import once
from webapp.practice.summary import Point, StrengthLine, Summary
from webapp.storage.visits import Visit
from webapp.therapist.review_panels import period_words, thousands
from webapp.therapist.review_period import Shown
from webapp.therapist.words import day_words, mean_words, share_words
from webapp.translations import Translate

HANDS_ON = 2
COMPARED = ("sessions", "cut", "capped", "uncapped", "contractions", "pain", "effort", "hands_on", "findings")
FROM_SESSIONS = frozenset({"cut", "contractions", "hands_on"})  # none were done: nothing can be said of them


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRow:
    """One figure before the last visit and since."""

    label: str
    before: str
    since: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The table with its heading and the visit that it goes by; no rows where there are too few days."""

    heading: str
    visit: str
    days: tuple[str, str]
    rows: tuple[CompareRow, ...]


def compare(t: Translate, log: ClientLog, shown: Shown) -> Comparison:
    """Lays the days since the last visit beside those before it."""
    two = shown.compared
    heading = t("review.compare" if two and two.by_visit else "review.compare.ends")
    if two is None:
        return Comparison(heading=heading, visit=t("review.compare.too_few"), days=("", ""), rows=())
    return Comparison(heading=heading, rows=_rows(t, log, two.before, two.since),
                      visit=_visit(t, shown.visit, by_visit=two.by_visit),
                      days=(period_words(t, two.before), period_words(t, two.since)))


def _visit(t: Translate, visit: Visit | None, *, by_visit: bool) -> str:
    if visit is None:
        return t("review.no_visit")
    return t("review.since_visit" if by_visit else "review.last_visit", day=day_words(t, visit.day, weekday=False),
             what=t(f"review.visit.{visit.what}", version=visit.version))


def _rows(t: Translate, log: ClientLog, before: tuple[date, date], since: tuple[date, date]) -> tuple[CompareRow, ...]:
    """Lays the days since the last visit beside as many before it."""
    both = [log.summary_of(days, grid=False) for days in (before, since)]
    rows = [CompareRow(label=t(f"review.compare.{name}"), before=_figure(t, both[0], name),
                       since=_figure(t, both[1], name))
            for name in COMPARED]
    lines = {(line.exercise, line.channel, line.shows): line for one in both for line in one.strength}
    rows += [CompareRow(label=_line_name(t, line, log), before=_mean_strength(t, both[0], key),
                        since=_mean_strength(t, both[1], key)) for key, line in sorted(lines.items())]
    return tuple(rows)


def _figure(t: Translate, summary: Summary, name: str) -> str:
    count = summary.total
    if name == "sessions":
        return t("review.of", done=count.done_n, due=count.due_n)
    if name in FROM_SESSIONS and not summary.sessions:
        return t("review.none")
    if name == "cut":
        return str(count.cut_n)
    if name == "contractions":
        return thousands(count.contractions_n)
    if name in {"pain", "effort"}:
        return _mean(t, summary.pain_after if name == "pain" else summary.effort)
    if name == "hands_on":
        return str(summary.help_n[HANDS_ON])
    if name == "findings":
        return str(len(once(summary.findings))) if summary.findings or summary.skin_asked else t("review.none")
    return share_words(t, count.minutes_share if name == "capped" else count.minutes_share_uncapped)


def _mean(t: Translate, points: Sequence[Point]) -> str:
    return f"{fmean(p.value for p in points):.1f}" if points else t("review.none")


def _mean_strength(t: Translate, summary: Summary, key: tuple[int, int, str]) -> str:
    found = [line for line in summary.strength if (line.exercise, line.channel, line.shows) == key]
    if not found or not found[0].points:
        return t("review.none")
    return mean_words(t, fmean(p.value for p in found[0].points), key[2])


def _line_name(t: Translate, line: StrengthLine, log: ClientLog) -> str:
    several = len({e.exercise for v in log.versions for e in v.exercises}) > 1
    name = line.channel_name or str(line.channel)
    return t("review.compare.strength", name=f"{line.title}, {name}" if several else name)
