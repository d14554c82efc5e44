"""What a therapist typed and tapped on a unit, read for measuring it."""

from __future__ import annotations

import json
from math import isfinite
from typing import Any

from webapp.serving import texts
from webapp.stimulation.measuring import Watched
from webapp.stimulation.plan import Channel, Settings
from webapp.stimulation.taps_seen import EDGES, Tap
from webapp.therapist.form import Form

NUMBERS = {"ramp_up_s": (0, 10), "hold_s": (0.5, 120), "ramp_down_s": (0, 10), "rest_s": (0, 300)}
MOST_TAPS, MOST_MS = 400, 36_000_000
DUMMY = Channel(intensity_ma=1, pad_cm2=25)  # strength has no say in the rhythm


def read_watched(form: Form) -> Watched | None:
    """Reads the form; None where something in it is wrong, which then stands in the form."""
    numbers = {name: form.number(name, *limits, required=True) for name, limits in NUMBERS.items()}
    minutes = form.number("session_min", 1, 90, required=True)
    turns = form.value("turns") == "2"
    delay = form.number("delay_s", 0, 60, required=True) if turns else 0
    seen = _read_seen(form.value("seen"))
    if seen is None:
        form.refuse("seen", "measure.no_taps")
    if not form.ok or seen is None:
        return None
    up, hold, down, rest = (numbers[name] or 0 for name in NUMBERS)
    settings = Settings(
        drive="cycled", frequency_hz=35, pulse_width_us=300, session_min=minutes or 1,
        channels=(DUMMY,) * (2 if turns else 1), relation="alternating" if turns else "together", delay_s=delay or 0,
        ramp_up_s=up, hold_s=hold, ramp_down_s=down, rest_s=rest)
    return Watched(settings=settings, **seen)


def _moment(value: object) -> float | None:
    if not isinstance(value, int | float) or isinstance(value, bool) or not isfinite(value):
        return None
    return float(value) if 0 <= value <= MOST_MS else None


def _read_seen(typed: str) -> dict[str, Any] | None:
    """Reads what the page's script wrote down: taps as [edge, ms], when it was started, when it stopped."""
    try:
        told: Any = json.loads(typed if len(typed) < MOST_TAPS * 60 else "")
        rows = [(edge, _moment(ms)) for edge, ms in told["taps"][:MOST_TAPS]]
    except (ValueError, TypeError, KeyError, RecursionError):
        return None
    taps = tuple(Tap(edge=edge, at_ms=ms) for edge, ms in rows if edge in EDGES and ms is not None)
    return {"taps": taps, "started_ms": _moment(told.get("started")), "ended_ms": _moment(told.get("ended")),
            "goes_on": told.get("goes_on") is True} if taps else None


def said_parts(ms: float) -> str:
    """Writes a time in seconds with a tenth."""
    return texts()("measure.seconds", n=f"{ms / 1000:.1f}")
