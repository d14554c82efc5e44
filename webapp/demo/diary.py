"""What an invented client's phone recorded: a seeded generator of uneven weeks, from a case and its plan's calendar.

Every record is a whole wattlebird.record/1 without device and number; those come when it is handed in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any

from webapp.demo.cases import Case
from webapp.practice.schedule import Planned, PlanVersion, in_force, planned_between
from webapp.practice.session import DAY_ZERO, MINUTES_A_DAY

SET_OFF_PPM = 62_000  # a rest set a second too long
NOTED_FROM_S = 60  # of the longest step, as the phone keeps it
HOURS = {"morning": 9.3, "afternoon": 15.2, "any": 11.0}
Fields = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One record as the phone wrote it; `refers_to` is the place in the diary of the session that it names."""

    at: datetime  # local, with its zone
    kind: str
    fields: Fields
    refers_to: int | None = None

    @property
    def head(self) -> Fields:
        """Gives the record's local minute and its offset from UTC."""
        offset = self.at.utcoffset() or timedelta()
        minute = (self.at.date() - DAY_ZERO).days * MINUTES_A_DAY + self.at.hour * 60 + self.at.minute
        return {"at_min": minute, "utc_q": round(offset.total_seconds() / 900)}


@dataclass(slots=True, kw_only=True)
class Diary:
    """One client's weeks. `contractions` maps (version, exercise) to those of a whole session, a channel each."""

    case: Case
    versions: list[PlanVersion]
    contractions: dict[tuple[int, int], tuple[int, ...]]
    strengths: dict[tuple[int, int], tuple[float, ...]]
    today: date
    now: datetime
    chance: Random
    written: list[Written] = field(default_factory=list)

    def write(self) -> list[Written]:
        """Writes everything from the first day until now, in the order of the clock."""
        for version in self.versions:
            pack = f"{self.chance.getrandbits(128):032x}"
            self._add(self._at(version.starts, 8.6), "pack_taken", {"version": version.version, "pack": pack})
        for planned in planned_between(self.versions, self.versions[0].starts, self.today):
            self._day(planned)
        self._new_pads()
        order = sorted(range(len(self.written)), key=lambda n: self.written[n].at)
        place = {old: new for new, old in enumerate(order)}
        found = [self.written[old] for old in order]
        return [Written(at=w.at, kind=w.kind, fields=w.fields,
                        refers_to=None if w.refers_to is None else place[w.refers_to]) for w in found]

    def _add(self, at: datetime, kind: str, fields: Fields, refers_to: int | None = None) -> None:
        if at < self.now:
            self.written.append(Written(at=at, kind=kind, fields=fields, refers_to=refers_to))

    def _at(self, day: date, hour: float) -> datetime:
        return datetime.combine(day, time(), self.now.tzinfo) + timedelta(minutes=round(hour * 60))

    def _ago(self, day: date) -> int:
        return (self.today - day).days

    def _within(self, ago: int, days: tuple[int, int] | None) -> bool:
        return days is not None and days[1] <= ago <= days[0]

    def _day(self, planned: Planned) -> None:
        ago, case = self._ago(planned.day), self.case
        hour = HOURS.get(planned.slot, 11.0) + self.chance.gauss(0, 0.6) + 0.6 * (planned.exercise - 1)
        at = self._at(planned.day, hour)
        if self._within(ago, case.ill):
            if self._is_first(planned):
                note = "A cold." if case.ill and ago == case.ill[0] else ""
                self._add(at, "not_today", {"exercise": 0, "why": 3, "note": note})
            return
        if any(0 < event - ago <= 2 and answer > 1 for event, (_place, answer) in case.skin.items()):
            self._add(at, "not_today", {"exercise": planned.exercise, "why": 2, "note": ""})
            return
        if case.idle_since is not None and ago <= case.idle_since:
            return
        if self.chance.random() < case.done or self._has_event(ago):
            self._session(planned, at, ago)
        elif self.chance.random() < 0.25:
            self._add(at, "not_today", {"exercise": 0, "why": self.chance.choice((4, 5, 5, 7)), "note": ""})

    def _is_first(self, planned: Planned) -> bool:
        version = in_force(self.versions, planned.day)
        return version is not None and planned.exercise == 1 and planned.slot == version.exercises[0].slots[0]

    def _has_event(self, ago: int) -> bool:
        return any(ago in events for events in (self.case.skin, self.case.pain_on, self.case.above_on, self.case.notes))

    def _session(self, planned: Planned, at: datetime, ago: int) -> None:
        version = in_force(self.versions, planned.day)
        if version is None:
            return
        first_of_day = self._is_first(planned)
        ended, share = self._ending(ago)
        key = (version.version, planned.exercise)
        found = version.exercise(planned.exercise)
        places = len(found.places) if found else 2
        after = self._skin(places, ago, first_of_day)
        pain = min(10, max(0, round(self.chance.gauss(self.case.pain, 0.7))))
        pain_after = self.case.pain_on.get(ago, min(10, max(0, pain + self.chance.choice((-1, 0, 0, 0, 0, 1)))))
        shows = found.shows if found else "ma"
        strength = self._strength(self.strengths[key], found.ceilings if found else (), ago, whole=shows == "level")
        fields: Fields = {
            "plan": 1, "version": version.version, "exercise": planned.exercise, "planned_s": planned.planned_s,
            "cued_s": round(planned.planned_s * share), "ended": ended,
            "pauses_n": self.chance.choice((0, 0, 0, 0, 1, 1, 2)),
            "contractions_n": [int(n * share) for n in self.contractions[key]],
            ("strength_level" if shows == "level" else "strength_half_ma"): strength,
            "skin_before": [0] * places, "skin_after": after,
            "pain_before_n": self._or_not(pain, 11), "pain_after_n": pain_after if ago in self.case.pain_on
            else self._or_not(pain_after, 11),
            "effort_n": self._or_not(min(10, max(1, round(self.chance.gauss(self.case.effort, 1)))), 11),
            "help": 2 if self.chance.random() < self.case.hands_on else self.chance.choice((0, 0, 0, 0, 1)),
            "steps_skipped": [4] if self.chance.random() < 0.06 else [], "taps_n": self.chance.choice((1, 3, 3, 4)),
            "period_ppm": round(self.chance.gauss(900, 250)) + self._set_off_ppm(ago),
            "answered_by": 1 if self.case.helper and first_of_day else 0,
            "note": self.case.notes.get(ago, "") if first_of_day else "",
            **self._set_up_times(len(found.steps) if found else 0, at)}
        place = len(self.written)
        self._add(at, "session", fields)
        if len(self.written) > place:
            self._looks(at + timedelta(seconds=fields["cued_s"]), place, after, ago)

    def _set_up_times(self, steps: int, at: datetime) -> Fields:
        """Times the steps of setting up, by chances of their own: one of a client's steps never comes easily."""
        if not steps:
            return {}
        own, today = Random(self.case.first_name), Random(f"{self.case.first_name} {at}")
        usual_s = [own.choice((6, 9, 14, 20, 30)) for _ in range(steps)]
        usual_s[own.randrange(steps)] = own.choice((50, 75, 110))
        took_s = [max(2, round(seconds * today.lognormvariate(0, 0.35))) for seconds in usual_s]
        longest_s = max(took_s)
        if longest_s < NOTED_FROM_S:
            return {}
        return {"longest_step": took_s.index(longest_s) + 1, "longest_step_s": longest_s, "set_up_s": sum(took_s)}

    def _set_off_ppm(self, ago: int) -> int:
        return SET_OFF_PPM if self._within(ago, self.case.set_off) else 0

    def _ending(self, ago: int) -> tuple[int, float]:
        """Gives how a session ended and which share of its time was done."""
        if self._within(ago, self.case.worn_pads) and self.chance.random() < 0.6:
            return 6, self.chance.uniform(0.2, 0.6)
        if ago in self.case.pain_on:
            return 2, 0.55
        draw = self.chance.random()
        if draw < 0.05:
            return self.chance.choice((5, 5, 7, 8)), self.chance.uniform(0.3, 0.85)
        return 1, 1.0

    def _skin(self, places: int, ago: int, first_of_day: bool) -> list[int]:
        after = [1 if self.chance.random() < self.case.pink / 2 else 0 for _ in range(places)]
        if ago in self.case.skin and first_of_day:
            place, answer = self.case.skin[ago]
            after[place] = answer
        return after

    def _strength(self, found: tuple[float, ...], ceilings: tuple[float, ...], ago: int, *, whole: bool) -> list[int]:
        """Goes unevenly from the first to the last share of what was found in the clinic, up to the ceiling."""
        weeks = max(1, self._ago(self.versions[0].starts))
        low, high = self.case.strength
        share = low + (high - low) * (1 - ago / weeks) + self.chance.gauss(0, 0.025)
        values = [min(value * share, ceiling) for value, ceiling in zip(found, ceilings, strict=False)]
        if ago in self.case.above_on:
            values[0] = self.case.above_on[ago]
        return [round(value) for value in values] if whole else [2 * round(value) for value in values]

    def _or_not(self, value: int, not_answered: int) -> int:
        return not_answered if self.chance.random() < 0.04 else value

    def _looks(self, end: datetime, place: int, after: list[int], ago: int) -> None:
        """Looks an hour later and next morning where the skin was coloured; some looks are forgotten."""
        if not any(after):
            return
        event = ago in self.case.skin
        if event or self.chance.random() < 0.8:
            self._add(end + timedelta(hours=1, minutes=self.chance.randrange(20)), "skin_later",
                      {"when": 1, "skin": [a if a > 1 else 0 for a in after]}, place)
        if event or self.chance.random() < 0.75:
            morning = self._at((end + timedelta(days=1)).date(), 8 + self.chance.random())
            stays = event and any(a == 1 for a in after)
            self._add(morning, "skin_later", {"when": 2, "skin": list(after) if stays else [0] * len(after)}, place)

    def _new_pads(self) -> None:
        """Takes new pads every three to four weeks, or when the worn ones were given up."""
        start, worn = self.versions[0].starts, self.case.worn_pads
        days = [n for n in range(self._ago(start) - 24, 0, -25) if not (worn and worn[1] - 3 < n <= worn[0] + 24)]
        for ago in [*days, *([worn[1] - 1] if worn else [])]:
            self._add(self._at(self.today - timedelta(days=ago), 8.9), "changed",
                      {"what": 1, "version": 0, "by": 1 if self.case.helper else 0})


def moved_to_planned_days(case: Case, versions: list[PlanVersion], today: date) -> Case:
    """Moves what happened in a session to the last day before it on which one was planned."""
    planned = {(today - p.day).days for p in planned_between(versions, versions[0].starts, today)}

    def move(events: dict[int, Any]) -> dict[int, Any]:
        return {min((n for n in planned if n >= ago), default=ago): what for ago, what in events.items()}

    return replace(case, skin=move(case.skin), pain_on=move(case.pain_on), above_on=move(case.above_on),
                   notes=move(case.notes), answered=move(case.answered))


def handed_in(case: Case, written: list[Written], today: date, now: datetime) -> Iterator[tuple[datetime, int]]:
    """Gives when each record came home: in the evening of its day, or when the phone was on again; lost ones never."""
    for n, record in enumerate(written):
        ago = (today - record.at.date()).days
        if case.silent_since is not None and ago <= case.silent_since:
            continue
        day = record.at.date()
        if case.phone_off and case.phone_off[1] <= ago <= case.phone_off[0]:
            day = today - timedelta(days=case.phone_off[1] - 1)
        came = max(record.at + timedelta(minutes=40), datetime.combine(day, time(18, 30), record.at.tzinfo))
        yield min(came, now), n
