"""Taps at the edges of a unit's cycles, laid over one another as one cycle with its uncertainty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from statistics import fmean, median

EDGES = ("rise", "hold", "ease", "rest")
LEAST_CYCLES = 3
# common practice, no source: how far off a person sees an edge in each cycle alike; the least that taps scatter; what
# is a slip of the finger and no scatter
EDGE_BIAS_MS, LEAST_SCATTER_MS = 100.0, 60.0
SLIP_MS, SLIP_SDS = 800.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap:
    """One tap: at which edge, and when (ms on any clock)."""

    edge: str
    at_ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A measured time with its standard uncertainty."""

    ms: float
    sd_ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The taps as one cycle: the position of each edge, the cycle's length, the scatter, when cycle 0 began."""

    edges: Mapping[str, Number]
    cycle: Number
    scatter_ms: float
    cycles: int
    slips: int
    first_ms: float


def _cycles_of(taps: Sequence[Tap]) -> list[tuple[int, Tap]]:
    """Counts each tap's cycle: a new one wherever the edges begin again, left-out ones counted by the time between."""
    runs: list[list[Tap]] = []
    for tap in sorted(taps, key=lambda tap: tap.at_ms):
        if not runs or EDGES.index(tap.edge) <= EDGES.index(runs[-1][-1].edge):
            runs.append([])
        runs[-1].append(tap)
    gaps = [after.at_ms - before.at_ms for edge in EDGES for before, after in _neighbours(taps, edge)]
    if not gaps:
        return []
    usual = median(gaps)
    anchors = _anchors(runs, usual)
    first = anchors[0]
    return [(round((anchor - first) / usual), tap) for anchor, run in zip(anchors, runs, strict=True) for tap in run]


def _neighbours(taps: Sequence[Tap], edge: str) -> Iterator[tuple[Tap, Tap]]:
    same = sorted((tap for tap in taps if tap.edge == edge), key=lambda tap: tap.at_ms)
    return pairwise(same)


def _anchors(runs: Sequence[Sequence[Tap]], usual: float) -> list[float]:
    """Gives when each run's cycle began: its first tap, less that edge's usual place after the start."""
    after: dict[str, list[float]] = {edge: [] for edge in EDGES}
    for run in runs:
        if run[0].edge == EDGES[0]:
            for tap in run:
                after[tap.edge].append(tap.at_ms - run[0].at_ms)
    return [run[0].at_ms - (median(after[run[0].edge]) if after[run[0].edge] else 0) for run in runs]


def see(taps: Sequence[Tap]) -> Seen | None:
    """Lays the taps over one another as one cycle; slips of the finger are left out and counted."""
    counted = _cycles_of([tap for tap in taps if tap.edge in EDGES])
    kept = _without_slips(counted)
    laid = _lay_over(kept)
    if laid is None or "rise" not in laid[1]:
        return None
    return _described(kept, *laid, slips=len(counted) - len(kept))


def _lay_over(counted: Sequence[tuple[int, Tap]]) -> tuple[float, dict[str, float], dict[str, int]] | None:
    """Finds the cycle's length and each edge's place by least squares: one slope, one intercept an edge."""
    if len({cycle for cycle, _tap in counted}) < LEAST_CYCLES:
        return None
    by_edge = {edge: [(cycle, tap.at_ms) for cycle, tap in counted if tap.edge == edge] for edge in EDGES}
    means = {edge: (fmean(c for c, _ in rows), fmean(ms for _, ms in rows)) for edge, rows in by_edge.items() if rows}
    spread = sum((c - means[edge][0]) ** 2 for edge, rows in by_edge.items() for c, _ in rows)
    if spread == 0:
        return None
    moment = sum((c - means[edge][0]) * (ms - means[edge][1]) for edge, rows in by_edge.items() for c, ms in rows)
    length = moment / spread
    places = {edge: ms - length * c for edge, (c, ms) in means.items()}
    return length, places, {edge: len(rows) for edge, rows in by_edge.items() if rows}


def _without_slips(counted: Sequence[tuple[int, Tap]]) -> list[tuple[int, Tap]]:
    """Leaves out taps far from where the others say: judged by medians, which a slip does not move."""
    gaps = [(b.at_ms - a.at_ms) / (m - n) for n, a in counted for m, b in counted if a.edge == b.edge and m > n]
    if not gaps:
        return list(counted)
    length = median(gaps)
    places = {edge: median(tap.at_ms - length * c for c, tap in counted if tap.edge == edge)
              for edge in {tap.edge for _c, tap in counted}}
    off = [abs(tap.at_ms - length * c - places[tap.edge]) for c, tap in counted]
    most = max(SLIP_MS, SLIP_SDS * 1.4826 * median(off))
    return [one for one, by in zip(counted, off, strict=True) if by <= most]


def _described(
    kept: Sequence[tuple[int, Tap]], length: float, places: Mapping[str, float], counts: Mapping[str, int], slips: int
) -> Seen:
    squares = sum((tap.at_ms - places[tap.edge] - length * c) ** 2 for c, tap in kept)
    scatter = max(LEAST_SCATTER_MS, sqrt(squares / max(1, len(kept) - len(places) - 1)))
    middles = {edge: fmean(c for c, tap in kept if tap.edge == edge) for edge in places}
    spread = sum((c - middles[tap.edge]) ** 2 for c, tap in kept)
    edges = {edge: Number(ms=ms - places["rise"], sd_ms=sqrt(scatter**2 / counts[edge] + EDGE_BIAS_MS**2))
             for edge, ms in places.items()}
    return Seen(edges=edges, cycle=Number(ms=length, sd_ms=scatter / sqrt(spread)), scatter_ms=scatter,
                cycles=len({c for c, _tap in kept}), slips=slips, first_ms=places["rise"])
