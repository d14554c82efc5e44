"""A plan's draft: the form as typed, read as an issued plan.

A draft is flat: field name → text (or texts, where several may be ticked), exactly as typed, however incomplete.
Names: `first_day`; `ex1.rest_s`; `ex1.ch2.ceiling`; `ex1.ch2.pad_a.place`; `ex1.step3.text`; `ex1.build1.from`;
`ex1.ch1.say_rise`, spoken as `ex1.ch1.as_rise` or by the recording `ex1.ch1.own_rise`. Exercises count from 1 without a
gap (`exercises` says how many), as do steps and build-up rows.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from webapp.prescribing.tested import Tried

Typed = dict[str, str | list[str]]
Raw = dict[str, Any]

NUMBERS = (
    "frequency_hz",
    "pulse_width_us",
    "recovery_ratio",
    "session_min",
    "ramp_up_s",
    "hold_s",
    "ramp_down_s",
    "rest_s",
    "delay_s",
)
CONVENTIONS = ("ramps", "delay_effect", "delay_from", "alternating_rest", "starts_with", "at_end")
CHOICES = ("drive", "waveform", "pattern", "relation")
PHASES = ("rise", "hold", "ease", "rest")
SLOTS = ("morning", "midday", "afternoon", "evening")
ASKS = ("pain", "effort", "help", "note", "skin_later")
PADS = ("pad_a", "pad_b")
TRIAL = {"felt": "first_feeling", "moved": "first_movement", "most": "comfortable_most"}
MOST_EXERCISES, MOST_STEPS, MOST_BUILD = 4, 30, 12
ELECTRICAL_ONLY = frozenset({"waveform", "pattern", "recovery_ratio"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What a plan takes from elsewhere: the client, the clinic, its stimulators (id → wattlebird.stimulator/1)."""

    client_code: str
    working_side: str
    language: str
    time_zone: str
    today: str
    version: int = 1
    stimulators: Mapping[str, Raw] = field(default_factory=dict)
    pads_sessions: int = 0
    own_starts: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    call: Mapping[str, str] = field(default_factory=dict)
    emergency: str = ""
    clinic_name: str = ""
    clinic_lines: tuple[str, ...] = ()
    clinic_cautions: tuple[str, ...] = ()
    tested: Mapping[int, Tried] = field(default_factory=dict)
    tested_days: int = 180


def text(draft: Mapping[str, str | list[str]], name: str) -> str:
    """Reads one field as typed, without the spaces around it."""
    value = draft.get(name, "")
    return (value[0] if value else "").strip() if isinstance(value, list) else value.strip()


def texts(draft: Mapping[str, str | list[str]], name: str) -> list[str]:
    """Reads a field where several may be ticked."""
    value = draft.get(name, [])
    return list(value) if isinstance(value, list) else [value] if value else []


def number(typed: str) -> float | int | str:
    """Reads a number as people write it ("1,5" too); what is none stays as typed, for the reader to name."""
    plain = typed.replace(",", ".")
    if not re.fullmatch(r"[-+]?\d+(\.\d*)?|[-+]?\.\d+", plain):
        return typed
    value = float(plain)
    return int(value) if value.is_integer() else value


def exercise_count(draft: Mapping[str, str | list[str]]) -> int:
    """Tells how many exercises a draft has."""
    typed = text(draft, "exercises")
    return min(int(typed), MOST_EXERCISES) if typed.isdigit() and int(typed) else 1


def channel_count(draft: Typed, ex: str) -> int:
    """Tells how many channels an exercise uses."""
    return 2 if text(draft, f"{ex}.two") == "2" else 1


def rows(draft: Mapping[str, str | list[str]], prefix: str, most: int) -> int:
    """Counts numbered rows (`ex1.step1.text`, …): the highest number that is there."""
    pattern = re.compile(re.escape(prefix) + r"(\d+)\.")
    found = [int(m.group(1)) for name in draft if (m := pattern.match(name))]
    return min(max(found, default=0), most)


def set_by_unit(stimulator: Mapping[str, Any], name: str) -> str | None:
    """Gives how a unit behaves where the therapist has no choice: known, and not in its own menu."""
    if any(each["name"] == name for each in stimulator.get("settings", ())):
        return None
    behaviour = str(stimulator.get(name, "unknown"))
    return {"unknown": None, "goes_on": "cut"}.get(behaviour, behaviour)


def shown_settings(draft: Typed, ex: str, stimulator: Mapping[str, Any]) -> list[str]:
    """Names the settings that apply to an exercise as it stands, conventions that the unit fixes left out."""
    two, drive = channel_count(draft, ex) == 2, text(draft, f"{ex}.drive")
    alternating = two and text(draft, f"{ex}.relation") == "alternating"
    names = ["frequency_hz", "pulse_width_us", "session_min", "ramp_up_s"]
    if drive != "steady":
        names += ["hold_s", "ramp_down_s", "rest_s"] + (["delay_s"] if two else [])
        names += (["relation"] if two else []) + ["ramps", "starts_with", "at_end"]
        names += (["alternating_rest", "delay_from"] if alternating else ["delay_effect"]) if two else []
    names += ["waveform"] + (["recovery_ratio"] if text(draft, f"{ex}.waveform") == "asymmetric_biphasic" else [])
    names += ["pattern"] if drive == "steady" else []
    return [n for n in names if n not in CONVENTIONS or set_by_unit(stimulator, n) is None]


