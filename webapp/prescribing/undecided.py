"""Pad places that name two and leave the choice to somebody at home: the therapist tried one, and writes that one."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

EITHER = re.compile(r"\b(?:or|ou|oder)\b", re.IGNORECASE)  # in each language that a place may be written in
PADS = ("pad_a", "pad_b")


def undecided_places(exercise: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Gives each such place of an exercise (wattlebird.issued/1, whole or not) with the form's field in it."""
    for n, channel in enumerate(exercise["channels"], 1):
        told = [(f"ch{n}.{pad}.place", placed.get("place", ""))
                for pad, placed in zip(PADS, channel["pads"], strict=False)]
        for name, place in (*told, (f"ch{n}.second_place", channel.get("second_place", ""))):
            if EITHER.search(place):
                yield name, place
