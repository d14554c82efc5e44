"""What a plan asks of a unit that the unit cannot do; each finding names the nearest values that it can."""

from __future__ import annotations

from collections.abc import Iterator

from webapp.stimulation.finding import STOP, Finding, Limit, Value, make_finding, shown
from webapp.stimulation.plan import Settings
from webapp.stimulation.stimulator import UNKNOWN, Settable, Stimulator

SOURCE = "unit"
_MUST_BE_LISTED = ("frequency_hz", "pulse_width_us")
_CYCLE_TIMES = ("ramp_up_s", "hold_s", "ramp_down_s", "rest_s")
_CHOICES = ("waveform", "pattern", "relation")


def _stop(
    rule: str, field: str, value: Value, limit: Limit, nearest: tuple[float | str, ...] = (), **params: object
) -> Finding:
    return make_finding(
        STOP, rule, source=SOURCE, field=field, value=value, limit=limit, nearest=nearest, path=field, **params
    )


def _what_it_takes(settable: Settable) -> str | tuple[float, float]:
    if settable.values is not None:
        return ", ".join(shown(one) for one in settable.values)
    return (settable.minimum or 0.0, settable.maximum or 0.0)


def _cannot(name: str, settable: Settable, value: float | str, field: str) -> Finding | None:
    if settable.takes(value):
        return None
    limit, near = _what_it_takes(settable), settable.nearest(value)
    step = "–" if settable.step is None else shown(settable.step)
    return _stop(f"unit_{name}", field, value, limit, near, step=step)


def _check_one(unit: Stimulator, name: str, value: float | str, field: str, *, needed: bool) -> Iterator[Finding]:
    settable = unit.settable(name)
    if settable is None:
        if needed:
            yield _stop("unit_lacks_setting", field, value, None)
        return
    if found := _cannot(name, settable, value, field):
        yield found


def _times(s: Settings) -> Iterator[tuple[str, float, bool]]:
    yield "session_min", s.session_min, False
    if s.is_steady:
        yield "ramp_up_s", s.ramp_up_s, s.ramp_up_s > 0
        return
    for name in _CYCLE_TIMES:
        value = getattr(s, name) or 0
        paced_by_hand = s.drive == "switched" and name in ("hold_s", "rest_s")
        if not paced_by_hand:
            yield name, value, value > 0
    if len(s.channels) == 2:
        yield "delay_s", s.delay_s, s.delay_s > 0


def _check_settings(s: Settings, unit: Stimulator) -> Iterator[Finding]:
    for name in _MUST_BE_LISTED:
        yield from _check_one(unit, name, getattr(s, name), name, needed=True)
    for name, value, needed in _times(s):
        yield from _check_one(unit, name, value, name, needed=needed)
    for name in _CHOICES:
        if name != "relation" or (len(s.channels) == 2 and not s.is_steady):
            yield from _check_one(unit, name, getattr(s, name), name, needed=False)


def _check_channels(s: Settings, unit: Stimulator) -> Iterator[Finding]:
    if len(s.channels) > len(unit.channels):
        yield _stop("unit_channels", "channels", len(s.channels), len(unit.channels))
    for n, channel in enumerate(s.channels):
        measure = "level" if channel.intensity_ma is None else "ma"
        name = f"intensity_{measure}"
        strength = channel.intensity_level if channel.intensity_ma is None else channel.intensity_ma
        field = f"channels[{n}].{name}"
        if unit.shows != measure:
            yield _stop("unit_shows", field, measure, unit.shows)
        elif strength is not None:
            yield from _check_one(unit, name, strength, field, needed=False)
        for own in _MUST_BE_LISTED:
            if (value := getattr(channel, own)) is not None:
                yield from _check_one(unit, own, value, f"channels[{n}].{own}", needed=True)


def _behaviours_that_matter(s: Settings) -> Iterator[str]:
    if s.is_steady:
        return
    if s.ramp_up_s or s.ramp_down_s:
        yield "ramps"
    if s.alternates:
        yield "alternating_rest"
        if s.ramp_down_s:
            yield "delay_from"
    elif len(s.channels) == 2 and s.delay_s:
        yield "delay_effect"
    if s.drive == "cycled":
        if s.rest_s:
            yield "starts_with"
        yield "at_end"


def _check_behaviours(s: Settings, unit: Stimulator) -> Iterator[Finding]:
    for name in _behaviours_that_matter(s):
        planned, real = getattr(s, name), getattr(unit, name)
        if settable := unit.settable(name):
            if found := _cannot(name, settable, planned, name):
                yield found
        elif real not in (planned, UNKNOWN, "goes_on"):
            yield _stop(f"unit_{name}", name, planned, real, (real,), step="–")


def _check_drive(s: Settings, unit: Stimulator) -> Iterator[Finding]:
    if s.drive not in unit.drives:
        yield _stop("unit_drive", "drive", s.drive, ", ".join(unit.drives), unit.drives)
    elif s.drive == "switched" and unit.switch_socket == "none":
        yield _stop("unit_switch", "drive", s.drive, unit.switch_socket)
    if unit.session_limit_min is not None and s.session_min > unit.session_limit_min:
        limit = unit.session_limit_min
        yield _stop("unit_session_limit", "session_min", s.session_min, limit, (limit,))


def unit_findings(settings: Settings, unit: Stimulator) -> Iterator[Finding]:
    """Gives everything in a plan that this unit can't be set to.

    A setting that the unit does not list can't be set: that stops a frequency, a pulse width, and a time above 0.
    Minutes and strength may be unlisted (the phone counts, a knob has no steps). A behaviour that is unknown, or a
    unit that goes on at the end, stops nothing: the phone then promises nothing about it.
    """
    yield from _check_drive(settings, unit)
    yield from _check_settings(settings, unit)
    yield from _check_channels(settings, unit)
    yield from _check_behaviours(settings, unit)
