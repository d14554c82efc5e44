"""An invented plan with every kind of exercise: two channels in turn, one with a switch, one without a cycle."""

from __future__ import annotations

from typing import Any

from webapp.prescribing.set_up_steps import set_up_steps
from webapp.translations import translator

FIRST_DAY, LAST_DAY = "2026-11-24", "2027-01-19"
SQUARE = {"width_cm": 5, "height_cm": 5, "shape": "square"}
ROUND = {"width_cm": 5, "height_cm": 5, "shape": "round"}

UNIT: dict[str, Any] = {
    "format": "wattlebird.stimulator/1", "name": "Two-channel unit, grey",
    "settings": [
        {"name": "frequency_hz", "minimum": 1, "maximum": 100, "step": 1, "how": "Menu, first line"},
        {"name": "pulse_width_us", "minimum": 50, "maximum": 400, "step": 10, "how": "Menu, line 2"},
        {"name": "ramp_up_s", "minimum": 0, "maximum": 8, "step": 1, "how": "Menu, line 3"},
        {"name": "hold_s", "minimum": 1, "maximum": 30, "step": 1, "how": "Menu, line 4"},
        {"name": "rest_s", "minimum": 1, "maximum": 60, "step": 1, "how": "Menu, line 5"},
        {"name": "session_min", "minimum": 1, "maximum": 60, "step": 1, "how": "Menu, line 6"},
        {"name": "intensity_ma", "minimum": 0, "maximum": 99, "step": 1, "how": "The wheels"},
    ],
    "channels": [
        {"socket_side": "left", "control_side": "left", "lead_mark_a": "red", "lead_mark_b": "black"},
        {"socket_side": "right", "control_side": "right", "lead_mark_a": "red", "lead_mark_b": "black"},
    ],
    "drives": ["cycled", "switched", "steady"], "quickest_stop": "Press the big round button 1 time.",
    "turn_one_down": "Turn its wheel to you.",
    "pause_does": "The round button stops both sides and keeps the strength.",
    "start_sign": "a green light by the wheel", "low_battery_sign": "a red light that blinks",
    "how_to_settings": "Hold the menu key for 3 seconds.", "stored_settings": "", "key_lock": "",
    "ramps": "outside", "alternating_rest": "after_both", "delay_from": "contraction_end", "delay_effect": "shift",
    "starts_with": "rise", "at_end": "cut", "clock_from": "start", "pause_stops_clock": "unknown",
    "strength_changes": "any_time", "lost_contact": "both_to_zero", "settings_survive_off": "yes", "shows": "ma",
    "switch_socket": "hand", "switch_does": "press_on_press_off",
}  # fmt: skip

HAND: dict[str, Any] = {
    "exercise": 1, "title": "Opening and closing the hand", "movement": "open_hand", "side": "left",
    "muscles": ["finger extensors", "finger flexors"],
    "settings": {
        "format": "wattlebird.plan/1", "drive": "cycled", "frequency_hz": 35, "pulse_width_us": 250, "session_min": 20,
        "ramp_up_s": 1, "hold_s": 6, "ramp_down_s": 1, "rest_s": 12, "relation": "alternating", "delay_s": 1,
        "channels": [{"intensity_ma": 22, "pad_cm2": 25}, {"intensity_ma": 18, "pad_cm2": 25}],
    },
    "stimulator": UNIT,
    "channels": [
        {"name": "opening the hand", "muscle": "finger extensors", "ceiling_ma": 28, "second_place": "",
         "view": "forearm_back", "pads": [
            {"place": "Back of the arm, a hand below the elbow", "mark": "red lead", "x_mm": 98, "y_mm": 384,
             **SQUARE},
            {"place": "Back of the arm, 3 fingers above the wrist", "mark": "black lead", "x_mm": 107, "y_mm": 282,
             **SQUARE}]},
        {"name": "closing the hand", "muscle": "finger flexors", "ceiling_ma": 24, "second_place": "",
         "view": "forearm_palm", "pads": [
            {"place": "Palm side of the arm, near the elbow", "mark": "red lead", "x_mm": 94, "y_mm": 396, **ROUND},
            {"place": "Palm side of the arm, half way down", "mark": "black lead", "x_mm": 104, "y_mm": 294, **ROUND}]},
    ],
    "wording": [
        {"rise": "Starting: reach and open", "hold": "Keep it open", "ease": "Letting go", "rest": "Rest now"},
        {"rise": "Now close your hand", "hold": "Keep it closed", "ease": "Letting go", "rest": "Rest now"},
    ],
    "ready": False, "task": "Reach for a cup and open your hand round it",
    "looks_right": "The fingers open and the wrist lifts a little.", "set_up_steps": [], "times_a_day": 2,
    "days": [1, 2, 3, 4, 5, 6, 7], "slots": ["morning", "afternoon"], "minutes_by_date": [],
}  # fmt: skip

