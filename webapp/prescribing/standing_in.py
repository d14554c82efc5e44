"""Settings of which something can't be read yet, checked as far as they can be: one fault hides no other."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.formats.plan_json import read_settings
from webapp.formats.reading import ReadingError
from webapp.stimulation.finding import Finding
from webapp.stimulation.limits import ELECTRICAL_RULES
from webapp.stimulation.plan import Settings

Raw = Mapping[str, Any]
PLAIN: Raw = {"frequency_hz": 35, "pulse_width_us": 250, "session_min": 10, "ramp_up_s": 1, "hold_s": 5,
              "ramp_down_s": 1, "rest_s": 15, "delay_s": 0}  # fmt: skip
TIMES = frozenset({"ramp_up_s", "hold_s", "ramp_down_s", "rest_s", "delay_s"})
OF_TIMES = frozenset({"more_work_than_rest", "practice_on_s", "practice_off_s"})
OF_PULSES = frozenset({"frequency_hz", "pulse_width_us", "waveform", "recovery_ratio"})


@dataclass(frozen=True, slots=True, kw_only=True)
class AsFarAsRead:
    """Settings with plain values in place of what can't be read, and the paths of those."""

    settings: Settings
    stood: frozenset[str]

    def can_say(self, finding: Finding) -> bool:
        """Tells whether a finding holds whatever will be typed where a value stood in."""
        if finding.field in self.stood:
            return False
        if finding.rule in ELECTRICAL_RULES:
            return not self.stood & OF_PULSES and not any(path.startswith("channels") for path in self.stood)
        if finding.rule.startswith("timing_") or finding.rule in OF_TIMES:
            return not self.stood & TIMES
        return True


def as_far_as_read(raw: Raw, paths: Sequence[str]) -> AsFarAsRead | None:
    """Puts a plain value wherever a path says that something can't be read; None where that is not enough."""
    measure = "intensity_level" if raw["stimulator"].get("shows") == "level" else "intensity_ma"
    channels = [dict(one) for one in raw["settings"]["channels"]]
    settings = {**raw["settings"], "channels": channels}
    stood = frozenset(_stand_in(settings, channels, paths, measure))
    try:
        return AsFarAsRead(settings=read_settings(settings), stood=stood)
    except ReadingError:
        return None


def _stand_in(settings: dict[str, Any], channels: list[dict[str, Any]], paths: Sequence[str],
              measure: str) -> Iterator[str]:
    for path in paths:
        if found := re.match(r"channels\[(\d)\]\.?(.*)", path):
            channel, name = channels[int(found.group(1))], found.group(2) or measure
            channel.pop(name, None)
            channel.update({"pad_cm2": 25} if name == "pad_cm2" else {name: 1} if name.startswith("intensity_") else {})
            yield f"channels[{found.group(1)}].{name}"
        elif path in PLAIN:
            settings[path] = PLAIN[path]
            yield path