def _settings(draft: Typed, ex: str, stimulator: Mapping[str, Any]) -> Raw:
    names = shown_settings(draft, ex, stimulator)
    raw: Raw = {"format": "wattlebird.plan/1", "drive": text(draft, f"{ex}.drive")}
    for name in names:
        if typed := text(draft, f"{ex}.{name}"):
            raw[name] = number(typed) if name in NUMBERS else typed
    for name in CONVENTIONS:
        fixed = set_by_unit(stimulator, name)
        if fixed is not None and _matters(name, raw, channel_count(draft, ex)):
            raw[name] = fixed
    channels = range(1, channel_count(draft, ex) + 1)
    return raw | {"channels": [_dosed(draft, f"{ex}.ch{n}", stimulator) for n in channels]}


def _matters(name: str, settings: Mapping[str, Any], channels: int) -> bool:
    if settings["drive"] == "steady":
        return False
    alternating = channels == 2 and settings.get("relation") == "alternating"
    needs = {
        "delay_effect": channels == 2 and not alternating,
        "delay_from": alternating,
        "alternating_rest": alternating,
    }
    return needs.get(name, True)


def _dosed(draft: Typed, ch: str, stimulator: Mapping[str, Any]) -> Raw:
    raw: Raw = {}
    measure = "intensity_level" if stimulator.get("shows") == "level" else "intensity_ma"
    for name, own in (("intensity", measure), ("frequency_hz", "frequency_hz"), ("pulse_width_us", "pulse_width_us")):
        if typed := text(draft, f"{ch}.{name}"):
            raw[own] = number(typed)
    areas = [pad_cm2(draft, f"{ch}.{pad}") for pad in PADS]
    if known := [area for area in areas if area is not None]:
        raw["pad_cm2"] = min(known)
    return raw


def pad_cm2(draft: Typed, pad: str) -> float | None:
    """Works out a pad's area from its size: width × height, of a round one π/4 of that."""
    width, height = (number(text(draft, f"{pad}.{name}")) for name in ("width_cm", "height_cm"))
    if isinstance(width, str) or isinstance(height, str) or width <= 0 or height <= 0:
        return None
    area = width * height * (0.785398 if text(draft, f"{pad}.shape") == "round" else 1)
    return round(area, 2)


def _channel(draft: Typed, ch: str, stimulator: Mapping[str, Any]) -> Raw:
    raw: Raw = {name: text(draft, f"{ch}.{name}") for name in ("name", "muscle", "second_place")}
    if typed := text(draft, f"{ch}.ceiling"):
        raw["ceiling_level" if stimulator.get("shows") == "level" else "ceiling_ma"] = number(typed)
    if typed := text(draft, f"{ch}.apart_cm"):
        raw["pads_apart_cm"] = number(typed)
    if trial := _trial(draft, ch):
        raw["trial"] = trial
    raw |= {name: shown for name in ("view", "photo") if (shown := text(draft, f"{ch}.{name}"))}
    if "photo" in raw:
        raw["photo_height"] = number(text(draft, f"{ch}.photo_height"))
    return raw | {"pads": [_pad(draft, f"{ch}.{pad}", raw) for pad in PADS]}


def _trial(draft: Typed, ch: str) -> Raw:
    raw: Raw = {own: number(typed) for name, own in TRIAL.items() if (typed := text(draft, f"{ch}.{name}"))}
    return raw | ({"movement_seen": False} if text(draft, f"{ch}.no_movement") == "yes" else {})


def _pad(draft: Typed, pad: str, channel: Raw) -> Raw:
    raw: Raw = {
        "place": " ".join(text(draft, f"{pad}.place").split()),
        "mark": text(draft, f"{pad}.mark"),
        "shape": text(draft, f"{pad}.shape") or "square",
        "sensation": text(draft, f"{pad}.sensation"),
    }
    placed = (("x_mm", "y_mm") if "view" in channel else ()) + (("photo_x", "photo_y") if "photo" in channel else ())
    for name in ("width_cm", "height_cm", *placed):
        if typed := text(draft, f"{pad}.{name}"):
            raw[name] = number(typed)
    return raw


def _steps(draft: Typed, ex: str) -> list[Raw]:
    names = [f"{ex}.step{n}" for n in range(1, rows(draft, f"{ex}.step", MOST_STEPS) + 1)]
    return [{"step": n, "part": text(draft, f"{name}.part") or "pads", "text": text(draft, f"{name}.text"),
             "picture": text(draft, f"{name}.photo"), "short": text(draft, f"{name}.long_only") != "yes"}
            for n, name in enumerate(names, 1)]


