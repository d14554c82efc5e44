"""Reads the form of a paper diary: some lines, each field checked, all problems at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from webapp.formats.log_record import NOTE_BYTES
from webapp.paper import PaperLine
from webapp.practice.schedule import PlannedExercise, PlanVersion, in_force
from webapp.therapist.form import Form
from webapp.therapist.words import day_words
from webapp.translations import Translate

LINES_N = 6
MOST_LINES = 60
EARLY = timedelta(days=31)
FIELDS = ("day", "time", "exercise", "minutes", "strength_1", "strength_2", "skin_before", "skin_after", "pain", "note")
TIME = re.compile(r"([01]?\d|2[0-3])[:.h ]?([0-5]\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Diary:
    """What a diary can be of: a client's versions, the oldest first, and today's date in their time zone."""

    versions: tuple[PlanVersion, ...]
    plan: int
    today: date

    @property
    def first(self) -> date:
        return self.versions[0].starts - EARLY

    @property
    def exercises(self) -> tuple[PlannedExercise, ...]:
        """Every exercise that a version had, as the newest one calls it."""
        named = {e.exercise: e for version in self.versions for e in version.exercises}
        return tuple(named[number] for number in sorted(named))

    def version_on(self, day: date, exercise: int) -> PlanVersion:
        """Finds the version that a line was done by: the one in force, else the nearest that has the exercise."""
        found = in_force(self.versions, day)
        if found is not None and found.exercise(exercise):
            return found
        having = [v for v in self.versions if v.exercise(exercise)]
        return max((v for v in having if v.starts <= day), key=lambda v: v.version, default=having[0])


def lines_n(form: Form) -> int:
    """Counts the lines that the form shows."""
    typed = form.value("lines_n")
    return min(max(int(typed) if typed.isdecimal() else LINES_N, LINES_N), MOST_LINES)


def written(form: Form) -> Iterator[int]:
    """Finds the lines in which something was written; an exercise alone is only the choice that the page makes."""
    for n in range(1, lines_n(form) + 1):
        if any(form.value(f"{name}-{n}").strip() for name in FIELDS if name != "exercise"):
            yield n


def read_lines(form: Form, diary: Diary, t: Translate) -> list[tuple[int, PaperLine]]:
    """Reads every written line with its number; the form holds what is wrong with the others."""
    read = [(n, _read_line(form, diary, n, t)) for n in written(form)]
    if not read:
        form.refuse("day-1", "paper.nothing")
    return [(n, line) for n, line in read if line]


def _read_line(form: Form, diary: Diary, n: int, t: Translate) -> PaperLine | None:
    before = len(form.errors)
    day, at = _day(form, f"day-{n}", diary, t), _time(form, f"time-{n}")
    number = form.choice(f"exercise-{n}", [str(e.exercise) for e in diary.exercises])
    minutes = form.number(f"minutes-{n}", 1, 180, required=True)
    skin = [form.whole(f"skin_{when}-{n}", 0, 5) for when in ("before", "after")]
    pain, note = form.whole(f"pain-{n}", 0, 10), _note(form, f"note-{n}")
    strength = _strength(form, n, diary, int(number) if number.isdecimal() else 0)
    if len(form.errors) > before or day is None or at is None or minutes is None:
        return None
    version = diary.version_on(day, int(number))
    planned = version.exercise(int(number))
    assert planned
    return PaperLine(
        plan=diary.plan, version=version.version, exercise=planned.exercise, begun=datetime.combine(day, at),
        minutes=minutes, planned_s=planned.session_s_on(day), shows=planned.shows,
        strength=tuple(strength[: len(planned.channel_names)]), skin_before=skin[0], skin_after=skin[1],
        places_n=len(planned.places), pain=pain, note=note)


def _day(form: Form, name: str, diary: Diary, t: Translate) -> date | None:
    try:
        day = date.fromisoformat(form.value(name).strip())
    except ValueError:
        day = None
    if day is not None and diary.first <= day <= diary.today:
        return day
    form.refuse(name, "paper.day_wrong", first=day_words(t, diary.first), last=day_words(t, diary.today))
    return None


def _time(form: Form, name: str) -> time | None:
    found = TIME.fullmatch(form.value(name).strip())
    if found:
        return time(int(found[1]), int(found[2]))
    form.refuse(name, "paper.time_wrong")
    return None


def _strength(form: Form, n: int, diary: Diary, exercise: int) -> Sequence[float | None]:
    """Reads the strengths in the unit's own steps: halves of a milliampere, or whole levels."""
    shows = next((e.shows for e in diary.exercises if e.exercise == exercise), "ma")
    if shows == "level":
        return [form.whole(f"strength_{channel}-{n}", 0, 1000) for channel in (1, 2)]
    return [form.number(f"strength_{channel}-{n}", 0, 200) for channel in (1, 2)]


def _note(form: Form, name: str) -> str:
    note = form.value(name).strip()
    size = len(note.encode("utf-8", "replace"))
    if size > NOTE_BYTES:
        form.refuse(name, "paper.note_long", most=NOTE_BYTES, n=size)
    return note
