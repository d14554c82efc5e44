"""An invented plan as a therapist types it: two channels that open and close a hand."""

from __future__ import annotations

from typing import Any

from webapp.prescribing.drafting import Known, Typed
from webapp.prescribing.editing import apply_action, new_draft
from webapp.translations import translator

T = translator("en")
UNIT: dict[str, Any] = {
    "format": "wattlebird.stimulator/1",
    "name": "Grey two-channel unit",
    "shows": "ma",
    "drives": ["cycled", "steady"],
    "settings": [
        {"name": "frequency_hz", "minimum": 1, "maximum": 100, "step": 1, "how": "first line"},
        {"name": "pulse_width_us", "minimum": 50, "maximum": 400, "step": 10, "how": ""},
        {"name": "rest_s", "minimum": 1, "maximum": 30, "step": 1, "how": ""},
        {"name": "hold_s", "minimum": 1, "maximum": 30, "step": 1, "how": ""},
        {"name": "ramp_up_s", "minimum": 0, "maximum": 5, "step": 0.5, "how": ""},
        {"name": "ramp_down_s", "minimum": 0, "maximum": 5, "step": 0.5, "how": ""},
        {"name": "delay_s", "minimum": 0, "maximum": 5, "step": 0.5, "how": ""},
        {"name": "session_min", "minimum": 1, "maximum": 60, "step": 1, "how": "last line"},
    ],
    "channels": [
        {"socket_side": "left", "control_side": "left", "lead_mark_a": "red lead", "lead_mark_b": "black lead"},
        {"socket_side": "right", "control_side": "right", "lead_mark_a": "white lead", "lead_mark_b": "grey lead"},
    ],
    "quickest_stop": "Press the round button once.",
    "ramps": "outside",
    "alternating_rest": "after_both",
    "delay_from": "contraction_end",
    "delay_effect": "shift",
    "starts_with": "rise",
    "at_end": "cut",
}
TYPED: Typed = {
    "ex1.ch1.intensity": "22",
    "ex1.ch1.ceiling": "28",
    "ex1.ch2.intensity": "18",
    "ex1.ch2.ceiling": "24",
    "ex1.hold_s": "6",
    "ex1.rest_s": "12",
    "ex1.session_min": "20",
    "ex1.task": "Reach for the blue cup",
    "cautions": "Not with the sore thumb",
    "ex1.skin_at_rest": "even, as on the other arm",
    **{f"ex1.ch{c}.{pad}.sensation": "full" for c in (1, 2) for pad in ("pad_a", "pad_b")},
    **{f"ex1.ch{c}.{name}": value for c, found in ((1, ("9", "14", "28")), (2, ("7", "12", "24")))
       for name, value in zip(("felt", "moved", "most"), found, strict=True)},
}


def known(**changed: Any) -> Known:
    """Gives what the invented clinic knows."""
    told: dict[str, Any] = {
        "client_code": "SL-07",
        "working_side": "right",
        "language": "en",
        "time_zone": "Europe/London",
        "today": "2026-11-24",
        "stimulators": {"1": UNIT},
        "emergency": "Call 999",
        "clinic_name": "Larkfield Therapy",
        "clinic_lines": ("3 Mill Lane",),
        "clinic_cautions": ("Never in the bath",),
        "call": {"who": "Imogen Vale", "phone": "0555 0101", "when": "Monday to Friday", "skin": "The same day"},
    }
    return Known(**{**told, **changed})


def typed_draft(**changed: str) -> Typed:
    """Gives a whole draft; `changed` names fields with double underscores for dots."""
    start = new_draft(known()) | {"ex1.movement": "open_hand", "ex1.stimulator": "1", "ex1.two": "2"}
    draft = apply_action(start, "restructure", known(), T) | TYPED
    return draft | {name.replace("__", "."): value for name, value in changed.items()}