def _build_up(draft: Typed, ex: str) -> list[Raw]:
    names = [f"{ex}.build{n}" for n in range(1, rows(draft, f"{ex}.build", MOST_BUILD) + 1)]
    return [
        {"from": text(draft, f"{name}.from"), "session_min": number(text(draft, f"{name}.session_min"))}
        for name in names
    ]


def _led(draft: Typed, ex: str) -> Raw:
    """Reads who sets the pace, where that is not the plan as usual."""
    own = text(draft, f"{ex}.drive") == "switched" and text(draft, f"{ex}.pace") == "own"
    return ({"pace": "own"} if own else {}) | ({"walking": True} if text(draft, f"{ex}.walking") == "yes" else {})


def _wording(draft: Typed, ch: str, phases: Sequence[str]) -> Raw:
    raw: Raw = {phase: text(draft, f"{ch}.say_{phase}") if phase in phases else "" for phase in PHASES}
    for name, field_of in (("say_as", "as"), ("recorded", "own")):
        typed = {phase: text(draft, f"{ch}.{field_of}_{phase}") for phase in phases if raw[phase]}
        if given := {phase: value for phase, value in typed.items() if value}:
            raw[name] = given
    return raw


def loses_feeling(draft: Typed, n: int) -> bool:
    """Tells whether feeling is less or lost under any pad of an exercise."""
    channels = range(1, channel_count(draft, f"ex{n}") + 1)
    felt = {text(draft, f"ex{n}.ch{c}.{pad}.sensation") for c in channels for pad in PADS}
    return bool(felt & {"less", "none"})


def read_exercise(draft: Typed, n: int, known: Known) -> Raw:
    """Reads exercise n as an entry of `exercises` in wattlebird.issued/1; what is missing or wrong stays so."""
    ex = f"ex{n}"
    stimulator = known.stimulators.get(text(draft, f"{ex}.stimulator"), {})
    channels = [f"{ex}.ch{c}" for c in range(1, channel_count(draft, ex) + 1)]
    slots = [slot for slot in SLOTS if slot in texts(draft, f"{ex}.slots")]
    phases: tuple[str, ...] = ("hold",) if text(draft, f"{ex}.drive") == "steady" else PHASES
    return {
        "exercise": n,
        "title": text(draft, f"{ex}.title"),
        "movement": text(draft, f"{ex}.movement"),
        "muscles": [m.strip() for m in text(draft, f"{ex}.muscles").split(",") if m.strip()],
        "side": text(draft, f"{ex}.side"),
        "settings": _settings(draft, ex, stimulator),
        "stimulator": stimulator,
        "channels": [_channel(draft, ch, stimulator) for ch in channels],
        "wording": [_wording(draft, ch, phases) for ch in channels],
        "ready": text(draft, f"{ex}.ready") == "yes",
        "sensory_loss": loses_feeling(draft, n),
        **_led(draft, ex),
        "task": text(draft, f"{ex}.task"),
        "looks_right": text(draft, f"{ex}.looks_right"),
        "set_up_steps": _steps(draft, ex),
        "times_a_day": len(slots),
        "days": sorted(int(d) for d in texts(draft, f"{ex}.days") if d in "1234567"),
        "slots": slots,
        "minutes_by_date": _build_up(draft, ex),
        "short_steps_from": text(draft, f"{ex}.short_steps_from"),
        "skin_at_rest": text(draft, f"{ex}.skin_at_rest"),
    }


def read_draft(draft: Typed, known: Known) -> Raw:
    """Reads a draft as wattlebird.issued/1; `formats.issued_json` then names all that is missing or wrong."""
    own = [line.strip() for line in text(draft, "cautions").splitlines() if line.strip()]
    pads = {"pads_sessions": known.pads_sessions} if known.pads_sessions else {}
    return pads | {
        "format": "wattlebird.issued/1",
        "client_code": known.client_code,
        "plan": 1,
        "version": known.version,
        "language": known.language,
        "issued_on": known.today,
        "first_day": text(draft, "first_day"),
        "last_day": text(draft, "last_day"),
        "working_side": known.working_side,
        "time_zone": known.time_zone,
        "least_hours_between": number(text(draft, "least_hours_between")),
        "most_per_day": number(text(draft, "most_per_day")),
        "asks": {a: text(draft, f"ask_{a}") for a in ASKS},
        "exercises": [read_exercise(draft, n, known) for n in range(1, exercise_count(draft) + 1)],
        "cautions": [*own, *(c for c in known.clinic_cautions if c not in own)],
        "call": dict(known.call),
        "emergency": known.emergency,
        "clinic": {"name": known.clinic_name, "lines": list(known.clinic_lines)},
        "changes": [],
    }
