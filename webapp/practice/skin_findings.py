"""What a skin finding is: the one definition for caseload, review and report.

Sore, bumps, broken or a new spot, before, after or at a later look; a session stopped for the skin; what was noted
about the skin without a session; pink that is still there next morning. Even pink that fades is none. What a withdrawn
phone or a diary says of the skin counts like the rest: a finding is asked about wherever it came from.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from webapp.practice.session import SKIN, Entry, Log, Session, is_skin_finding
from webapp.practice.skin import NOT_ANSWERED, PINK

MORNING = 2  # as a later look counts its moment
ABOUT_SKIN = 1  # as a finding without a session says what it is about


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinFinding:
    """One finding: the rule that asks for an answer, the gravest answer, the record, the session a look is about."""

    rule: str  # skin, skin_stays
    answer: int
    entry: Entry
    session: Session | None = None
    about: tuple[str, int] | None = None

    @property
    def key(self) -> tuple[str, int]:
        return (self.entry.device, self.entry.seq)


def is_finding(answer: int, *, morning: bool) -> bool:
    """Tells whether one answer at one moment is a finding: even pink is, on the next morning."""
    return is_skin_finding(answer) or (morning and answer == PINK)


def of_session(session: Session) -> SkinFinding | None:
    """Reads what a session says of the skin."""
    if is_skin_finding(session.worst_skin) or session.ending == "skin":
        return SkinFinding(rule="skin", answer=session.worst_skin, entry=session.entry, session=session)
    return None


def of_entry(entry: Entry) -> SkinFinding | None:
    """Reads what a later look, or a finding without a session, says of the skin."""
    f = entry.fields
    if entry.kind == "skin_later":
        told = f.get("session_seq")
        about = (entry.device, told) if isinstance(told, int) else None
        answers = [a for a in f.get("skin", ()) if isinstance(a, int)]
        grave = [a for a in answers if is_skin_finding(a)]
        if grave:
            return SkinFinding(rule="skin", answer=max(grave), entry=entry, about=about)
        if f.get("when") == MORNING and PINK in answers:
            return SkinFinding(rule="skin_stays", answer=PINK, entry=entry, about=about)
    if entry.kind == "finding":
        answer = skin if isinstance(skin := f.get("skin"), int) and 0 <= skin < len(SKIN) else NOT_ANSWERED
        if f.get("what") == ABOUT_SKIN or is_skin_finding(answer):
            return SkinFinding(rule="skin", answer=answer, entry=entry)
    return None


def skin_findings(log: Log) -> tuple[SkinFinding, ...]:
    """Lists every finding of a log, oldest first; a session and the looks after it may each be one."""
    late = {(s.entry.device, s.entry.seq) for s in log.late_sessions}
    entries = (*log.looks, *log.findings, *(e for e in log.late if (e.device, e.seq) not in late))
    found = [*map(of_session, (*log.sessions, *log.late_sessions, *log.paper)), *map(of_entry, entries)]
    return tuple(sorted(filter(None, found), key=lambda one: (one.entry.at_min, one.key)))


def once(found: Iterable[SkinFinding]) -> tuple[tuple[SkinFinding, ...], ...]:
    """Groups findings as they are asked about: a later look goes with its session."""
    groups: dict[tuple[str, int], list[SkinFinding]] = {}
    for one in found:
        groups.setdefault(one.about or one.key, []).append(one)
    return tuple(map(tuple, groups.values()))
