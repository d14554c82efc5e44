"""What a finding on the skin leads to: before a session, right after it, an hour later and the next morning.

An hour for an even pink patch to fade, and a day at most, are common practice, no source. That trouble of the skin is
occasional and lessened by care is in S40; allergy and burn in S41; that redness may not show on darker skin, so that
one asks for warmth, firmness, soreness and the other arm, in S46.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

SOURCES = ("S40", "S41", "S46")

UNCHANGED, PINK, SORE, BUMPS, BROKEN, SPOT, NOT_ANSWERED = 0, 1, 2, 3, 4, 5, 9
FINDINGS = (SORE, BUMPS, BROKEN, SPOT)

Rows = Mapping[int, str]

# before: an even pink, smooth and not sore, waits an hour; a finding: no practice until the therapist says so
BEFORE: Rows = MappingProxyType(
    {UNCHANGED: "go", PINK: "wait", **dict.fromkeys(FINDINGS, "no_practice"), NOT_ANSWERED: "ask"}
)
# after: an even pink is expected and looked at again; a finding is told the same day
AFTER: Rows = MappingProxyType(
    {UNCHANGED: "fine", PINK: "look_later", **dict.fromkeys(FINDINGS, "call"), NOT_ANSWERED: "unknown"}
)
# an hour later it may still be there; the next morning it may not
HOUR_LATER: Rows = AFTER
NEXT_MORNING: Rows = MappingProxyType({**AFTER, PINK: "call"})

GRAVITY = ("fine", "go", "unknown", "look_later", "ask", "wait", "call", "no_practice")


def graver(outcomes: Iterable[str]) -> str:
    """Picks the gravest outcome of several places; what was not answered is never taken for *unchanged*."""
    return max(outcomes, key=GRAVITY.index)


def decision_rows() -> dict[str, dict[str, str]]:
    """Gives the tables that the phone looks up: answer to outcome, for each moment."""
    tables = {
        "skin_before": BEFORE, "skin_after": AFTER, "skin_hour_later": HOUR_LATER, "skin_next_morning": NEXT_MORNING,
    }
    return {name: {str(answer): outcome for answer, outcome in rows.items()} for name, rows in tables.items()}
