"""Two generic stimulators of our own description; no make or model is meant."""

from __future__ import annotations

from typing import Any

Raw = dict[str, Any]


def _range(name: str, low: float, high: float, step: float, how: str = "") -> Raw:
    return {"name": name, "minimum": low, "maximum": high, "step": step, "how": how}


def _list(name: str, *values: float | str, how: str = "") -> Raw:
    return {"name": name, "values": list(values), "how": how}


TWO_CHANNELS: Raw = {
    "format": "wattlebird.stimulator/1",
    "name": "Two-channel unit, shows mA",
    "maker_note": "The clinic's lending pool: grey case, numbers 1 to 9 on the back.",
    "settings": [
        _list("relation", "together", "alternating", how="First page of the menu"),
        _range("frequency_hz", 1, 100, 1, "Second page"),
        _range("pulse_width_us", 50, 400, 10),
        _range("ramp_up_s", 0, 8, 0.5, "Third page: the shape"),
        _range("hold_s", 1, 30, 0.5),
        _range("ramp_down_s", 0, 8, 0.5),
        _range("rest_s", 0, 60, 1),
        _range("delay_s", 0, 10, 0.5),
        _range("session_min", 1, 60, 1, "Last page"),
        _range("intensity_ma", 0, 80, 1, "The two wheels"),
    ],
    "how_to_settings": "Hold the round key for three seconds. The left wheel chooses, the right wheel sets.",
    "stored_settings": "Your plan is kept under the star. Press the star once.",
    "quickest_stop": "Press the big round key once. Both sides stop at once.",
    "turn_one_down": "Turn the wheel on that side towards you.",
    "pause_does": "The small key below the round one. Both sides rest, and its minutes stand still.",
    "key_lock": "After half a minute the wheels only turn down. Press both small keys to turn up again.",
    "low_battery_sign": "The battery sign blinks.",
    "start_sign": "A light beside each socket comes on with the rise.",
    "channels": [
        {
            "socket_side": "left",
            "control_side": "left",
            "lead_mark_a": "white lead, plain plug",
            "lead_mark_b": "white lead, ringed plug",
        },
        {
            "socket_side": "right",
            "control_side": "right",
            "lead_mark_a": "grey lead, plain plug",
            "lead_mark_b": "grey lead, ringed plug",
        },
    ],
    "drives": ["cycled", "steady", "switched"],
    "switch_socket": "hand",
    "switch_does": "while_pressed",
    "ramps": "outside",
    "alternating_rest": "after_both",
    "delay_from": "contraction_end",
    "delay_effect": "shift",
    "starts_with": "rise",
    "at_end": "cut",
    "clock_from": "start",
    "pause_stops_clock": "yes",
    "strength_changes": "any_time",
    "lost_contact": "channel_to_zero",
    "settings_survive_off": "yes",
    "session_limit_min": 60,
    "shows": "ma",
}

ONE_CHANNEL: Raw = {
    "format": "wattlebird.stimulator/1",
    "name": "One-channel unit, shows levels",
    "maker_note": "What families often bring along. Its paper says nothing about milliamperes.",
    "settings": [
        _list("frequency_hz", 20, 30, 35, 40, 50, how="Press the wave key until the number is there"),
        _list("pulse_width_us", 200, 250, 300),
        _list("ramp_up_s", 1, 2, 3),
        _range("hold_s", 4, 20, 1),
        _list("ramp_down_s", 1, 2, 3),
        _range("rest_s", 4, 40, 1),
        _list("session_min", 10, 15, 20, 30, 45, 60),
        _range("intensity_level", 0, 25, 1, "Arrow up and arrow down"),
    ],
    "how_to_settings": "With the strength at 0, press the wave key. Each press goes one line on; the arrows set it.",
    "stored_settings": "",
    "quickest_stop": "Hold the arrow down until it shows 0. Then slide the switch on its side to off.",
    "turn_one_down": "Press the arrow down.",
    "pause_does": "",
    "key_lock": "",
    "low_battery_sign": "It beeps three times.",
    "start_sign": "A wave moves on its screen with the rise.",
    "channels": [
        {"socket_side": "top", "control_side": "front", "lead_mark_a": "dotted end", "lead_mark_b": "plain end"}
    ],
    "drives": ["cycled"],
    "switch_socket": "none",
    "switch_does": "none",
    "ramps": "inside",
    "alternating_rest": "unknown",
    "delay_from": "unknown",
    "delay_effect": "unknown",
    "starts_with": "rise",
    "at_end": "unknown",
    "clock_from": "unknown",
    "pause_stops_clock": "unknown",
    "strength_changes": "any_time",
    "lost_contact": "unknown",
    "settings_survive_off": "no",
    "session_limit_min": 60,
    "shows": "level",
}
