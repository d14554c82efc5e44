"""Who leads: the plan through each phase, the client at their own pace, or nobody on a walk; and what a page shows."""

from __future__ import annotations

from typing import Any

import pytest

from tests.client_pages.invented_plan import FOOT, invented_plan
from webapp.client.packing import pack_environment
from webapp.client.pages import render_pages
from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.issuing import compile_plan, cue_sheet
from webapp.translations import translator

T = translator("en")
WALKING, OWN = {"walking": True}, {"pace": "own"}
FOOT_SWITCH = {"stimulator": FOOT["stimulator"] | {"switch_socket": "foot"}}


def timer(changed: dict[str, Any]) -> tuple[dict[str, Any], str]:
    """Gives the cue sheet and the timer page of a switched exercise with something different."""
    plan = invented_plan()
    exercise = {**plan["exercises"][1], **changed}
    plan["exercises"] = [exercise]
    sheet: dict[str, Any] = dict(write_cue_sheet(cue_sheet(exercise, {}, T)))
    pages = render_pages(pack_environment(T, "en"), plan, compile_plan(plan), T, cue_sheets=[sheet])
    return sheet, pages["timer-2"]


def told(sheet: dict[str, Any]) -> list[tuple[int, str, str]]:
    phrases = sheet["phrases"]
    return [(row[0], phrases[row[1]]["phase"], phrases[row[1]]["text"]) for row in sheet["cues"]]


def test_the_plans_pace_leads_each_press() -> None:
    """The sheet says when to press and press again, and counts each contraction; the page shows its hill."""
    sheet, page = timer({})
    assert told(sheet)[0][1:] == ("rise", "Press the switch. Lift your foot")
    assert sheet["cues"][-1][5] == sheet["channels"][0]["contractions"] > 0
    assert "data-hill" in page
    assert "data-count-one" not in page


def test_at_their_own_pace_only_the_time_is_told_and_the_client_counts() -> None:
    """Start, half, the last minute, the end; nothing is counted that nobody led."""
    sheet, page = timer(OWN)
    assert [row[:2] for row in told(sheet)] == [
        (0, "rise"), (300_000, "halfway"), (540_000, "one_minute"), (600_000, "finished")]
    assert {tuple(row[5:]) for row in sheet["cues"]} == {(0, 0, 0, 0)}
    assert "data-count-one" in page
    assert "data-hill" not in page


@pytest.mark.parametrize("walks", [WALKING, FOOT_SWITCH, {**FOOT_SWITCH, **OWN}])
def test_on_a_walk_the_phone_is_in_the_pocket(walks: dict[str, Any]) -> None:
    """Start, half-time and end only; no hill, no count-down, no taps; how to stop the unit is on the sheet before."""
    sheet, page = timer(walks)
    assert told(sheet) == [(0, "rise", "Start now. Walk as you have learned."),
                           (300_000, "halfway", "Half of the time is done."),
                           (600_000, "finished", "Time is up. Your unit may still be on.")]
    assert "data-hill" not in page
    assert '<div class="count" hidden>' in page
    assert "Put the phone in your pocket" in page
    assert "Press the big round button 1 time." in page.split('data-sheet="pocket"')[1]


def test_two_channels_have_a_hill_each_and_the_movements_names() -> None:
    """Cues name what each channel does, not its number."""
    plan = invented_plan()
    sheet: dict[str, Any] = dict(write_cue_sheet(cue_sheet(plan["exercises"][0], {}, T)))
    page = render_pages(pack_environment(T, "en"), plan, compile_plan(plan), T, cue_sheets=[sheet])["timer-1"]
    assert page.count("data-hill") == 2
    rises = {tuple(phrase["channels"]): phrase["text"] for phrase in sheet["phrases"] if phrase["phase"] == "rise"}
    assert rises == {(1,): "Starting: reach and open", (2,): "Now close your hand"}
    assert "opening the hand" in page
    assert "closing the hand" in page


@pytest.mark.parametrize(("unit", "sensory_loss", "words"), [
    ({"start_sign": ""}, False, "Tap when you feel it start"), ({"start_sign": ""}, True, "Tap when you see it move"),
    ({"start_sign": "a green light by the wheel"}, True, "Tap when you see its sign"),
])  # fmt: skip
def test_a_tap_is_asked_for_what_the_client_can_notice(unit: dict[str, str], sensory_loss: bool, words: str) -> None:
    """The feeling; with sensory loss the movement; best the unit's own sign, which is named."""
    cycled = {"settings": {**FOOT["settings"], "drive": "cycled"}, "sensory_loss": sensory_loss,
              "stimulator": FOOT["stimulator"] | unit}
    _sheet, page = timer(cycled)
    assert f">{words}</button>" in page
    assert ("Tap again at its sign: a green light by the wheel" in page) == bool(unit["start_sign"])
