"""Who needs the therapist, and why. What needs an answer stays until she gives one; the rest passes by itself."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from webapp.practice.adherence import Count, count_days, excused, total
from webapp.practice.hold import NOT_AT_HOME, Hold, holding
from webapp.practice.schedule import PlanVersion, in_force, planned_between
from webapp.practice.session import SKIN, Entry, Log, Session
from webapp.practice.skin_findings import SkinFinding, of_entry, skin_findings
from webapp.practice.summary import above_ceiling, looks_missing
from webapp.practice.thresholds import RANGES, STANDARD, Thresholds

PERCENT_PPM = 10_000
ABOUT_PAIN = 2  # as a finding without a session says what it is about
NEW_PADS = 1  # as a record of the kind *changed* counts them

RANKS = ("not_at_home", "skin", "skin_stays", "unwell", "pain", "above_ceiling", "aside", "late", "unknown_kind",
         "lost_twice", "set_differently", "held", "quiet", "silent", "unopened", "ended", "no_plan", "ends", "low",
         "pain_rise", "pads", "pads_used", "looks", "note")
NEEDS_ANSWER = frozenset({"not_at_home", "skin", "skin_stays", "unwell", "pain", "above_ceiling", "aside", "late",
                          "unknown_kind"})
URGENT = frozenset({"not_at_home", "skin", "skin_stays", "unwell", "pain"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason to look at a client; its text is the catalogue's `attention.<rule>`.

    `key` (device, seq) names the record that a reason to answer came from; `params` are what its sentence says. `about`
    is the session that a later look belongs to; `more` (device, seq, rule) are looks that are answered along with it.
    """

    rule: str
    day: date | None = None
    key: tuple[str, int] | None = None
    params: dict[str, object] = field(default_factory=dict)
    about: tuple[str, int] | None = None
    more: tuple[tuple[str, int, str], ...] = ()

    @property
    def answers(self) -> tuple[tuple[str, int, str], ...]:
        """Names everything that an answer to this reason answers."""
        return ((*self.key, self.rule), *self.more) if self.key else ()

    @property
    def rank(self) -> int:
        return RANKS.index(self.rule)

    @property
    def needs_answer(self) -> bool:
        return self.rule in NEEDS_ANSWER


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """What is known about a client's phones: how many may still speak, the day that one last did, and the first did."""

    phones_n: int
    last_day: date | None
    first_day: date | None = None  # that of letting in: no phone knew the plan before


Answered = frozenset[tuple[str, int, str]]  # (device, seq, rule)


def reasons(log: Log, versions: Sequence[PlanVersion], contact: Contact, answered: Answered,
            today: date, limits: Thresholds = STANDARD, holds: Sequence[Hold] = ()) -> tuple[Reason, ...]:
    """Lists every reason to look at a client, the gravest first, then the newest."""
    found = [*_from_holds(holds, versions, today),
             *_from_records(log, versions, today, limits), *_from_silence(log, versions, contact, today, limits),
             *_from_pads(log, versions, today, limits), *_from_plan(versions, today, limits)]
    left = sorted((r for r in found if r.key is None or (*r.key, r.rule) not in answered), key=_by_gravity)
    return tuple(_once(left))


LOOSEST = replace(STANDARD, pain_severe_n=RANGES["pain_severe_n"][0], above_by=RANGES["above_by"][0])


def lasting(log: Log, versions: Sequence[PlanVersion], answered: Answered) -> frozenset[tuple[str, int]]:
    """Names the records (device, seq) that matter however old they are, whatever the clinic's thresholds.

    All others matter only within the thresholds' window and since the last session: `reasons` of both together is
    `reasons` of the whole log. A test keeps that.
    """
    named = {r.key for r in _from_records(log, versions, date.max, LOOSEST)
             if r.key and r.needs_answer and (*r.key, r.rule) not in answered}
    named |= {(e.device, e.seq) for e in log.changes if e.fields.get("what") == NEW_PADS}
    named |= {(e.device, e.seq) for e in _entries(log) if e.corrected or e.kind == "correction"}
    return frozenset(named)


def _entries(log: Log) -> Iterable[Entry]:
    sessions = (*log.sessions, *log.late_sessions, *log.paper)
    return (*(s.entry for s in sessions), *log.looks, *log.not_today, *log.findings, *log.changes, *log.packs,
            *log.others, *log.aside, *log.late)


