"""What happened: the records of one client's phones by kind, the sessions read, corrections applied."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from webapp.practice.skin import FINDINGS, NOT_ANSWERED, UNCHANGED

MINUTES_A_DAY = 24 * 60
DAY_ZERO = date(1970, 1, 1)
# days since then that still leave room for sums with days
EARLIEST, LATEST = (date(2, 1, 1) - DAY_ZERO).days, (date(9998, 1, 1) - DAY_ZERO).days
SCALE_NOT_ANSWERED = 11
HELP_NOT_ANSWERED = 3
PERIOD_NOT_KNOWN = 1_000_000
ENDINGS = ("unknown", "done", "pain", "skin", "unwell", "tired", "contact_lost", "unit_or_battery", "interrupted")
WHYS = ("unknown", "skin_pink", "skin_finding", "unwell", "tired", "no_time", "contact_lost", "other")
SKIN = ("unchanged", "pink", "sore", "bumps", "broken", "spot", "", "", "", "not_answered")
PAPER = "paper"  # the road of what was written on the sheet's diary
TAKEN_BACK = "taken_back"  # the field by which a correction takes a line of a diary back
HELP = ("none", "prompt", "hands_on", "not_answered")
IDENTITY = frozenset({"format", "device", "seq", "kind"})  # what a correction may never replace


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One record as it was taken in; `fields` is its content, `aside` and `late` are the intake's marks.

    `aside`: another record had come under the same device and number before. `late`: its phone had been
    withdrawn by then.
    """

    device: str
    seq: int
    kind: str
    at_min: int  # local wall-clock minutes since 1970-01-01T00:00 on the phone
    utc_q: int
    fields: Mapping[str, Any]
    received_ms: int = 0
    road: str = "sync"
    aside: bool = False
    late: bool = False
    corrected: tuple[str, ...] = ()
    day: date = field(init=False, compare=False, repr=False)  # the record's local date: asked for some thousand times

    def __post_init__(self) -> None:
        object.__setattr__(self, "day", local_day(self.at_min))


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One time that an exercise was done, by the log. None means *not answered*."""

    entry: Entry
    version: int
    exercise: int
    planned_s: int
    cued_s: int
    ended: int
    pauses_n: int
    contractions: tuple[int, ...]
    shows: str  # what the strength is given in: "ma" or "level"
    strength: tuple[float | None, ...]
    skin_before: tuple[int, ...]
    skin_after: tuple[int, ...]
    pain_before: int | None
    pain_after: int | None
    effort: int | None
    help: int | None
    steps_skipped: tuple[int, ...]
    period_ppm: int | None  # the unit's clock from nominal, as the taps gave it
    answered_by: int
    note: str
    longest_step: int | None = None  # the step of set-up that took longest, by the phone's clock; None by older ones
    longest_step_s: int | None = None
    set_up_s: int | None = None

    @property
    def day(self) -> date:
        return self.entry.day

    @property
    def ending(self) -> str:
        return ENDINGS[self.ended] if 0 <= self.ended < len(ENDINGS) else ENDINGS[0]

    @property
    def worst_skin(self) -> int:
        """The gravest answer about the skin, before or after; 0 where nothing was answered."""
        return worst(self.skin_before + self.skin_after)


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """One client's records by kind, oldest first. Only what is neither aside, late nor from paper is counted."""

    sessions: tuple[Session, ...] = ()
    looks: tuple[Entry, ...] = ()  # skin_later
    not_today: tuple[Entry, ...] = ()
    findings: tuple[Entry, ...] = ()
    changes: tuple[Entry, ...] = ()
    packs: tuple[Entry, ...] = ()
    others: tuple[Entry, ...] = ()  # kinds that this release does not know, and corrections of nothing
    aside: tuple[Entry, ...] = ()
    late: tuple[Entry, ...] = field(default=())
    late_sessions: tuple[Session, ...] = ()
    paper: tuple[Session, ...] = ()  # written down by the client, typed in by the therapist: in no number
    paused: frozenset[date] = frozenset()  # days off that were agreed on: no session is expected
    paper_taken_back: tuple[Session, ...] = ()  # typed in by mistake: in nothing, and still there


def local_date(at_ms: int, zone: ZoneInfo) -> date:
    """Gives the calendar date of a moment (ms since 1970, UTC) in a time zone."""
    return datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(zone).date()


