"""The posterior of a unit's phase and clock by brute force: each phase and clock of a fine grid, each tap at any edge.

Shares no code and no method with the phone's estimator (a list of Gaussians, Kalman updates), only the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Grid = npt.NDArray[np.float64]

AT_RISE, AT_HOLD_END, STRAY = 0.94, 0.05, 0.004
TAP_SD_S, HOLD_END_SD_S = 0.2, 0.4
CLOCK_PARTS = ((0.98, 0.02 / np.sqrt(3)), (0.02, 0.1))
WIDEST = 0.25
DIFFERENT = 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What the taps say at the last of them; `phase_s` is the time of the rise nearest to it."""

    phase_s: float
    sd_phase_s: float
    clock: float
    sd_clock: float
    sure: float
    different: float


def posterior(taps_s: Sequence[float], *, cycle_s: float, hold_end_s: float, phase_step_s: float = 0.05) -> Posterior:
    """Gives the posterior at the last tap; taps are without their lag and begin near 0."""
    last_s = taps_s[-1]
    clock = np.arange(-WIDEST, WIDEST, phase_step_s / max(last_s, 60))[:, None]
    phase = np.arange(0, 1, phase_step_s / cycle_s)[None, :] * cycle_s * (1 + clock)
    prior = sum(share / sd * np.exp(-0.5 * (clock / sd) ** 2) for share, sd in CLOCK_PARTS)
    log = np.log(prior * (1 + clock)) + 0 * phase
    for tap_s in taps_s:
        log = log + np.log(_density(tap_s, phase, clock, cycle_s, hold_end_s))
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    return _summary(weight, phase, clock, cycle_s, last_s)


def _density(tap_s: float, phase: Grid, clock: Grid, cycle_s: float, hold_end_s: float) -> Grid:
    found = np.full(np.broadcast_shapes(phase.shape, clock.shape), STRAY / cycle_s)
    for share, edge_s, sd in ((AT_RISE, 0.0, TAP_SD_S), (AT_HOLD_END, hold_end_s, HOLD_END_SD_S)):
        cycle = cycle_s * (1 + clock)
        off = tap_s - phase - edge_s * (1 + clock)
        off = off - cycle * np.round(off / cycle)
        for whole in (-1, 0, 1):
            found += share * np.exp(-0.5 * ((off + whole * cycle) / sd) ** 2) / (sd * np.sqrt(2 * np.pi))
    return found


def _summary(weight: Grid, phase: Grid, clock: Grid, cycle_s: float, last_s: float) -> Posterior:
    cycle = cycle_s * (1 + clock)
    rise = phase + cycle * np.round((last_s - phase) / cycle)
    best = np.unravel_index(int(weight.argmax()), weight.shape)
    off = rise - rise[best]
    off -= cycle * np.round(off / cycle)
    same_phase = np.abs(off) < 1.0
    same = same_phase & (np.abs(clock - clock[best[0], 0]) < _reach(weight, clock, same_phase, best))
    share = weight * same / (weight * same).sum()
    mean_off, mean_clock = float((share * off).sum()), float((share * clock).sum())
    sd_phase = float(np.sqrt((share * (off - mean_off) ** 2).sum()))
    return Posterior(
        phase_s=float(rise[best] + mean_off),
        sd_phase_s=sd_phase,
        clock=mean_clock,
        sd_clock=float(np.sqrt((share * (clock - mean_clock) ** 2).sum())),
        sure=float((weight * (np.abs(off) < max(0.4, 3 * sd_phase))).sum()),
        different=float((weight * (np.abs(clock) > DIFFERENT)).sum()),
    )


def _reach(weight: Grid, clock: Grid, same_phase: npt.NDArray[np.bool_], best: Sequence[np.intp]) -> float:
    """How far from the best clock its own hill goes: to where a later hill of the same phase begins."""
    along = (weight * same_phase).sum(axis=1)
    top = int(best[0])
    low = along < along[top] * 1e-5
    above = np.argmax(low[top:]) if low[top:].any() else len(along) - top
    below = np.argmax(low[top::-1]) if low[: top + 1].any() else top
    return float(max(above, below)) * float(clock[1, 0] - clock[0, 0])
