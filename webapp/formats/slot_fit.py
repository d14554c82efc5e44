"""Which records the table can hold field by field; the same as in static/formats/slot_fit.js."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from webapp.formats.log_record import MOST_BYTES, NOTE_BYTES, canonical
from webapp.formats.slot_coding import MOST_ENTRIES

# far above any time or count, and small enough that every sum and product stays exact in both languages
MOST_WHOLE = 1 << 40
_HEX = re.compile(f"[0-9a-f]{{0,{MOST_ENTRIES}}}")
_ALWAYS = ("seq", "at_min")


def _is_whole(value: object) -> bool:
    return type(value) is int and abs(value) <= MOST_WHOLE


def chosen(slot: Mapping[str, Any], record: Mapping[str, Any]) -> Mapping[str, Any]:
    """Gives the slot that holds a record's field where the table says either of two."""
    if "either" not in slot:
        return slot
    one, other = slot["either"]
    found: Mapping[str, Any] = one if one["field"] in record else other
    return found


def held(spec: Mapping[str, Any], record: Mapping[str, Any]) -> set[str]:
    """Names the fields that the slots hold."""
    slots = (chosen(slot, record)["field"] for slot in spec["slots"])
    return {"kind", *_ALWAYS, *spec["head"], *slots}


def fits(spec: Mapping[str, Any], record: Mapping[str, Any]) -> bool:
    """Says whether each slot can hold its field."""
    wholes = all(_is_whole(record.get(name)) for name in (*_ALWAYS, *spec["head"]))
    return wholes and all(_slot_fits(chosen(slot, record), record) for slot in spec["slots"])


def fits_optional(spec: Mapping[str, Any], further: Mapping[str, Any]) -> bool:
    """Says whether what the slots do not hold is just what the optional ones do."""
    slots = spec.get("optional", ())
    names = {slot["field"] for slot in slots}
    return bool(names) and names == further.keys() and all(_slot_fits(slot, further) for slot in slots)


def _slot_fits(slot: Mapping[str, Any], record: Mapping[str, Any]) -> bool:
    value = record.get(slot["field"])
    if slot["code"] == "text":
        return isinstance(value, str) and "\0" not in value and len(value.encode()) <= NOTE_BYTES
    if slot["code"] == "hex":
        return isinstance(value, str) and _HEX.fullmatch(value) is not None
    if slot["code"] == "object":
        return isinstance(value, dict) and len(canonical(value)) <= MOST_BYTES
    if "list" in slot or slot["code"] == "set":
        return isinstance(value, list) and len(value) <= MOST_ENTRIES and all(_number_fits(slot, one) for one in value)
    return _number_fits(slot, value)


def _number_fits(slot: Mapping[str, Any], value: object) -> bool:
    if slot["code"] == "symbol":
        return type(value) is int and 0 <= value < 1 << slot["bits"]
    return _is_whole(value)