def local_day(at_min: int) -> date:
    """Gives the calendar date of local minutes; of a clock that is wrong by thousands of years, the first or last."""
    return _day_of(min(max(at_min // MINUTES_A_DAY, EARLIEST), LATEST))


@lru_cache(maxsize=4096)
def _day_of(number: int) -> date:
    return DAY_ZERO + timedelta(days=number)


def clock(at_min: int) -> str:
    """Gives the time of day of local minutes as HH:MM."""
    return f"{at_min // 60 % 24:02d}:{at_min % 60:02d}"


def worst(answers: Iterable[int]) -> int:
    """Picks the gravest of the answers about the skin; one not given is not grave, and not *unchanged* either."""
    return _worst(tuple(answers))


@lru_cache(maxsize=4096)
def _worst(answers: tuple[int, ...]) -> int:
    return max((a for a in answers if a != NOT_ANSWERED), default=UNCHANGED)


def is_skin_finding(answer: int) -> bool:
    """Tells a finding (sore, bumps, broken, a new spot) from skin that is unchanged, evenly pink or not answered."""
    return answer in FINDINGS


def correct(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Applies corrections in the order of their numbers, each to the record that it names on the same device.

    What a correction says replaces the field; the record's identity stays. One that names no record is left in.
    """
    every = tuple(entries)
    kept = {(e.device, e.seq): e for e in every if e.kind != "correction"}
    orphans = []
    for fix in sorted((e for e in every if e.kind == "correction"), key=lambda e: (e.device, e.seq)):
        key = (fix.device, _whole(fix.fields.get("corrects_seq"), 0))
        replaced = fix.fields.get("fields")
        if key not in kept or not isinstance(replaced, Mapping):
            orphans.append(fix)
            continue
        kept[key] = _replace(kept[key], {k: v for k, v in replaced.items() if k not in IDENTITY})
    return tuple(sorted([*kept.values(), *orphans], key=_order))


def _replace(entry: Entry, changed: Mapping[str, Any]) -> Entry:
    fields = {**entry.fields, **changed}
    return Entry(
        device=entry.device, seq=entry.seq, kind=entry.kind, at_min=_whole(fields.get("at_min"), entry.at_min),
        utc_q=_whole(fields.get("utc_q"), entry.utc_q), fields=fields, received_ms=entry.received_ms, road=entry.road,
        aside=entry.aside, late=entry.late, corrected=tuple(sorted({*entry.corrected, *changed})))


def _order(entry: Entry) -> tuple[int, str, int]:
    return (entry.at_min, entry.device, entry.seq)


def read_log(entries: Iterable[Entry]) -> Log:
    """Sorts a client's records by kind; nothing is dropped, whatever its kind.

    A record that a phone carried over from a device that a restored backup did not know, and that is here under its
    first name too, is here once.
    """
    every = _each_once(entries)
    aside = tuple(sorted((e for e in every if e.aside), key=_order))
    fixed = correct(e for e in every if not e.aside)
    counted = [e for e in fixed if not e.late]
    by_kind: dict[str, list[Entry]] = {}
    for entry in counted:
        if entry.road == PAPER and entry.kind == "session":
            continue
        by_kind.setdefault(entry.kind, []).append(entry)
    late = tuple(e for e in fixed if e.late)
    paper = [e for e in counted if e.road == PAPER and e.kind == "session"]
    known = {"session", "skin_later", "not_today", "finding", "changed", "pack_taken"}
    return Log(
        sessions=tuple(read_session(e) for e in by_kind.get("session", [])),
        looks=tuple(by_kind.get("skin_later", [])), not_today=tuple(by_kind.get("not_today", [])),
        findings=tuple(by_kind.get("finding", [])), changes=tuple(by_kind.get("changed", [])),
        packs=tuple(by_kind.get("pack_taken", [])), others=tuple(e for e in counted if e.kind not in known),
        aside=aside, late=late, late_sessions=tuple(read_session(e) for e in late if e.kind == "session"),
        paper=tuple(read_session(e) for e in paper if not e.fields.get(TAKEN_BACK)),
        paper_taken_back=tuple(read_session(e) for e in paper if e.fields.get(TAKEN_BACK)))


def _each_once(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    every = tuple(entries)
    names = {(e.device, e.seq) for e in every if not e.aside}
    return tuple(e for e in every if _first_name(e) not in names)


def _first_name(entry: Entry) -> tuple[str, int] | None:
    """Gives the device and number that a record had before it was carried over; None where it never was."""
    name = entry.fields.get("moved_from")
    right = isinstance(name, list) and len(name) == 2 and isinstance(name[0], str)
    return (name[0], _whole(name[1], 0)) if right and isinstance(name, list) else None


def read_session(entry: Entry) -> Session:
    """Reads a session record; a field that is missing counts as not answered."""
    f = entry.fields
    level = "strength_level" in f
    return Session(
        entry=entry, version=_whole(f.get("version"), 0), exercise=_whole(f.get("exercise"), 0),
        planned_s=_whole(f.get("planned_s"), 0), cued_s=_whole(f.get("cued_s"), 0), ended=_whole(f.get("ended"), 0),
        pauses_n=_whole(f.get("pauses_n"), 0), contractions=_wholes(f.get("contractions_n")),
        shows="level" if level else "ma",
        strength=tuple(_strength(v, level) for v in _wholes(f.get("strength_level" if level else "strength_half_ma"))),
        skin_before=_wholes(f.get("skin_before")), skin_after=_wholes(f.get("skin_after")),
        pain_before=_scale(f.get("pain_before_n")), pain_after=_scale(f.get("pain_after_n")),
        effort=_scale(f.get("effort_n")),
        help=_unless(f.get("help"), HELP_NOT_ANSWERED), steps_skipped=_wholes(f.get("steps_skipped")),
        period_ppm=_unless(f.get("period_ppm"), PERIOD_NOT_KNOWN),
        answered_by=_whole(f.get("answered_by"), 3), note=str(f.get("note", "")),
        longest_step=_unless(f.get("longest_step"), 0), longest_step_s=_unless(f.get("longest_step_s"), -1),
        set_up_s=_unless(f.get("set_up_s"), -1))


def _whole(value: object, missing: int) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else missing


def _wholes(value: object) -> tuple[int, ...]:
    return tuple([v if type(v) is int else _whole(v, 0) for v in value]) if isinstance(value, list | tuple) else ()


def _unless(value: object, not_answered: int) -> int | None:
    whole = _whole(value, not_answered)
    return None if whole == not_answered else whole


def _scale(value: object) -> int | None:
    return _unless(value, SCALE_NOT_ANSWERED)


def _strength(value: int, level: bool) -> float | None:
    if value < 0:
        return None
    return float(value) if level else value / 2
