"""What the first trial in the clinic leads to: a strength to begin with, a ceiling, how late a rise is noticed.

First feeling, first movement and comfortable maximum are measured on the person. Half way from first movement to
comfortable maximum as the strength to begin with is common practice, no source. Where feeling is less or lost, the
third figure is the strength at which the whole movement was seen, and nothing goes above it.
"""

from __future__ import annotations

from math import floor

FIRST_SESSIONS_MIN = 10  # where feeling is less or lost; common practice, no source


def settable(value: float, step: float) -> float:
    """Rounds down to what the unit can be set to: never above what was found."""
    steps = floor(value / step + 1e-9)
    return round(steps * step, 3)


def proposed_strength(first_movement: float, comfortable_most: float, step: float) -> float:
    """Gives the strength to begin with: half way from first movement to comfortable maximum."""
    half_way = first_movement + (comfortable_most - first_movement) / 2
    return max(settable(half_way, step), min(first_movement, comfortable_most))


def proposed_ceiling(comfortable_most: float, step: float) -> float:
    """Gives the ceiling: the comfortable maximum (less feeling: the whole movement), as the unit can be set."""
    return settable(comfortable_most, step)


def tap_lag_ms(ramp_up_s: float, noticed_at: float | None, strength: float | None) -> int:
    """Gives how long after the start of a rise the client notices it: a straight ramp reaches the threshold then.

    `noticed_at` is the strength of the first feeling (less feeling: of the first movement). 0 where one is not known.
    """
    if not noticed_at or not strength or strength <= 0:
        return 0
    return round(1000 * ramp_up_s * min(1.0, noticed_at / strength))
