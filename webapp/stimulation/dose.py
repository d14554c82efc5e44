"""The electrical dose of a plan: charge, current, density, power, pulses and times.

Phase charge = I·w. RMS current of the train = I·√(k·w·f), k = 2 for a symmetric biphasic pulse, 1 for a monophasic
one, 1 + 1/r for an asymmetric one whose second phase is r times as long and 1/r as high. Density = RMS ÷ pad area.
Power density = RMS² · 500 Ω ÷ pad area. All of them are those of the hold, never averaged over the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.plan import Channel, Settings
from webapp.stimulation.timetable import ChannelTally, tally
from webapp.stimulation.units import plain_number

LOAD_OHM = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelDose:
    """The dose of one channel; None where it can't be known (a level without milliamperes, a changing pattern)."""

    phase_charge_uc: float | None
    rms_ma: float | None
    rms_density_ma_cm2: float | None
    power_density_w_cm2: float | None
    pulses: float | None
    on_time_s: float
    contractions: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """The dose of a session: one entry for each channel, and channel 1's on-time of a cycle in percent of it."""

    channels: tuple[ChannelDose, ...]
    duty_percent: float


def phase_factor(settings: Settings) -> float:
    """Gives k, the pulse's mean square in units of one phase of full height."""
    if settings.waveform == "monophasic":
        return 1
    if settings.waveform == "asymmetric_biphasic" and settings.recovery_ratio:
        return 1 + 1 / settings.recovery_ratio
    return 2


def phase_charge_uc(settings: Settings, channel: Channel) -> float | None:
    """Works out the charge of one phase in µC: mA × µs ÷ 1000."""
    if channel.intensity_ma is None:
        return None
    return channel.intensity_ma * settings.pulse_width_of(channel) / 1000


def rms_ma(settings: Settings, channel: Channel) -> float | None:
    """Works out the RMS current of the train in mA, judged within the train."""
    if channel.intensity_ma is None or settings.pattern != "continuous":
        return None
    width_s = settings.pulse_width_of(channel) / 1_000_000
    return channel.intensity_ma * sqrt(phase_factor(settings) * width_s * settings.frequency_of(channel))


def rms_density_ma_cm2(settings: Settings, channel: Channel) -> float | None:
    """Works out the RMS current density under the smallest pad in mA/cm²."""
    rms = rms_ma(settings, channel)
    return None if rms is None else rms / channel.pad_cm2


def power_density_w_cm2(settings: Settings, channel: Channel) -> float | None:
    """Works out the mean power density of the train in W/cm², into 500 Ω."""
    rms = rms_ma(settings, channel)
    return None if rms is None else (rms / 1000) ** 2 * LOAD_OHM / channel.pad_cm2


def pulse_energy_mj(settings: Settings, channel: Channel) -> float | None:
    """Works out the energy of one pulse, all of its phases, in mJ into 500 Ω."""
    if channel.intensity_ma is None:
        return None
    width_s = settings.pulse_width_of(channel) / 1_000_000
    return (channel.intensity_ma / 1000) ** 2 * LOAD_OHM * phase_factor(settings) * width_s * 1000


def _channel_dose(settings: Settings, channel: Channel, counted: ChannelTally) -> ChannelDose:
    on_time_s = counted.on_time_ms / 1000
    pulses = settings.frequency_of(channel) * counted.on_time_ms / 1000
    return ChannelDose(
        phase_charge_uc=phase_charge_uc(settings, channel),
        rms_ma=rms_ma(settings, channel),
        rms_density_ma_cm2=rms_density_ma_cm2(settings, channel),
        power_density_w_cm2=power_density_w_cm2(settings, channel),
        pulses=plain_number(pulses) if settings.pattern == "continuous" else None,
        on_time_s=plain_number(on_time_s),
        contractions=counted.completed,
    )


def compute_dose(settings: Settings) -> Dose:
    """Works out the dose of a session; raises PlanError where the timing is impossible."""
    cycle = work_out_cycle(settings)
    pairs = zip(settings.channels, tally(settings, cycle), strict=True)
    return Dose(
        channels=tuple(_channel_dose(settings, channel, counted) for channel, counted in pairs),
        duty_percent=plain_number(100 * cycle.on_ms / cycle.cycle_ms),
    )
