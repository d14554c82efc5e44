"""Worked examples of electrical dose, each from the definitions that the standards use.

Sources: the limits are those of IEC 60601-2-10:2012 (50 mA rms at 400 Hz or less and 300 mJ a pulse into 500 Ω; from
memory), of AS 60601.2.10:2018 clause 201.7.9.2.101 (2 mA/cm²; preview), and of the FDA's Guidance for Powered Muscle
Stimulator 510(k)s, 1999 (0.25 W/cm²; second-hand). The figures of the examples are derived: pure arithmetic of those
definitions, worked by hand beside each test.
"""

from __future__ import annotations

from itertools import pairwise
from math import pi, sqrt
from typing import Any

import pytest

from tests.stimulation.plans import plan
from webapp.stimulation.dose import (
    ChannelDose,
    compute_dose,
    phase_charge_uc,
    power_density_w_cm2,
    pulse_energy_mj,
    rms_density_ma_cm2,
)
from webapp.stimulation.hill import hill_points
from webapp.stimulation.limits import check
from webapp.stimulation.plan import Channel, Settings

ROUND_3_2_CM = pi * 1.6**2


def train(ma: float, us: float, hz: float, pad_cm2: float = 100, **different: Any) -> Settings:
    """Gives a plan of one pulse train."""
    return plan(channels=(Channel(intensity_ma=ma, pad_cm2=pad_cm2),), pulse_width_us=us, frequency_hz=hz, **different)


def dose(settings: Settings) -> ChannelDose:
    """Gives the dose of its channel."""
    return compute_dose(settings).channels[0]


def rules(settings: Settings) -> dict[str, str]:
    """Gives rule → severity of what is found."""
    return {finding.rule: finding.severity for finding in check(settings)}


def test_e1_monophasic_pulse_has_ten_microcoulombs_and_a_mean_direct_current() -> None:
    """40 mA, 250 µs, 35 Hz: 40·250/1000 = 10 µC; 10·35 = 350 µA."""
    charge = phase_charge_uc(train(40, 250, 35), Channel(intensity_ma=40, pad_cm2=25))
    assert charge == pytest.approx(10)
    assert charge is not None
    assert charge * 35 == pytest.approx(350)
    assert rules(train(40, 250, 35, waveform="monophasic"))["monophasic"] == "caution"


def test_e2_symmetric_pulse_has_the_same_charge_in_each_phase() -> None:
    """40 mA, 250 µs a phase: 10 µC a phase; net 0, so no caution of a direct current."""
    assert dose(train(40, 250, 35)).phase_charge_uc == pytest.approx(10)
    assert "monophasic" not in rules(train(40, 250, 35))


def test_e3_asymmetric_pulse_with_a_recovery_five_times_as_long() -> None:
    """60 mA × 200 µs, recovery 1000 µs at 12 mA, 40 Hz: √(40·(0.72 + 0.144)) = 5.879 mA rms; 12 µC a phase."""
    found = dose(train(60, 200, 40, waveform="asymmetric_biphasic", recovery_ratio=5))
    assert found.phase_charge_uc == pytest.approx(12)
    assert found.rms_ma == pytest.approx(5.879, abs=5e-4)


def test_e4_to_e6_rms_and_density_on_a_square_and_a_round_pad() -> None:
    """40·√(2·250e-6·35) = 5.292 mA rms; ÷ 25 cm² = 0.212; ÷ 8.042 cm² = 0.658 mA rms/cm²."""
    assert dose(train(40, 250, 35)).rms_ma == pytest.approx(5.292, abs=5e-4)
    assert dose(train(40, 250, 35, 25)).rms_density_ma_cm2 == pytest.approx(0.212, abs=5e-4)
    assert dose(train(40, 250, 35, ROUND_3_2_CM)).rms_density_ma_cm2 == pytest.approx(0.658, abs=5e-4)


def test_e7_amplitude_that_reaches_two_milliamperes_per_square_centimetre() -> None:
    """2·π·1.6²/√0.03 = 92.87 mA at 300 µs a phase and 50 Hz: just below passes, just above is cautioned."""
    assert 2 * ROUND_3_2_CM / sqrt(0.03) == pytest.approx(92.87, abs=5e-3)
    assert "current_density" not in rules(train(92.86, 300, 50, ROUND_3_2_CM))
    assert rules(train(92.88, 300, 50, ROUND_3_2_CM))["current_density"] == "caution"


def test_e8_power_into_500_ohm() -> None:
    """(0.0052915)²·500 = 0.0140 W; on 25 cm² 0.00056 W/cm²."""
    assert dose(train(40, 250, 35, 25)).power_density_w_cm2 == pytest.approx(0.00056, abs=5e-6)


