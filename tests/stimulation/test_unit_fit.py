"""What a plan asks that a unit can't do, with the nearest values that it can."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.stimulation.plans import plan
from webapp.stimulation.finding import Finding
from webapp.stimulation.limits import check
from webapp.stimulation.plan import Channel, Settings
from webapp.stimulation.stimulator import Settable, Stimulator, UnitChannel
from webapp.translations import catalogue, translator


def unit(**different: Any) -> Stimulator:
    """Gives a unit that takes the plain plan, with something different."""
    settings = (
        Settable(name="frequency_hz", minimum=5, maximum=80, step=5),
        Settable(name="pulse_width_us", values=(200, 250, 300)),
        Settable(name="session_min", minimum=5, maximum=60, step=5),
        Settable(name="ramp_up_s", minimum=0, maximum=5, step=0.5),
        Settable(name="hold_s", minimum=1, maximum=60, step=1),
        Settable(name="ramp_down_s", minimum=0, maximum=5, step=0.5),
        Settable(name="rest_s", minimum=1, maximum=60, step=1),
        Settable(name="delay_s", minimum=0, maximum=5, step=0.1),
        Settable(name="intensity_ma", minimum=0, maximum=80, step=0.5),
    )
    plain = Stimulator(
        name="A training unit",
        channels=(UnitChannel(), UnitChannel()),
        drives=("cycled", "steady"),
        settings=settings,
        quickest_stop="Press the round button.",
    )
    return replace(plain, **different)


def only(settings: Settings, stimulator: Stimulator) -> Finding:
    """Gives the one stop that there is."""
    (found,) = [f for f in check(settings, stimulator) if f.severity == "stop"]
    return found


def test_unit_that_can_do_everything_has_no_findings() -> None:
    """Unknown behaviours stop nothing."""
    assert check(plan(2), unit()) == ()


@pytest.mark.parametrize(
    ("different", "rule", "nearest"),
    [
        ({"frequency_hz": 33}, "unit_frequency_hz", (30, 35)),
        ({"frequency_hz": 82}, "unit_frequency_hz", (80,)),
        ({"frequency_hz": 4}, "unit_frequency_hz", (5,)),
        ({"pulse_width_us": 220}, "unit_pulse_width_us", (200, 250)),
        ({"session_min": 62}, "unit_session_min", (60,)),
        ({"session_min": 12}, "unit_session_min", (10, 15)),
        ({"ramp_up_s": 0.8}, "unit_ramp_up_s", (0.5, 1.0)),
        ({"hold_s": 4.5}, "unit_hold_s", (4, 5)),
        ({"ramp_down_s": 5.1}, "unit_ramp_down_s", (5,)),
        ({"rest_s": 61}, "unit_rest_s", (60,)),
        ({"drive": "switched"}, "unit_drive", ("cycled", "steady")),
    ],
)
def test_value_that_can_not_be_set_stops_and_names_the_nearest(
    different: dict[str, Any], rule: str, nearest: tuple[float, ...]
) -> None:
    """Below and above, within the range and in its steps."""
    found = only(plan(**different), unit())
    assert (found.rule, found.source, found.nearest) == (rule, "unit", nearest)


def test_steps_of_a_tenth_are_met_in_spite_of_binary_fractions() -> None:
    """0.1 · 3 is not 0.3 in binary."""
    for tenths in range(51):
        assert check(plan(2, delay_s=tenths / 10), unit()) == ()


def test_strength_and_channels_are_the_units() -> None:
    """Half milliamperes up to 80; two channels; milliamperes, not levels."""
    odd = Channel(intensity_ma=24.3, pad_cm2=25)
    assert only(plan(channels=(odd,)), unit()).nearest == (24, 24.5)
    assert only(plan(2), unit(channels=(UnitChannel(),))).rule == "unit_channels"
    assert only(plan(), unit(shows="level")).rule == "unit_shows"


def test_channel_with_its_own_pulse_is_looked_at_too() -> None:
    """Its field is named."""
    own = Channel(intensity_ma=24, pad_cm2=25, frequency_hz=33)
    found = only(plan(channels=(own,)), unit())
    assert (found.rule, found.field) == ("unit_frequency_hz", "channels[0].frequency_hz")


def test_setting_that_the_unit_does_not_have_stops_unless_it_is_zero() -> None:
    """A plan without ramps needs no setting for them."""
    bare = unit(settings=tuple(one for one in unit().settings if not one.name.startswith("ramp")))
    found = [f for f in check(plan(), bare) if f.severity == "stop"]
    assert [(f.rule, f.field) for f in found] == [
        ("unit_lacks_setting", "ramp_up_s"),
        ("unit_lacks_setting", "ramp_down_s"),
    ]
    assert [f.rule for f in check(plan(ramp_up_s=0, ramp_down_s=0), bare)] == ["short_ramp_up"]


@pytest.mark.parametrize(
    ("behaviour", "settings", "rule"),
    [
        ({"ramps": "inside"}, plan(), "unit_ramps"),
        ({"alternating_rest": "within_rest"}, plan(2, relation="alternating"), "unit_alternating_rest"),
        ({"delay_from": "hold_end"}, plan(2, relation="alternating"), "unit_delay_from"),
        ({"delay_effect": "shorten"}, plan(2, delay_s=1), "unit_delay_effect"),
        ({"starts_with": "rest"}, plan(), "unit_starts_with"),
        ({"at_end": "finish_contraction"}, plan(), "unit_at_end"),
    ],
)
def test_behaviour_that_is_another_stops(behaviour: dict[str, str], settings: Settings, rule: str) -> None:
    """The plan has to name the unit's own, which is the nearest value."""
    found = only(settings, unit(**behaviour))
    assert (found.rule, found.nearest) == (rule, tuple(behaviour.values()))


def test_behaviour_that_makes_no_difference_stops_nothing() -> None:
    """No ramps, one channel, no delay; a unit that goes on at the end."""
    other = unit(
        ramps="inside", alternating_rest="within_rest", delay_effect="shorten", delay_from="hold_end", at_end="goes_on"
    )
    assert [f.rule for f in check(plan(ramp_up_s=0, ramp_down_s=0), other)] == ["short_ramp_up"]


def test_switch_needs_a_socket_and_its_pace_is_not_set() -> None:
    """Hold and rest are suggested where a hand gives the pace."""
    by_hand = plan(drive="switched", hold_s=4.5, rest_s=10.5)
    assert only(by_hand, unit(drives=("switched",))).rule == "unit_switch"
    assert check(by_hand, unit(drives=("switched",), switch_socket="hand")) == ()


def test_unit_that_stops_sooner_stops_the_plan() -> None:
    """Its own limit of minutes."""
    assert only(plan(session_min=20), unit(session_limit_min=15)).nearest == (15,)


def test_every_finding_about_a_unit_has_its_texts() -> None:
    """For every setting and behaviour."""
    t, known = translator("en"), catalogue("en")
    params = {"value": "1", "limit": "2", "nearest_text": "3", "steps": ", in steps of 4", "field": "y", "path": "x"}
    about_units = [key for key in known if key.startswith("finding.unit_")]
    assert len(about_units) >= 48
    for key in about_units:
        assert "{" not in t(key, **params)
