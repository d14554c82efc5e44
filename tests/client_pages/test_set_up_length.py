"""The set-up of a day: whole in the first weeks and after a change, else short; the look half-way without feeling."""

from __future__ import annotations

from typing import Any

import pytest

from tests.client_pages.phone_modules import evaluate

DAY_MIN = 1440
NOON = 20_781 * DAY_MIN + 720  # 2026-11-24
HAND = {"exercise": 1, "short_steps_from": "2026-11-20", "settings_stay": True}
PLAN = {"version": 2}


def session(version: int = 2, exercise: int = 1, cued_s: int = 600) -> dict[str, Any]:
    return {"kind": "session", "record": {"version": version, "exercise": exercise, "cued_s": cued_s}}


def changed(what: int) -> dict[str, Any]:
    return {"kind": "changed", "record": {"what": what}}


def length(log: list[dict[str, Any]], **other: Any) -> tuple[bool, bool]:
    found = evaluate("set_up_length", "m.setUpLength(exercise, plan, log, now)", exercise=HAND | other, plan=PLAN,
                     log=log, now=NOON)
    return found["short"], found["check"]


def test_the_short_set_up_comes_with_its_day() -> None:
    """Not before it, and never where no day is given; the unit's settings are then not compared."""
    assert length([session()]) == (True, False)
    assert length([session()], short_steps_from="2026-11-25") == (False, True)
    assert length([session()], short_steps_from="") == (False, True)


@pytest.mark.parametrize("log", [
    [], [session(version=1)], [session(), changed(2)], [session(), changed(3)], [session(cued_s=0)],
    [session(exercise=2)],
])  # fmt: skip
def test_after_a_change_all_steps_and_the_check_come_back(log: list[dict[str, Any]]) -> None:
    """A new version, a battery, settings set anew, nothing practised yet."""
    assert length(log) == (False, True)


def test_they_come_back_once_only() -> None:
    """After the next session the set-up is short again; new pads change nothing of it."""
    assert length([changed(2), session()]) == (True, False)
    assert length([session(), changed(1)]) == (True, False)


def test_a_unit_that_may_forget_its_settings_is_always_looked_at() -> None:
    """What is not known to stay is compared each time."""
    assert length([session()], settings_stay=False) == (True, True)


@pytest.mark.parametrize(("draft", "at"), [
    ({"planned_s": 600, "cued_ms": 0}, 300_000), ({"planned_s": 600, "cued_ms": 120_000}, 300_000),
    ({"planned_s": 600, "cued_ms": 300_000}, 0), ({"planned_s": 900, "cued_ms": 0}, 0),
])  # fmt: skip
def test_first_sessions_without_feeling_stop_half_way_once(draft: dict[str, int], at: int) -> None:
    """Ten minutes or less; what comes after the look runs to the end."""
    assert evaluate("half_way", "m.lookAtMs({look_half_way: true}, draft)", draft=draft) == at
    assert evaluate("half_way", "m.lookAtMs({look_half_way: false}, draft)", draft=draft) == 0


def test_the_last_cue_before_the_look_says_so() -> None:
    """It has no words of the end to speak, and tells no minutes."""
    sheet = {"session_ms": 600_000, "channels": [{"channel": 1, "contractions": 60, "on_ms": 1, "hill": []}],
             "phrases": [{"phase": "rise", "text": "Now", "clip": "c-1"},
                         {"phase": "halfway", "text": "Half", "clip": "c-2"},
                         {"phase": "finished", "text": "The end", "clip": "c-3"}],
             "cues": [[0, 0, 900, 1, 2, 0, 0, 0, 0], [290_000, 0, 299_000, 30, 2, 29, 0, 9, 0],
                      [300_000, 1, 300_900, 30, 2, 29, 0, 9, 0], [310_000, 0, 319_000, 31, 2, 30, 0, 9, 0],
                      [600_000, 2, 600_000, 60, 2, 60, 0, 9, 0]]}  # fmt: skip
    cut = evaluate("half_way", "m.sheetToLook(sheet, 300000, 'Look')", sheet=sheet)
    assert cut["session_ms"] == cut["cues"][-1][0] == 300_000
    last = cut["phrases"][cut["cues"][-1][1]]
    assert (last["text"], last["clip"]) == ("Look", "")
    assert [cut["phrases"][cue[1]]["phase"] for cue in cut["cues"]] == ["rise", "rise", "finished"]
