"""The client's set-up steps: written from the stimulator, the pads, the arm and the phone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.stimulation.placement import movement
from webapp.translations import Translate

Step = dict[str, Any]


class LongOnly(str):
    """The text of a step that the short daily set-up leaves out: it explains what is learnt after some weeks."""

    __slots__ = ()


def set_up_steps(exercise: Mapping[str, Any], working_side: str, t: Translate) -> list[Step]:
    """Writes the steps of one exercise (as in wattlebird.issued/1) in the client's language, numbered from 1.

    Parts come in the order in which they are done: pads, arm and phone with the unit off, then the unit, which is
    switched on with both strengths at zero. What is not known of the stimulator is left out, never guessed. The unit's
    settings are no step: phone and sheet show them as a list of their own, which no wording by hand can make stale.
    """
    parts = (
        ("pads", _pad_texts(exercise, t)),
        ("arm", _arm_texts(exercise, t)),
        ("phone", _phone_texts(working_side, t)),
        ("unit", _unit_texts(exercise, t)),
    )
    steps = [(part, text) for part, texts in parts for text in texts]
    return [{"step": n, "part": part, "text": str(text), "picture": "", "short": not isinstance(text, LongOnly)}
            for n, (part, text) in enumerate(steps, 1)]


def _pad_texts(exercise: Mapping[str, Any], t: Translate) -> Iterator[str]:
    yield t("step.unit_off")
    yield t("step.skin")
    stimulator = exercise.get("stimulator") or {}
    channels = exercise.get("channels", ())
    for n, channel in enumerate(channels):
        for pad in channel.get("pads", ()):
            if pad.get("place"):
                key = "step.pad_marked" if pad.get("mark") else "step.pad"
                yield t(key, mark=pad.get("mark", ""), place=pad["place"])
        yield from _socket_texts(stimulator, channels, n, t)
    yield t("step.edges")


def _socket_texts(stimulator: Mapping[str, Any], channels: Any, n: int, t: Translate) -> Iterator[str]:
    unit_channels = stimulator.get("channels", ())
    if n < len(unit_channels) and unit_channels[n].get("socket_side"):
        side = unit_channels[n]["socket_side"]
        if f"step.socket.{side}" in SOCKETS:
            yield LongOnly(t(f"step.socket.{side}", name=channels[n].get("name", "")))


def known_steps(exercise: Mapping[str, Any], t: Translate) -> dict[str, frozenset[str]]:
    """Gives the texts about pads that are written here, by what a picture of each shows."""
    names = [channel.get("name", "") for channel in exercise.get("channels", ())]
    return {"skin": frozenset({t("step.skin")}), "pads": frozenset({t("step.edges")}),
            "plug": frozenset(t(key, name=name) for key in SOCKETS for name in names)}


SOCKETS = frozenset(f"step.socket.{side}" for side in ("left", "right", "top", "bottom", "front", "back", "middle"))


def _arm_texts(exercise: Mapping[str, Any], t: Translate) -> Iterator[str]:
    made = movement(exercise.get("movement", ""))
    yield t(f"step.support.{made.region if made else 'hand'}")


def _phone_texts(working_side: str, t: Translate) -> Iterator[str]:
    yield LongOnly(t(f"step.phone.{working_side if working_side in ('left', 'right') else 'both'}"))


def _unit_texts(exercise: Mapping[str, Any], t: Translate) -> Iterator[str]:
    stimulator = exercise.get("stimulator") or {}
    yield t("step.unit_on")
    for field, key in (("key_lock", "step.key_lock"), ("stored_settings", "step.stored")):
        if stimulator.get(field):
            yield LongOnly(t(key, how=stimulator[field]))
