"""Which conventions a unit follows, from what somebody saw it do: taps at its edges over a few cycles.

The taps give four positions in the cycle (where it starts, is full, eases, rests) and the cycle's length, each with its
uncertainty: the scatter of the taps, and what a person may be off at an edge in every cycle alike. Each convention
predicts the same five numbers from what is set. Its misfit is a sum of squares over the uncertainties, least over when
the unit started and how fast its clock runs; weights are exp(−misfit / 2), shared out to one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, sqrt

from webapp.stimulation.cycle import Cycle, work_out_cycle
from webapp.stimulation.plan import ALTERNATING_RESTS, DELAY_FROM, RAMPS, Settings
from webapp.stimulation.problem import PlanError
from webapp.stimulation.taps_seen import Number, Seen, Tap, see
from webapp.stimulation.timetable import build_timetable

PARTS = ("ramp_up", "hold", "ramp_down", "rest", "cycle")
SURE = 0.95  # a convention with at least this share of the weight is called the unit's
MOST_MISFIT = 13.3  # chi-squared of four degrees of freedom, one in a hundred
CLOCK_SD = 0.0115  # up to 2 % either way, all alike: a clock without crystal; common practice, no source
PRESS_SD_MS, PRESS_MOST_MS = 500.0, 2000.0  # how far after the press a unit begins; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """What was set on a unit, and what was seen; `ended_ms` is None where no end was seen, `goes_on` if none came."""

    settings: Settings
    taps: tuple[Tap, ...]
    started_ms: float | None = None
    ended_ms: float | None = None
    goes_on: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How well one convention fits; `parts_ms` is what it predicts for each of `PARTS` at the unit's own clock."""

    conventions: Mapping[str, str]
    misfit: float
    weight: float
    clock: float
    parts_ms: Mapping[str, float]
    off_ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What is found of one behaviour: its value, or none with the reason (`alike`, `no_fit`, `not_seen`, `odd`)."""

    name: str
    value: str = ""
    reason: str = ""
    weights: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """All that follows from what was seen; `fits` has the best first."""

    seen: Seen
    parts: Mapping[str, Number]
    fits: tuple[Fit, ...]
    verdicts: tuple[Verdict, ...]


def measure(watched: Watched) -> Measurement | None:
    """Measures a unit; None where too little was seen: three cycles, with at least a start in two of them."""
    seen = see(watched.taps)
    if seen is None:
        return None
    fits = fit_all(watched.settings, seen)
    verdicts = list(_rhythm_verdicts(fits))
    if fits:
        starts = _starts_with(watched, seen, fits)
        verdicts += [starts, _at_end(watched, fits, starts.value)]
    return Measurement(seen=seen, parts=_parts(seen), fits=fits, verdicts=tuple(verdicts))


def _parts(seen: Seen) -> dict[str, Number]:
    """Turns positions into lengths: of each part whose two edges were seen, and of the cycle."""
    found = {}
    for part, (start, end) in zip(PARTS, (("rise", "hold"), ("hold", "ease"), ("ease", "rest")), strict=False):
        if start in seen.edges and end in seen.edges:
            a, b = seen.edges[start], seen.edges[end]
            found[part] = Number(ms=b.ms - a.ms, sd_ms=sqrt(a.sd_ms**2 + b.sd_ms**2))
    if "rest" in seen.edges:
        a, b = seen.edges["rest"], seen.edges["rise"]
        found["rest"] = Number(ms=seen.cycle.ms - a.ms + b.ms, sd_ms=sqrt(a.sd_ms**2 + b.sd_ms**2))
    return found | {"cycle": seen.cycle}


def _candidates(settings: Settings) -> Iterator[tuple[dict[str, str], Cycle]]:
    """Lists the conventions that a unit may follow with these numbers, where they are possible at all."""
    turns = [(r, d) for r in ALTERNATING_RESTS for d in DELAY_FROM] if settings.alternates else [("", "")]
    for ramps in RAMPS:
        for alternating_rest, delay_from in turns:
            named = {"ramps": ramps}
            if settings.alternates:
                named |= {"alternating_rest": alternating_rest, "delay_from": delay_from}
            try:
                yield named, work_out_cycle(replace(settings, **named))  # type: ignore[arg-type]
            except PlanError:
                continue


def fit_all(settings: Settings, seen: Seen) -> tuple[Fit, ...]:
    """Fits every convention, the best first."""
    tried = [(named, cycle, *_misfit(cycle, seen)) for named, cycle in _candidates(settings)]
    if not tried:
        return ()
    best = min(misfit for _named, _cycle, misfit, _clock in tried)
    total = sum(exp((best - misfit) / 2) for _named, _cycle, misfit, _clock in tried)
    fits = [Fit(conventions=named, misfit=misfit, weight=exp((best - misfit) / 2) / total, clock=clock,
                parts_ms=_predicted(cycle, clock), off_ms=float(cycle.off_ms))
            for named, cycle, misfit, clock in tried]
    return tuple(sorted(fits, key=lambda fit: fit.misfit))


def _edges_of(cycle: Cycle) -> dict[str, float]:
    first = cycle.contractions[0]
    return {"rise": 0.0, "hold": float(first.ramp_up_ms), "ease": float(first.ramp_up_ms + first.flat_ms),
            "rest": float(first.on_ms)}


def _predicted(cycle: Cycle, clock: float) -> dict[str, float]:
    first = cycle.contractions[0]
    lengths = (first.ramp_up_ms, first.flat_ms, first.ramp_down_ms, cycle.cycle_ms - first.on_ms, cycle.cycle_ms)
    return {part: clock * ms for part, ms in zip(PARTS, lengths, strict=True)}


def _misfit(cycle: Cycle, seen: Seen) -> tuple[float, float]:
    """Gives the least sum of squares over the start and the clock, and that clock (1 is nominal)."""
    rows = [(1.0, place, seen.edges[edge]) for edge, place in _edges_of(cycle).items() if edge in seen.edges]
    rows += [(0.0, float(cycle.cycle_ms), seen.cycle), (0.0, 1.0, Number(ms=1.0, sd_ms=CLOCK_SD))]
    weighed = [(a, x, n.ms, 1 / n.sd_ms**2) for a, x, n in rows]
    saa, sax, sxx = _sums((a * a, a * x, x * x, w) for a, x, _y, w in weighed)
    say, sxy, _ = _sums((a * y, x * y, 0, w) for a, x, y, w in weighed)
    determinant = saa * sxx - sax * sax
    start, clock = (say * sxx - sxy * sax) / determinant, (saa * sxy - sax * say) / determinant
    return sum(w * (y - a * start - x * clock) ** 2 for a, x, y, w in weighed), clock


def _sums(rows: Iterable[tuple[float, float, float, float]]) -> tuple[float, float, float]:
    """Adds three columns up, each row times its weight in the fourth."""
    weighed = [(w * p, w * q, w * r) for p, q, r, w in rows]
    first, second, third = zip(*weighed, strict=True)
    return sum(first), sum(second), sum(third)


def _rhythm_verdicts(fits: Sequence[Fit]) -> Iterator[Verdict]:
    names = fits[0].conventions if fits else {"ramps": ""}
    for name in names:
        weights: dict[str, float] = {}
        for fit in fits:
            weights[fit.conventions[name]] = weights.get(fit.conventions[name], 0) + fit.weight
        yield _decided(name, weights, fits_at_all=bool(fits) and fits[0].misfit <= MOST_MISFIT)


def _decided(name: str, weights: Mapping[str, float], *, fits_at_all: bool = True) -> Verdict:
    if not fits_at_all:
        return Verdict(name=name, reason="no_fit", weights=weights)
    value, share = max(weights.items(), key=lambda one: one[1])
    if share < SURE:
        return Verdict(name=name, reason="alike", weights=weights)
    return Verdict(name=name, value=value, weights=weights)


def _nearest(name: str, seen_ms: float, predicted: Mapping[str, float]) -> Verdict:
    """Decides between moments that a unit's habit may lead to; `odd` where none of them is near."""
    if min(abs(seen_ms - ms) for ms in predicted.values()) > PRESS_MOST_MS:
        return Verdict(name=name, reason="odd")
    raw = {value: exp(-(((seen_ms - ms) / PRESS_SD_MS) ** 2) / 2) for value, ms in predicted.items()}
    return _decided(name, {value: share / sum(raw.values()) for value, share in raw.items()})


def _starts_with(watched: Watched, seen: Seen, fits: Sequence[Fit]) -> Verdict:
    if watched.started_ms is None:
        return Verdict(name="starts_with", reason="not_seen")
    waited = seen.first_ms - watched.started_ms
    return _nearest("starts_with", waited, {"rise": 0.0, "rest": fits[0].clock * fits[0].off_ms})


def _at_end(watched: Watched, fits: Sequence[Fit], starts_with: str) -> Verdict:
    if watched.goes_on:
        return Verdict(name="at_end", value="goes_on")
    if watched.ended_ms is None or watched.started_ms is None:
        return Verdict(name="at_end", reason="not_seen")
    named = dict(fits[0].conventions) | {"starts_with": starts_with or "rise"}
    ends = {at_end: fits[0].clock * build_timetable(replace(watched.settings, at_end=at_end, **named)).end_ms  # type: ignore[arg-type]
            for at_end in ("cut", "finish_contraction")}
    return _nearest("at_end", watched.ended_ms - watched.started_ms, ends)