FOOT: dict[str, Any] = {
    **HAND, "exercise": 2, "title": "Lifting the foot", "movement": "ankle_dorsiflexion", "sensory_loss": True,
    "short_steps_from": FIRST_DAY,
    "muscles": ["front of the shin"],
    "settings": {
        "format": "wattlebird.plan/1", "drive": "switched", "frequency_hz": 40, "pulse_width_us": 300,
        "session_min": 10,        "ramp_up_s": 0.5, "hold_s": 5, "ramp_down_s": 0.5, "rest_s": 8,
        "channels": [{"intensity_ma": 30, "pad_cm2": 25}],
    },
    "channels": [{"name": "lifting the foot", "muscle": "front of the shin", "ceiling_ma": 40,
                  "second_place": "2 fingers lower on the shin.", "view": "lower_leg_outer", "pads": [
                      {"place": "Just below the outer knee", "mark": "red lead", "x_mm": 126, "y_mm": 548, **SQUARE},
                      {"place": "Front of the shin, a hand lower", "mark": "black lead", "x_mm": 146, "y_mm": 650,
                       **SQUARE}]}],
    "wording": [{"rise": "Lift your foot", "hold": "Keep it up", "ease": "Letting go", "rest": "Rest now"}],
    "task": "Lift your toes as if to step", "looks_right": "The foot lifts and does not turn.", "times_a_day": 1,
    "slots": ["afternoon"],
}  # fmt: skip

SHOULDER: dict[str, Any] = {
    **HAND, "exercise": 3, "title": "Easing the sore shoulder", "movement": "shoulder_subluxation",
    "muscles": ["shoulder"],
    "settings": {"format": "wattlebird.plan/1", "drive": "steady", "frequency_hz": 100, "pulse_width_us": 100,
                 "session_min": 30, "channels": [{"intensity_level": 12, "pad_cm2": 25}]},
    "channels": [{"name": "the shoulder", "muscle": "shoulder", "ceiling_level": 20, "second_place": "", "pads": [
        {"place": "Front of the shoulder", "mark": "red lead", **SQUARE},
        {"place": "Back of the shoulder", "mark": "black lead", **SQUARE}]}],
    "wording": [{"rise": "It starts", "hold": "It goes on", "ease": "It eases", "rest": "Rest now"}],
    "task": "Sit and rest your arm", "looks_right": "You feel a soft tingle.", "times_a_day": 1, "slots": ["evening"],
}  # fmt: skip


def invented_plan() -> dict[str, Any]:
    """Gives a complete wattlebird.issued/1 with generated set-up steps and a change of the unit's settings."""
    t = translator("en")
    exercises = [{**each, "set_up_steps": set_up_steps(each, "right", t)} for each in (HAND, FOOT, SHOULDER)]
    return {
        "format": "wattlebird.issued/1", "client_code": "SL-07", "plan": 1, "version": 2, "language": "en",
        "issued_on": FIRST_DAY, "first_day": FIRST_DAY, "last_day": LAST_DAY, "working_side": "right",
        "least_hours_between": 4, "most_per_day": 2, "time_zone": "Europe/London",
        "asks": {"pain": "each", "effort": "each", "help": "each", "note": "each", "skin_later": "each"},
        "exercises": exercises, "cautions": ["Keep the pads off the old scar."],
        "call": {"who": "Imke Vale", "phone": "020 7946 0000", "when": "Monday to Friday, 9 to 4.",
                 "skin": "For a burn, call the same day."},
        "dysreflexia": True, "helper": "sometimes", "overrides": [],
        "emergency": "In danger call 999.", "clinic": {"name": "Saltmarsh Lane Rehab", "lines": ["3 Mill Lane"]},
        "changes": [{"version": 2, "words": ["20 minutes, before 15", "The rest is longer"], "unit_changed": True,
                     "unit_steps": ["Set the rest to 12 seconds", "Set the minutes to 20"]}],
    }  # fmt: skip
