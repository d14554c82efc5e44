"""Which exercises rest after a skin finding, since which record. The phone's `parts/skin_history.js` says the same.

A rest lasts until the therapist ends it *through* a record's number of that phone; a later finding begins it anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from webapp.practice.session import Entry, Log
from webapp.practice.skin import AFTER, BEFORE, HOUR_LATER, NEXT_MORNING, Rows

SKIN, WHY_SKIN, MORNING = 1, 2, 2
MEANS_REST = frozenset({"no_practice", "call"})
EVERY = 0  # the exercise number that stands for all of them


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What one phone's log asks for: no practice of these exercises (0: all) since `entry`, its latest finding."""

    device: str
    exercises: frozenset[int]
    entry: Entry

    @property
    def through(self) -> int:
        """The number that an end of this rest has to reach."""
        return self.entry.seq


def rests(log: Log, ended: Mapping[str, int]) -> tuple[Rest, ...]:
    """Finds the rests that hold, a phone each; `ended` maps a phone to the number through which its rests are over."""
    entries = [*(s.entry for s in log.sessions), *log.looks, *log.findings, *log.not_today]
    by_device: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.seq > ended.get(entry.device, 0):
            by_device.setdefault(entry.device, []).append(entry)
    exercise_of = {(s.entry.device, s.entry.seq): s.exercise for s in log.sessions}
    found = (_rest(device, sorted(kept, key=lambda e: e.seq), exercise_of) for device, kept in by_device.items())
    return tuple(rest for rest in found if rest)


def needed(log: Log, ended: Mapping[str, int]) -> frozenset[tuple[str, int]]:
    """Names the records (device, seq) without which `rests` would say something else, however old they are."""
    asking = [e for e in (*(s.entry for s in log.sessions), *log.looks, *log.findings, *log.not_today)
              if e.seq > ended.get(e.device, 0) and (asks_for_rest(e) or _says_may_go_on(e))]
    named = {(e.device, e.seq) for e in asking}
    sessions = {(e.device, about) for e in asking if isinstance(about := e.fields.get("session_seq"), int)}
    return frozenset(named | sessions)


def _rest(device: str, entries: Iterable[Entry], exercise_of: Mapping[tuple[str, int], int]) -> Rest | None:
    exercises: set[int] = set()
    last = None
    for entry in entries:
        if _says_may_go_on(entry):
            exercises, last = set(), None
        elif asks_for_rest(entry):
            exercises.add(_exercise(entry, exercise_of))
            last = entry
    return Rest(device=device, exercises=frozenset(exercises), entry=last) if last else None


def _says_may_go_on(entry: Entry) -> bool:
    """Tells the note of an older release: the client wrote down that the therapist had said so."""
    return entry.kind == "finding" and entry.fields.get("what") == SKIN and entry.fields.get("skin") == 0


def asks_for_rest(entry: Entry) -> bool:
    """Tells whether a record means no practice until the therapist says so."""
    f = entry.fields
    if entry.kind == "session":
        return _means_rest(AFTER, f.get("skin_after"))
    if entry.kind == "skin_later":
        return _means_rest(NEXT_MORNING if f.get("when") == MORNING else HOUR_LATER, f.get("skin"))
    if entry.kind == "finding":
        return f.get("what") == SKIN and _means_rest(BEFORE, [f.get("skin")])
    return entry.kind == "not_today" and f.get("why") == WHY_SKIN


def _means_rest(rows: Rows, answers: object) -> bool:
    given = answers if isinstance(answers, list | tuple) else ()
    return any(rows.get(answer) in MEANS_REST for answer in given if isinstance(answer, int))


def _exercise(entry: Entry, exercise_of: Mapping[tuple[str, int], int]) -> int:
    """Names the exercise that a finding is about; a later look is about that of its session."""
    if entry.kind == "skin_later":
        named = entry.fields.get("session_seq")
        return exercise_of.get((entry.device, named), EVERY) if isinstance(named, int) else EVERY
    found = entry.fields.get("exercise")
    return found if isinstance(found, int) and not isinstance(found, bool) else EVERY
