"""Sessions as CSV (RFC 4180): one row each, units in the names of the columns, and nothing that a sheet would run."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

from webapp.practice.adherence import is_done, is_short
from webapp.practice.habits import step_text
from webapp.practice.schedule import PlanVersion
from webapp.practice.session import HELP, PAPER, SKIN, Session, clock
from webapp.practice.summary import title_of

RUNS = ("=", "+", "-", "@", "\t", "\r")  # with these a spreadsheet takes a text for a formula
COLUMNS = ("day", "time", "utc_offset_min", "exercise", "title", "version", "planned_min", "cued_min", "counts",
           "short", "ended", "pauses_n", "contractions_1_n", "contractions_2_n", "strength_1", "strength_2",
           "strength_shows",
           "skin_before", "skin_after", "pain_before_0_10", "pain_after_0_10", "effort_0_10", "help", "road",
           "longest_step", "longest_step_s", "set_up_s")
NOTE = "note"
BOM = "\ufeff"  # else a spreadsheet guesses the encoding


def sessions_csv(sessions: Iterable[Session], versions: Sequence[PlanVersion], *, words: bool) -> bytes:
    """Writes one row for each session; the client's notes only with their say."""
    out = StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*COLUMNS, *([NOTE] if words else [])])
    for session in sessions:
        row = _row(session, versions)
        writer.writerow([_safe(cell) for cell in (*row, *([session.note] if words else []))])
    return (BOM + out.getvalue()).encode()


def _row(s: Session, versions: Sequence[PlanVersion]) -> tuple[object, ...]:
    counts = s.entry.road != PAPER and is_done(s)
    return (
        s.day.isoformat(), clock(s.entry.at_min), 15 * s.entry.utc_q, s.exercise,
        title_of(versions, s.exercise, s.version), s.version, round(s.planned_s / 60, 2), round(s.cued_s / 60, 2),
        "yes" if counts else "no", "yes" if is_short(s) else "no", s.ending, s.pauses_n, *_two(s.contractions),
        *_two(s.strength), s.shows, _skin(s.skin_before), _skin(s.skin_after), s.pain_before, s.pain_after, s.effort,
        HELP[3 if s.help is None else min(s.help, 3)], s.entry.road,
        _longest_step(s, versions), s.longest_step_s, s.set_up_s)


def _longest_step(s: Session, versions: Sequence[PlanVersion]) -> str | None:
    """Names the step of set-up that took longest, as the version of the plan that it was done with does."""
    if s.longest_step is None:
        return None
    found = next((v.exercise(s.exercise) for v in versions if v.version == s.version), None)
    return step_text(found.steps if found else (), s.longest_step)


def _two(values: Sequence[float | None]) -> tuple[object, object]:
    first, second, *_more = (*values, None, None)
    return first, second


def _skin(answers: Sequence[int]) -> str:
    """Names the answer for each pad place, in the order of the plan."""
    return "|".join((SKIN[a] if 0 <= a < len(SKIN) else "") or "not_answered" for a in answers)


def _safe(cell: object) -> object:
    """Marks a text that a spreadsheet would run as a formula; numbers stay numbers."""
    if isinstance(cell, str) and cell.startswith(RUNS):
        return f"'{cell}"
    return "" if cell is None else cell
