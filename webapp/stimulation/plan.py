"""What a therapist decided: the stimulation settings, wattlebird.plan/1."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.stimulation.problem import PlanError, Problem
from webapp.stimulation.units import minutes_to_ms, to_ms

__all__ = ["Channel", "PlanError", "Problem", "Settings"]

DRIVES = ("cycled", "switched", "steady")
WAVEFORMS = ("symmetric_biphasic", "asymmetric_biphasic", "monophasic")
PATTERNS = ("continuous", "burst", "modulated")
RAMPS = ("outside", "inside", "split")
RELATIONS = ("together", "alternating")
DELAY_EFFECTS = ("shift", "shorten")
DELAY_FROM = ("contraction_end", "hold_end")
ALTERNATING_RESTS = ("after_both", "within_rest")
STARTS_WITH = ("rise", "rest")
AT_END = ("cut", "finish_contraction")


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One channel: its strength in milliamperes or in the unit's own level, its smallest pad, its own pulse if any."""

    pad_cm2: float
    intensity_ma: float | None = None
    intensity_level: int | None = None
    frequency_hz: float | None = None
    pulse_width_us: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The settings of one exercise; `hold_s` and `rest_s` are None only where the drive is steady.

    Times are in seconds and minutes as written; the `_ms` properties are what is computed with.
    """

    drive: str
    frequency_hz: float
    pulse_width_us: float
    session_min: float
    channels: tuple[Channel, ...]
    waveform: str = "symmetric_biphasic"
    recovery_ratio: float | None = None
    pattern: str = "continuous"
    ramp_up_s: float = 0
    hold_s: float | None = None
    ramp_down_s: float = 0
    rest_s: float | None = None
    ramps: str = "outside"
    relation: str = "together"
    delay_s: float = 0
    delay_effect: str = "shift"
    delay_from: str = "contraction_end"
    alternating_rest: str = "after_both"
    starts_with: str = "rise"
    at_end: str = "cut"

    @property
    def session_ms(self) -> int:
        """The planned length of the session."""
        return minutes_to_ms(self.session_min)

    @property
    def ramp_up_ms(self) -> int:
        """The ramp up."""
        return to_ms(self.ramp_up_s)

    @property
    def hold_ms(self) -> int:
        """The hold as set on the unit (what it includes depends on `ramps`)."""
        return to_ms(self.hold_s or 0)

    @property
    def ramp_down_ms(self) -> int:
        """The ramp down."""
        return to_ms(self.ramp_down_s)

    @property
    def rest_ms(self) -> int:
        """The rest as set on the unit (what it includes depends on `ramps`)."""
        return to_ms(self.rest_s or 0)

    @property
    def delay_ms(self) -> int:
        """The delay of channel 2."""
        return to_ms(self.delay_s)

    @property
    def is_steady(self) -> bool:
        """Whether there is no cycle."""
        return self.drive == "steady"

    @property
    def alternates(self) -> bool:
        """Whether two channels work in turns."""
        return len(self.channels) == 2 and self.relation == "alternating" and not self.is_steady

    def frequency_of(self, channel: Channel) -> float:
        """Gives the pulse rate of a channel, its own or the plan's."""
        return self.frequency_hz if channel.frequency_hz is None else channel.frequency_hz

    def pulse_width_of(self, channel: Channel) -> float:
        """Gives the length of one phase of a channel in µs, its own or the plan's."""
        return self.pulse_width_us if channel.pulse_width_us is None else channel.pulse_width_us