def _from_holds(holds: Sequence[Hold], versions: Sequence[PlanVersion], today: date) -> Iterable[Reason]:
    """What the clinic itself has stopped; a rest without a last day must not be forgotten, one with it passes."""
    runs = bool(versions) and max(versions, key=lambda v: v.version).last_day >= today
    for hold in holding(holds, today) if runs else ():
        if hold.kind == NOT_AT_HOME:
            yield Reason(rule="not_at_home", day=hold.first_day, params={"row": hold.row})
        else:
            until = hold.until.isoformat() if hold.until else ""
            yield Reason(rule="held", day=hold.first_day, params={"until": until})


def _by_gravity(reason: Reason) -> tuple[int, int, bool]:
    return (reason.rank, -(reason.day or date.min).toordinal(), reason.about is not None)


def _once(found: Sequence[Reason]) -> Iterable[Reason]:
    """Says a thing once: looks at the skin go with their session; contact losses, pain and notes become one each."""
    groups: dict[object, list[Reason]] = {}
    for reason in found:
        session = reason.about or reason.key
        name: object = ("skin", session) if reason.rule in {"skin", "skin_stays"} else \
            reason.rule if reason.rule in {"lost_twice", "set_differently", "pain_rise", "note"} else id(reason)
        groups.setdefault(name, []).append(reason)
    for same in groups.values():
        first = same[0]
        more = tuple((*r.key, r.rule) for r in same[1:] if r.key)
        yield replace(first, more=more, params={**first.params, "n": len(same)} if first.key is None and len(same) > 1
                      else first.params)


def together(found: Sequence[Reason]) -> tuple[tuple[Reason, ...], ...]:
    """Puts what needs an answer in words into groups, each of one session: one answer is given to all of it."""
    groups: dict[object, list[Reason]] = {}
    for reason in found:
        if reason.key and reason.needs_answer:
            groups.setdefault(reason.about or reason.key, []).append(reason)
    return tuple(map(tuple, groups.values()))


def order(reasons_of: Sequence[Reason]) -> tuple[int, int]:
    """Gives a client's place in the caseload: by the gravest reason, then by how many; smaller comes first."""
    if not reasons_of:
        return (len(RANKS), 0)
    return (reasons_of[0].rank, -len(reasons_of))


def _from_records(log: Log, versions: Sequence[PlanVersion], today: date, limits: Thresholds) -> Iterable[Reason]:
    for session in (*log.sessions, *log.late_sessions, *log.paper):
        yield from _from_session(session, versions, today, limits)
    yield from map(_from_skin, skin_findings(log))
    for entry in (*log.findings, *log.late):
        yield from _from_finding(entry)
    for rule, entries in (("aside", log.aside), ("late", log.late), ("unknown_kind", log.others)):
        for entry in entries:
            yield Reason(rule=rule, day=entry.day, key=(entry.device, entry.seq), params={"kind": entry.kind})
    missing = looks_missing(log, today)
    recent = [s for s in missing if s.day > today - timedelta(days=limits.recent_days)]
    if len(recent) >= limits.looks_n:
        yield Reason(rule="looks", day=recent[-1].day, params={"n": len(recent)})


def _from_session(session: Session, versions: Sequence[PlanVersion], today: date,
                  limits: Thresholds) -> Iterable[Reason]:
    key, day = (session.entry.device, session.entry.seq), session.day
    recent = day > today - timedelta(days=limits.recent_days)
    if session.ending == "unwell":
        yield Reason(rule="unwell", day=day, key=key)
    if session.ending == "pain" or (session.pain_after or 0) >= limits.pain_severe_n:
        yield Reason(rule="pain", day=day, key=key, params={"pain": _text(session.pain_after)})
    elif recent and _rise(session) >= limits.pain_rise_n:
        yield Reason(rule="pain_rise", day=day, params={
            "before": session.pain_before, "after": session.pain_after, "n": 1})
    for channel, value, ceiling in above_ceiling(session, versions):
        if value > ceiling + limits.above_by:
            yield Reason(rule="above_ceiling", day=day, key=key, params={
                "channel": channel, "strength": f"{value:g}", "ceiling": f"{ceiling:g}", "shows": session.shows})
    if recent and session.period_ppm is not None and abs(session.period_ppm) > limits.different_percent * PERCENT_PPM:
        yield Reason(rule="set_differently", day=day, params={"n": 1})
    if recent and session.ending == "contact_lost":
        yield Reason(rule="lost_twice", day=day, params={"n": 1})
    if session.note and day > today - timedelta(days=limits.note_days):
        yield Reason(rule="note", day=day, params={"note": session.note})


