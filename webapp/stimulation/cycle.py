"""One cycle: when each channel's contraction starts and how long its parts are, under every convention of units."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.stimulation.plan import Settings
from webapp.stimulation.problem import PlanError, Problem
from webapp.stimulation.units import number_text

LEAST_CONTRACTION_MS = 500
LEAST_CYCLE_MS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Contraction:
    """One channel's contraction, from the start of the cycle."""

    start_ms: int
    ramp_up_ms: int
    flat_ms: int
    ramp_down_ms: int

    @property
    def on_ms(self) -> int:
        """Its length, ramps included."""
        return self.ramp_up_ms + self.flat_ms + self.ramp_down_ms

    @property
    def end_ms(self) -> int:
        """Its end, from the start of the cycle."""
        return self.start_ms + self.on_ms


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """The cycle of a plan; `on_ms`, `off_ms`, `flat_ms` are channel 1's, `contractions` one for each channel.

    `first_rise_ms` is when channel 1's first ramp up starts in the session. A steady plan is one cycle as long as
    the session, without a ramp down or a pause.
    """

    cycle_ms: int
    on_ms: int
    off_ms: int
    flat_ms: int
    first_rise_ms: int
    contractions: tuple[Contraction, ...]


def _flat_and_off(s: Settings) -> tuple[int, int]:
    if s.ramps == "inside":
        return s.hold_ms - s.ramp_up_ms - s.ramp_down_ms, s.rest_ms
    if s.ramps == "split":
        return s.hold_ms - s.ramp_up_ms, s.rest_ms - s.ramp_down_ms
    return s.hold_ms, s.rest_ms


def _second_start(s: Settings, on_ms: int, flat_ms: int) -> int:
    if s.relation != "alternating":
        return s.delay_ms
    after = s.ramp_up_ms + flat_ms if s.delay_from == "hold_end" else on_ms
    return after + s.delay_ms


def _seconds(ms: int) -> str:
    return number_text(ms / 1000)


def _problem(path: str, key: str, **times_ms: int) -> Problem:
    return Problem(path=path, key=key, params={name: _seconds(ms) for name, ms in times_ms.items()})


def _contraction_problems(s: Settings, flat_ms: int, off_ms: int) -> list[Problem]:
    found = []
    if flat_ms <= 0:
        found.append(_problem("hold_s", "timing_flat_top", above=s.hold_ms - flat_ms, value=s.hold_ms))
    if off_ms < 0:
        found.append(_problem("rest_s", "timing_off", least=s.ramp_down_ms, value=s.rest_ms))
    return found


def _together_problems(s: Settings, flat_ms: int, on_ms: int, off_ms: int) -> list[Problem]:
    if s.delay_effect == "shift":
        if s.delay_ms > off_ms:
            return [_problem("delay_s", "timing_delay_shift", most=off_ms, value=s.delay_ms)]
        return []
    if s.delay_ms >= flat_ms:
        return [_problem("delay_s", "timing_delay_shorten", below=flat_ms, value=s.delay_ms)]
    if on_ms - s.delay_ms < LEAST_CONTRACTION_MS:
        return [_problem("delay_s", "timing_contraction", least=LEAST_CONTRACTION_MS, value=on_ms - s.delay_ms)]
    return []


def _pair_problems(s: Settings, flat_ms: int, on_ms: int, off_ms: int) -> list[Problem]:
    if s.relation != "alternating":
        return _together_problems(s, flat_ms, on_ms, off_ms)
    second_ms = _second_start(s, on_ms, flat_ms)
    if s.alternating_rest == "within_rest" and second_ms > off_ms:
        least_ms = s.rest_ms - off_ms + second_ms
        return [_problem("rest_s", "timing_within_rest", least=least_ms, value=s.rest_ms)]
    return []


def timing_problems(settings: Settings) -> tuple[Problem, ...]:
    """Gives everything that makes the timing impossible; nothing for a steady plan."""
    s = settings
    if s.is_steady:
        return ()
    flat_ms, off_ms = _flat_and_off(s)
    if found := _contraction_problems(s, flat_ms, off_ms):
        return tuple(found)
    on_ms = s.ramp_up_ms + flat_ms + s.ramp_down_ms
    if on_ms < LEAST_CONTRACTION_MS:
        found.append(_problem("hold_s", "timing_contraction", least=LEAST_CONTRACTION_MS, value=on_ms))
    if len(s.channels) == 2:
        found.extend(_pair_problems(s, flat_ms, on_ms, off_ms))
    cycle_ms = _cycle_ms(s, on_ms, flat_ms, off_ms)
    if cycle_ms < LEAST_CYCLE_MS:
        found.append(_problem("rest_s", "timing_cycle", least=LEAST_CYCLE_MS, value=cycle_ms))
    return tuple(found)


def _cycle_ms(s: Settings, on_ms: int, flat_ms: int, off_ms: int) -> int:
    if s.alternates and s.alternating_rest == "after_both":
        return _second_start(s, on_ms, flat_ms) + on_ms + off_ms
    return on_ms + off_ms


def _steady_cycle(s: Settings) -> Cycle:
    flat_ms = s.session_ms - s.ramp_up_ms
    whole = Contraction(start_ms=0, ramp_up_ms=s.ramp_up_ms, flat_ms=flat_ms, ramp_down_ms=0)
    return Cycle(
        cycle_ms=s.session_ms,
        on_ms=s.session_ms,
        off_ms=0,
        flat_ms=flat_ms,
        first_rise_ms=0,
        contractions=(whole,) * len(s.channels),
    )


def _contractions(s: Settings, on_ms: int, flat_ms: int) -> tuple[Contraction, ...]:
    first = Contraction(start_ms=0, ramp_up_ms=s.ramp_up_ms, flat_ms=flat_ms, ramp_down_ms=s.ramp_down_ms)
    if len(s.channels) == 1:
        return (first,)
    shortened_ms = s.delay_ms if s.relation == "together" and s.delay_effect == "shorten" else 0
    second = Contraction(
        start_ms=_second_start(s, on_ms, flat_ms),
        ramp_up_ms=s.ramp_up_ms,
        flat_ms=flat_ms - shortened_ms,
        ramp_down_ms=s.ramp_down_ms,
    )
    return (first, second)


def work_out_cycle(settings: Settings) -> Cycle:
    """Works out the cycle; raises PlanError with every problem where the timing is impossible.

    With `delay_from: hold_end` channel 2's ramp up may overlap channel 1's ramp down. With `delay_effect: shorten`
    only channel 2's flat top is shorter. The contraction of either channel always ends within the cycle it starts in.
    """
    s = settings
    if problems := timing_problems(s):
        raise PlanError(problems)
    if s.is_steady:
        return _steady_cycle(s)
    flat_ms, off_ms = _flat_and_off(s)
    on_ms = s.ramp_up_ms + flat_ms + s.ramp_down_ms
    return Cycle(
        cycle_ms=_cycle_ms(s, on_ms, flat_ms, off_ms),
        on_ms=on_ms,
        off_ms=off_ms,
        flat_ms=flat_ms,
        first_rise_ms=off_ms if s.starts_with == "rest" else 0,
        contractions=_contractions(s, on_ms, flat_ms),
    )
