"""The hill: one cycle of a channel as a line, from the timetable's own numbers."""

from __future__ import annotations

from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.plan import Settings


def hill_points(settings: Settings, channel: int) -> tuple[tuple[int, float], ...]:
    """Gives the corners (ms in the cycle, level 0 to 1) of a channel, 1 or 2, from channel 1's rise to the next.

    A ramp of no length is an upright edge: two corners at the same ms. A steady plan is one hill as long as the session
    that stays up at its end.
    """
    cycle = work_out_cycle(settings)
    c = cycle.contractions[channel - 1]
    top_ms = c.start_ms + c.ramp_up_ms
    corners: list[tuple[int, float]] = [(0, 0.0), (c.start_ms, 0.0), (top_ms, 1.0), (top_ms + c.flat_ms, 1.0)]
    if not settings.is_steady:
        corners += [(c.end_ms, 0.0), (cycle.cycle_ms, 0.0)]
    return tuple(point for n, point in enumerate(corners) if n == 0 or point != corners[n - 1])