def _from_skin(found: SkinFinding) -> Reason:
    words = {"skin": SKIN[found.answer]} if found.rule == "skin" else {}
    return Reason(rule=found.rule, day=found.entry.day, key=found.key, about=found.about, params={**words})


def _from_finding(entry: Entry) -> Iterable[Reason]:
    """Reads what a finding without a session asks for, where it is not about the skin."""
    if entry.kind == "finding" and entry.fields.get("what") == ABOUT_PAIN and not of_entry(entry):
        yield Reason(rule="pain", day=entry.day, key=(entry.device, entry.seq),
                     params={"pain": _text(entry.fields.get("pain_n"))})


def _text(value: object) -> str:
    return str(value) if isinstance(value, int) and value <= 10 else "–"


def _rise(session: Session) -> int:
    if session.pain_before is None or session.pain_after is None:
        return 0
    return session.pain_after - session.pain_before


def known_before(contact: Contact, today: date) -> date:
    """Gives the first day whose log can still be on a phone: the day of the last contact, at the latest today."""
    return min(contact.last_day, today) if contact.last_day else date.min


def recent_count(log: Log, versions: Sequence[PlanVersion], contact: Contact, today: date,
                 days: int = STANDARD.low_days) -> Count:
    """Counts the last two weeks (or so many days), today included."""
    first = today - timedelta(days=days - 1)
    planned = planned_between(versions, first, today)
    sessions = [s for s in log.sessions if first <= s.day <= today]
    rested = excused(log.not_today, log.paused)
    return total(count_days(planned, sessions, rested, known_before(contact, today), log.paper))


def _from_silence(log: Log, versions: Sequence[PlanVersion], contact: Contact, today: date,
                  limits: Thresholds) -> Iterable[Reason]:
    """A phone that was not heard says nothing about practice; one that was heard and holds no session does."""
    plan = in_force(versions, today)
    if plan is None:
        return
    if contact.last_day is None:
        if (today - plan.starts).days >= limits.unopened_days:
            yield Reason(rule="unopened", params={"n": (today - plan.starts).days})
        return
    silent = (today - contact.last_day).days
    if silent >= limits.silent_days:
        yield Reason(rule="silent", day=contact.last_day, params={"n": silent})
        return
    last = max([s.day for s in (*log.sessions, *log.paper)], default=plan.starts - timedelta(days=1))
    known = max(last, contact.first_day or last)  # the day of letting in was spent in the clinic
    resting = {day for day, _exercise in excused(log.not_today, log.paused)}
    due = planned_between(versions, known + timedelta(days=1), contact.last_day - timedelta(days=1))
    missed = {p.day for p in due} - resting
    if len(missed) >= limits.quiet_days:
        yield Reason(rule="quiet", day=last, params={"n": len(missed)})
    count = recent_count(log, versions, contact, today, limits.low_days)
    if count.due_n >= limits.low_due_n and (count.sessions_share or 0) < limits.low_share:
        yield Reason(rule="low", params={"done": count.done_n, "due": count.due_n, "n": limits.low_days})


def pads_changed(log: Log) -> tuple[date, ...]:
    """Lists the days on which new pads were noted, oldest first."""
    return tuple(sorted(e.day for e in log.changes if e.fields.get("what") == NEW_PADS))


def _from_pads(log: Log, versions: Sequence[PlanVersion], today: date, limits: Thresholds) -> Iterable[Reason]:
    """Pads in use for too long; a client who does not practise wears none out."""
    recent = [s for s in log.sessions if today - timedelta(days=limits.recent_days) < s.day <= today]
    begun = min((v.starts for v in versions), default=today)
    noted = [day for day in pads_changed(log) if day <= today]
    since = max(noted, default=begun)
    if recent and (today - since).days >= limits.pads_days:
        yield Reason(rule="pads", day=since, params={"n": (today - since).days})
        return
    lasts = max(versions, key=lambda v: v.version).pads_sessions if versions else 0
    used = sum(1 for s in log.sessions if since < s.day <= today or (not noted and s.day == since))
    if recent and lasts and used >= lasts:
        yield Reason(rule="pads_used", day=since, params={"n": used, "lasts": lasts})


def _from_plan(versions: Sequence[PlanVersion], today: date, limits: Thresholds) -> Iterable[Reason]:
    if not versions:
        yield Reason(rule="no_plan")
        return
    newest = max(versions, key=lambda v: v.version)
    left = (newest.last_day - today).days
    if left < 0:
        yield Reason(rule="ended", day=newest.last_day, params={"n": -left})
    elif left <= limits.ends_within_days:
        yield Reason(rule="ends", day=newest.last_day, params={"n": left})
