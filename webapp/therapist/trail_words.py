"""What a row of the trail says beside who, what and whom: its details as a person reads them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.translations import Translate

# the values of these details are names of the program, and have words of their own in the catalogue
WORDS_AT = {"page": "trail.page_of.{}", "rule": "trail.rule.{}", "decision": "teach.ready.{}", "role": "role.{}",
            "road": "trail.road.{}"}


def detail_words(t: Translate, told: Mapping[str, Any]) -> str:
    """Writes the details of a row; what another release named is shown by its own name."""
    return ", ".join(f"{_or_plain(t, f'trail.detail.{name}', name)}: {_value(t, name, value)}"
                     for name, value in told.items() if value not in ("", [], None))


def _value(t: Translate, name: str, value: Any) -> str:
    if isinstance(value, bool):
        return t("trail.yes" if value else "trail.no")
    if isinstance(value, list):
        return ", ".join(_value(t, name, one) for one in value)
    if isinstance(value, Mapping):
        return ", ".join(f"{_plain(key)} {_plain(str(one))}" for key, one in value.items())
    if name == "row":
        return _or_plain(t, f"screening.{value}.short", _or_plain(t, f"ability.{value}.short", str(value)))
    return _or_plain(t, WORDS_AT[name].format(value), str(value)) if name in WORDS_AT else str(value)


def _or_plain(t: Translate, key: str, otherwise: str) -> str:
    try:
        return t(key)
    except KeyError:
        return _plain(otherwise)


def _plain(name: str) -> str:
    return name.replace("_", " ")