def test_e9_train_near_the_density_limit_passes() -> None:
    """100 mA, 400 µs, 120 Hz on 16 cm²: 30.98 mA rms, 1.936 mA rms/cm², 0.030 W/cm²."""
    found = dose(train(100, 400, 120, 16))
    assert found.rms_ma == pytest.approx(30.98, abs=5e-3)
    assert found.rms_density_ma_cm2 == pytest.approx(1.936, abs=5e-4)
    assert found.power_density_w_cm2 == pytest.approx(0.030, abs=5e-4)
    assert "current_density" not in rules(train(100, 400, 120, 16))


def test_e10_half_lifted_pad_doubles_the_density() -> None:
    """80 mA, 300 µs, 50 Hz: 1.723 mA rms/cm² on 8.042 cm² passes, 3.446 on half of it does not."""
    whole, half = train(80, 300, 50, ROUND_3_2_CM), train(80, 300, 50, ROUND_3_2_CM / 2)
    assert dose(whole).rms_density_ma_cm2 == pytest.approx(1.723, abs=5e-4)
    assert dose(half).rms_density_ma_cm2 == pytest.approx(3.446, abs=5e-4)
    assert ("current_density" in rules(whole), "current_density" in rules(half)) == (False, True)


@pytest.mark.parametrize(("ma", "energy_mj"), [(100, 3.0), (1000, 300)])
def test_e11_and_e12_energy_of_a_pulse(ma: float, energy_mj: float) -> None:
    """0.1²·500·600e-6 = 3.0 mJ; 300 mJ need √(0.3/(500·600e-6)) = 1 A."""
    channel = Channel(intensity_ma=ma, pad_cm2=100)
    assert pulse_energy_mj(train(ma, 300, 50), channel) == pytest.approx(energy_mj)
    assert "pulse_energy" not in rules(train(ma, 300, 1))
    assert rules(train(1000.1, 300, 1))["pulse_energy"] == "stop"


def test_e13_mean_over_the_cycle_is_less_and_is_not_what_is_judged() -> None:
    """5.2915·√(10/30) = 3.055 mA rms over 10 s on and 20 s off; the train itself keeps 5.292."""
    settings = train(40, 250, 35, ramp_up_s=0, ramp_down_s=0, hold_s=10, rest_s=20)
    worked = compute_dose(settings)
    rms = worked.channels[0].rms_ma or 0
    assert rms * sqrt(worked.duty_percent / 100) == pytest.approx(3.055, abs=5e-4)
    assert rms == pytest.approx(5.292, abs=5e-4)


def test_e14_and_e15_limit_of_50_milliamperes_rms() -> None:
    """100 mA, 500 µs, 250 Hz are exactly 50.0 and pass; 150 mA, 400 µs, 150 Hz are 51.96 and are stopped."""
    assert dose(train(100, 500, 250)).rms_ma == pytest.approx(50)
    assert "rms_limit" not in rules(train(100, 500, 250))
    assert dose(train(150, 400, 150)).rms_ma == pytest.approx(51.96, abs=5e-3)
    assert rules(train(150, 400, 150))["rms_limit"] == "stop"


def test_e16_charge_of_a_contraction_with_linear_ramps() -> None:
    """20 µC·35·(10 + 1.5) = 8.05 mC, both phases: the area under the hill is 11.5 s of full strength."""
    settings = train(40, 250, 35, ramp_up_s=2, hold_s=10, ramp_down_s=1, rest_s=20)
    points = hill_points(settings, 1)
    area_s = sum((b[0] - a[0]) * (a[1] + b[1]) / 2 for a, b in pairwise(points)) / 1000
    charge = dose(settings).phase_charge_uc or 0
    assert 2 * charge * 35 * area_s / 1000 == pytest.approx(8.05)


def test_density_is_the_stricter_limit_up_to_125_square_centimetres() -> None:
    """At 2 mA rms/cm² the power density is 0.002·A W/cm²; 0.25 W/cm² is reached at 125 cm²."""
    for pad_cm2, share in ((25, 0.2), (125, 1.0)):
        channel = Channel(intensity_ma=2 * pad_cm2 / sqrt(2 * 500e-6 * 250), pad_cm2=pad_cm2)
        settings = plan(channels=(channel,), pulse_width_us=500, frequency_hz=250)
        assert rms_density_ma_cm2(settings, channel) == pytest.approx(2)
        assert power_density_w_cm2(settings, channel) == pytest.approx(0.25 * share)
