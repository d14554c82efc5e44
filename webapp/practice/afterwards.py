"""What the end of a session leads to besides the skin: pain, and feeling unwell, go to the therapist first.

Severe is 7 or more of 10 (S48); a clinic that wants to hear of less pain is told of it by the phone, too, never later.
That a session which ended by pain or by feeling unwell is told before the next one is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from webapp.practice.session import ENDINGS
from webapp.practice.thresholds import STANDARD

SOURCES = ("S48",)

FINE, UNKNOWN, TELL = "fine", "unknown", "tell"
MOST_PAIN, NOT_SAID = 10, 11

ENDED: Mapping[int, str] = MappingProxyType(
    {n: TELL if ending in ("pain", "unwell") else FINE for n, ending in enumerate(ENDINGS)})


def pain_after(severe_n: int = STANDARD.pain_severe_n) -> dict[int, str]:
    """Gives what each answer about the pain after a session leads to; a clinic calls `severe_n` or more severe."""
    tell_from_n = min(severe_n, STANDARD.pain_severe_n)
    return {n: TELL if n >= tell_from_n else FINE for n in range(MOST_PAIN + 1)} | {NOT_SAID: UNKNOWN}


def after_rows(severe_n: int = STANDARD.pain_severe_n) -> dict[str, dict[str, str]]:
    """Gives the tables that the phone looks up: how a session ended, and the pain after it, to outcome."""
    tables = {"ended": ENDED, "pain_after": pain_after(severe_n)}
    return {name: {str(answer): outcome for answer, outcome in rows.items()} for name, rows in tables.items()}
