"""The dose where something is not known, and for channels with their own pulse."""

from __future__ import annotations

import pytest

from tests.stimulation.plans import plan
from webapp.stimulation.dose import compute_dose
from webapp.stimulation.plan import Channel


def test_level_without_milliamperes_gives_no_electrical_figure() -> None:
    """Never a guess; pulses and times are known all the same."""
    dose = compute_dose(plan(channels=(Channel(intensity_level=12, pad_cm2=25),))).channels[0]
    assert (dose.phase_charge_uc, dose.rms_ma, dose.rms_density_ma_cm2, dose.power_density_w_cm2) == (None,) * 4
    assert (dose.pulses, dose.on_time_s, dose.contractions) == (35 * 497, 497, 71)


def test_changing_pattern_gives_charge_but_no_pulses_rms_and_power() -> None:
    """Burst and modulated."""
    for pattern in ("burst", "modulated"):
        settings = plan(drive="steady", hold_s=None, rest_s=None, pattern=pattern)
        dose = compute_dose(settings).channels[0]
        assert dose.phase_charge_uc == pytest.approx(7.2)
        assert (dose.pulses, dose.rms_ma, dose.rms_density_ma_cm2, dose.power_density_w_cm2) == (None,) * 4
        assert dose.on_time_s == 1200


def test_channel_with_its_own_pulse_is_dosed_by_it() -> None:
    """Channel 2 at 20 Hz and 200 µs."""
    own = Channel(intensity_ma=24, pad_cm2=25, frequency_hz=20, pulse_width_us=200)
    first, second = compute_dose(plan(channels=(Channel(intensity_ma=24, pad_cm2=25), own))).channels
    assert [first.phase_charge_uc, second.phase_charge_uc] == pytest.approx([7.2, 4.8])
    assert second.rms_ma == pytest.approx(24 * (2 * 200e-6 * 20) ** 0.5)
    assert (first.pulses, second.pulses) == (35 * first.on_time_s, 20 * second.on_time_s)


def test_duty_is_that_of_one_channel_in_its_cycle() -> None:
    """7 of 17 s; in turns 7 of 24 s; steady all of it."""
    assert compute_dose(plan()).duty_percent == pytest.approx(700 / 17)
    assert compute_dose(plan(2, relation="alternating")).duty_percent == pytest.approx(700 / 24)
    assert compute_dose(plan(drive="steady", hold_s=None, rest_s=None)).duty_percent == 100
