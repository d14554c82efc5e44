"""A whole session as intervals: what each channel does from its start to its end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import chain, repeat
from typing import NamedTuple

from webapp.stimulation.cycle import Contraction, Cycle, work_out_cycle
from webapp.stimulation.plan import Settings


class Interval(NamedTuple):
    """One phase of one channel: `ramp_up`, `hold`, `ramp_down` or `rest`; cycles count from 1."""

    start_ms: int
    end_ms: int
    channel: int
    phase: str
    cycle: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelTally:
    """What a channel does in a session: contractions begun and completed, and its times with the end taken off."""

    first_ms: int
    begun: int
    completed: int
    on_time_ms: int
    flat_time_ms: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """The session. `session_ms` is the planned length, `end_ms` the real one (later where a contraction is finished).

    `intervals` come channel by channel, each channel from 0 to `end_ms` without gap or overlap; the rest that follows
    contraction n belongs to cycle n. The tuples hold one figure for each channel.
    """

    cycle_ms: int
    on_ms: int
    off_ms: int
    flat_ms: int
    first_rise_ms: int
    session_ms: int
    end_ms: int
    intervals: tuple[Interval, ...]
    contractions: tuple[int, ...]
    on_time_ms: tuple[int, ...]
    flat_time_ms: tuple[int, ...]


def _begun(first_ms: int, cycle_ms: int, session_ms: int) -> int:
    return 0 if first_ms >= session_ms else (session_ms - 1 - first_ms) // cycle_ms + 1


def _tally_of(c: Contraction, cycle: Cycle, settings: Settings) -> ChannelTally:
    first_ms = cycle.first_rise_ms + c.start_ms
    begun = _begun(first_ms, cycle.cycle_ms, settings.session_ms)
    last_ms = first_ms + (begun - 1) * cycle.cycle_ms
    finishes = settings.at_end == "finish_contraction"
    over_ms = 0 if finishes or not begun else max(0, last_ms + c.on_ms - settings.session_ms)
    flat_over_ms = min(c.flat_ms, max(0, over_ms - c.ramp_down_ms))
    return ChannelTally(
        first_ms=first_ms,
        begun=begun,
        completed=0 if settings.is_steady else begun - (over_ms > 0),
        on_time_ms=begun * c.on_ms - over_ms,
        flat_time_ms=begun * c.flat_ms - flat_over_ms,
    )


def tally(settings: Settings, cycle: Cycle | None = None) -> tuple[ChannelTally, ...]:
    """Counts contractions and times of each channel without listing the intervals.

    A contraction that the end cuts counts in the times up to the cut, and is not completed. A steady plan has no
    contractions.
    """
    worked = cycle or work_out_cycle(settings)
    return tuple(_tally_of(contraction, worked, settings) for contraction in worked.contractions)


def session_end_ms(settings: Settings, cycle: Cycle, tallies: Iterable[ChannelTally]) -> int:
    """Gives the real end: the planned one, or that of the last contraction under way then, if the unit finishes it."""
    if settings.at_end != "finish_contraction" or settings.is_steady:
        return settings.session_ms
    ends = (
        t.first_ms + (t.begun - 1) * cycle.cycle_ms + c.on_ms
        for t, c in zip(tallies, cycle.contractions, strict=True)
        if t.begun
    )
    return max(settings.session_ms, *ends, 0)


_make = partial(tuple.__new__, Interval)


def _parts(c: Contraction, cycle_ms: int) -> list[tuple[str, int, int]]:
    up, flat, on = c.ramp_up_ms, c.ramp_up_ms + c.flat_ms, c.on_ms
    parts = [("ramp_up", 0, up), ("hold", up, flat), ("ramp_down", flat, on), ("rest", on, cycle_ms)]
    return [part for part in parts if part[2] > part[1]]


def _whole_cycles(channel: int, first_ms: int, count: int, c: Contraction, cycle_ms: int) -> Iterator[Interval]:
    """Repeats one cycle's template; built column by column, because a loop in Python is several times slower."""
    columns = []
    span = count * cycle_ms
    for phase, start, end in _parts(c, cycle_ms):
        starts = range(first_ms + start, first_ms + start + span, cycle_ms)
        ends = range(first_ms + end, first_ms + end + span, cycle_ms)
        columns.append(map(_make, zip(starts, ends, repeat(channel), repeat(phase), range(1, count + 1), strict=False)))
    return chain.from_iterable(zip(*columns, strict=True))


def _last_cycle(channel: int, tally_: ChannelTally, c: Contraction, cycle_ms: int, end_ms: int) -> Iterator[Interval]:
    first_ms = tally_.first_ms + (tally_.begun - 1) * cycle_ms
    for phase, start, end in _parts(c, max(cycle_ms, end_ms - first_ms)):
        if first_ms + start < end_ms:
            yield Interval(first_ms + start, min(first_ms + end, end_ms), channel, phase, tally_.begun)


def _channel_intervals(
    channel: int, tally_: ChannelTally, c: Contraction, cycle_ms: int, end_ms: int
) -> Iterator[Interval]:
    if tally_.first_ms:
        yield Interval(0, min(tally_.first_ms, end_ms), channel, "rest", 1)
    if tally_.begun:
        yield from _whole_cycles(channel, tally_.first_ms, tally_.begun - 1, c, cycle_ms)
        yield from _last_cycle(channel, tally_, c, cycle_ms, end_ms)


def build_timetable(settings: Settings) -> Timetable:
    """Lists what each channel does from the start to the end; raises PlanError where the timing is impossible."""
    cycle = work_out_cycle(settings)
    tallies = tally(settings, cycle)
    end_ms = session_end_ms(settings, cycle, tallies)
    rows = (
        _channel_intervals(channel, t, c, cycle.cycle_ms, end_ms)
        for channel, (t, c) in enumerate(zip(tallies, cycle.contractions, strict=True), start=1)
    )
    return Timetable(
        cycle_ms=cycle.cycle_ms,
        on_ms=cycle.on_ms,
        off_ms=cycle.off_ms,
        flat_ms=cycle.flat_ms,
        first_rise_ms=cycle.first_rise_ms,
        session_ms=settings.session_ms,
        end_ms=end_ms,
        intervals=tuple(chain.from_iterable(rows)),
        contractions=tuple(t.completed for t in tallies),
        on_time_ms=tuple(t.on_time_ms for t in tallies),
        flat_time_ms=tuple(t.flat_time_ms for t in tallies),
    )
