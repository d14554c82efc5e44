"""An issued plan written as a draft again, so that a new version starts from what the client has."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from webapp.prescribing.drafting import CHOICES, CONVENTIONS, NUMBERS, PADS, PHASES, TRIAL, Known, Typed

PAD_FIELDS = ("place", "mark", "width_cm", "height_cm", "shape", "x_mm", "y_mm", "photo_x", "photo_y")


def draft_of(issued: Mapping[str, Any], known: Known) -> Typed:
    """Writes an issued plan as a draft."""
    draft: Typed = {
        "exercises": str(len(issued["exercises"])),
        "first_day": issued["first_day"],
        "last_day": issued["last_day"],
        "least_hours_between": str(issued["least_hours_between"]),
        "most_per_day": str(issued["most_per_day"]),
    }
    draft |= {f"ask_{name}": value for name, value in issued["asks"].items()}
    draft["cautions"] = "\n".join(c for c in issued["cautions"] if c not in known.clinic_cautions)
    for exercise in issued["exercises"]:
        draft |= dict(_typed_exercise(exercise, known))
    return draft


def _typed_exercise(exercise: Mapping[str, Any], known: Known) -> Iterator[tuple[str, str | list[str]]]:
    ex, settings = f"ex{exercise['exercise']}", exercise["settings"]
    for name in ("title", "movement", "side", "task", "looks_right"):
        yield f"{ex}.{name}", exercise[name]
    stimulator, two = _stimulator_id(exercise["stimulator"], known), str(len(exercise["channels"]))
    yield f"{ex}.defaults_for", f"{exercise['movement']}|{stimulator}|{two}"
    yield f"{ex}.muscles", ", ".join(exercise["muscles"])
    yield f"{ex}.stimulator", stimulator
    yield f"{ex}.two", two
    yield f"{ex}.ready", "yes" if exercise.get("ready") else ""
    for name in ("skin_at_rest", "short_steps_from"):
        yield f"{ex}.{name}", exercise.get(name, "")
    yield f"{ex}.days", [str(day) for day in exercise["days"]]
    yield f"{ex}.slots", list(exercise["slots"])
    for name in (*NUMBERS, *CHOICES, *CONVENTIONS):
        if name in settings:
            yield f"{ex}.{name}", str(settings[name])
    for n, channel in enumerate(exercise["channels"]):
        yield from _typed_channel(f"{ex}.ch{n + 1}", channel, settings["channels"][n], exercise["wording"][n])
    for n, step in enumerate(exercise["set_up_steps"], 1):
        yield f"{ex}.step{n}.text", step["text"]
        yield f"{ex}.step{n}.part", step["part"]
        yield f"{ex}.step{n}.long_only", "" if step.get("short", True) else "yes"
        yield f"{ex}.step{n}.photo", step.get("picture", "")
    for n, row in enumerate(exercise["minutes_by_date"], 1):
        yield f"{ex}.build{n}.from", row["from"]
        yield f"{ex}.build{n}.session_min", str(row["session_min"])


def _typed_channel(
    ch: str, channel: Mapping[str, Any], dosed: Mapping[str, Any], wording: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    for name in ("name", "muscle", "second_place", "view", "photo", "photo_height"):
        yield f"{ch}.{name}", str(channel.get(name, ""))
    yield f"{ch}.placed_on", channel.get("view", "")
    for name, value in (*channel.items(), *dosed.items()):
        if name.startswith(("ceiling_", "intensity_")):
            yield f"{ch}.{name.split('_')[0]}", str(value)
    for name in ("frequency_hz", "pulse_width_us"):
        if name in dosed:
            yield f"{ch}.{name}", str(dosed[name])
    if "pads_apart_cm" in channel:
        yield f"{ch}.apart_cm", str(channel["pads_apart_cm"])
    for phase in PHASES:
        yield f"{ch}.say_{phase}", wording.get(phase) or ""
        for name, field_of in (("say_as", "as"), ("recorded", "own")):
            if given := wording.get(name, {}).get(phase):
                yield f"{ch}.{field_of}_{phase}", given
    for pad, placed in zip(PADS, channel["pads"], strict=False):
        for name in PAD_FIELDS:
            if name in placed:
                yield f"{ch}.{pad}.{name}", str(placed[name])
        yield f"{ch}.{pad}.sensation", placed.get("sensation", "")
    for name, own in TRIAL.items():
        if own in (trial := channel.get("trial") or {}):
            yield f"{ch}.{name}", str(trial[own])


def _stimulator_id(stimulator: Mapping[str, Any], known: Known) -> str:
    def same(other: Mapping[str, Any]) -> bool:
        return json.dumps(other, sort_keys=True) == json.dumps(stimulator, sort_keys=True)

    found = [n for n, other in known.stimulators.items() if same(other)]
    found += [n for n, other in known.stimulators.items() if other["name"] == stimulator["name"]]
    return found[0] if found else ""
