"""Plans for tests: one that is plain, and whatever differs from it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from webapp.stimulation.plan import Channel, Settings

CHANNEL = Channel(intensity_ma=24, pad_cm2=25)
PLAIN = Settings(
    drive="cycled",
    frequency_hz=35,
    pulse_width_us=300,
    session_min=20,
    channels=(CHANNEL,),
    ramp_up_s=1,
    hold_s=5,
    ramp_down_s=1,
    rest_s=10,
)


def plan(count: int = 1, **different: Any) -> Settings:
    """Gives the plain plan (1 + 5 + 1 s, 10 s of rest, 20 minutes) with something different."""
    return replace(PLAIN, **{"channels": (CHANNEL,) * count, **different})
