"""Findings in words: what is named, and what is left out where there is none."""

from __future__ import annotations

from typing import Any

from tests.prescribing.invented import UNIT, T, known, typed_draft
from tests.stimulation.plans import plan
from webapp.prescribing.checking import check_draft
from webapp.prescribing.finding_words import finding_text
from webapp.stimulation.limits import check
from webapp.stimulation.plan import Channel
from webapp.therapist.plan_page import PlanPage


def _stops(unit: dict[str, Any], **typed: str) -> list[str]:
    checked = check_draft(typed_draft(**typed), known(stimulators={"1": unit}))
    return [finding_text(found.finding, "the ramp down", T) for found in checked.exercises[0].findings
            if found.finding.severity == "stop"]


def _with(name: str, **changed: object) -> dict[str, Any]:
    return {**UNIT, "settings": [changed | {"name": name} if one["name"] == name and changed else one
                                 for one in UNIT["settings"] if one["name"] != name or changed]}


def test_what_a_unit_lacks_is_named() -> None:
    """With what to do about it."""
    told = _stops(_with("ramp_down_s"))
    assert len(told) == 1
    assert told[0].startswith("This unit has no setting for the ramp down, and the plan asks for 1.")


def test_a_list_of_values_has_no_steps() -> None:
    """A range has."""
    listed = _with("rest_s", values=[10, 20], how="")
    assert _stops(listed) == ["This unit can't be set to a rest of 12 s. It takes 10, 20 s; the nearest: 10 / 20 s."]
    assert "It takes 1–30 s, in steps of 1; the nearest: 30 s." in _stops(UNIT, ex1__rest_s="45")[0]


def test_a_level_stands_without_a_unit() -> None:
    """Milliamperes with theirs."""
    assert _stops({**UNIT, "shows": "level"}, ex1__ch1__ceiling="20") == ["Channel 1: 22 is above the ceiling of 20."]
    assert _stops(UNIT, ex1__ch1__ceiling="20") == ["Channel 1: 22 mA is above the ceiling of 20 mA."]


def test_one_fault_is_one_finding_and_stops_come_first() -> None:
    """90 minutes on a unit that stops after 60, without full feeling: one stop, that field's caution under it."""
    typed = typed_draft(ex1__session_min="90", ex1__ramp_up_s="0", ex1__ch1__pad_a__sensation="less")
    unit = {**UNIT, "session_limit_min": 60}
    known_ = known(stimulators={"1": unit}, version=2)
    page = PlanPage(draft=typed, known=known_, checked=check_draft(typed, known_), t=T)
    first, *others = page.findings(1)
    assert (first.severity, first.field, [one.severity for one in first.more]) == (
        "stop", "ex1.session_min", ["caution"])
    assert [one.severity for one in others] == ["caution"]
    assert page.checked.stops == 1


def test_what_is_worked_out_is_rounded_as_beside_the_settings() -> None:
    """Unless that would make an excess look like none."""
    told = check_draft(typed_draft(ex1__two="1", ex1__rest_s="1.1"), known()).exercises[0].findings
    [duty] = [finding_text(one.finding, "", T) for one in told if one.finding.rule == "more_work_than_rest"]
    assert "works 87.9 % of the time" in duty
    strong = plan(channels=(Channel(intensity_ma=100, pad_cm2=4.998),), pulse_width_us=200, frequency_hz=25)
    [close] = [finding_text(one, "", T) for one in check(strong) if one.rule == "current_density"]
    assert close.startswith("Channel 1: 2.001 mA rms/cm²")
