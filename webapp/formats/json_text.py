"""JSON as text: strict reading (no NaN, no field twice, bounded depth and size) and one canonical writing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass

from webapp.formats.reading import ReadingError
from webapp.stimulation.problem import Problem

MOST_BYTES = 1_000_000
MOST_LEVELS = 40
_MOST_DIGITS = 400


def _fail(key: str, **params: object) -> ReadingError:
    return ReadingError([Problem(path="", key=key, params=params)])


def _whole(text: str) -> int:
    # nothing here takes a number as large as that, and turning its digits into one takes long
    return int(text) if len(text) <= _MOST_DIGITS else 10**_MOST_DIGITS


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise _fail("field_twice", value=json.dumps(twice)[:60])
    return found


def _depth(value: object, left: int) -> None:
    if left < 0:
        raise _fail("too_deep", most=MOST_LEVELS)
    if isinstance(value, (dict, list)):
        for one in value.values() if isinstance(value, dict) else value:
            _depth(one, left - 1)


def parse_json(data: bytes, most_bytes: int = MOST_BYTES) -> object:
    """Reads JSON; raises ReadingError where it is not UTF-8, not JSON, too big or too deep, or says a field twice.

    NaN and infinities come through as such: the getters name the field that holds one.
    """
    if len(data) > most_bytes:
        raise _fail("too_big", most=most_bytes)
    try:
        text = data.decode("utf-8-sig")
        value: object = json.loads(text, parse_int=_whole, object_pairs_hook=_once)
    except UnicodeDecodeError as error:
        raise _fail("not_utf8", value=error.start) from error
    except json.JSONDecodeError as error:
        raise _fail("not_json", line=error.lineno, column=error.colno) from error
    except RecursionError as error:
        raise _fail("too_deep", most=MOST_LEVELS) from error
    _depth(value, MOST_LEVELS)
    return value


def _plain(value: object) -> object:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    return value


def as_fields(value: object) -> dict[str, object]:
    """Gives a dataclass as an object of its fields, without those that are None; dataclasses inside likewise."""
    if not is_dataclass(value) or isinstance(value, type):
        raise TypeError(f"not a value of fields: {value!r}")
    pairs = ((field.name, getattr(value, field.name)) for field in fields(value))
    return {name: _field_value(one) for name, one in pairs if one is not None}


def _field_value(value: object) -> object:
    if is_dataclass(value) and not isinstance(value, type):
        return as_fields(value)
    if isinstance(value, (tuple, list)):
        return [_field_value(one) for one in value]
    if isinstance(value, Mapping):
        return {key: _field_value(one) for key, one in value.items()}
    return _plain(value)


def canonical_text(value: object) -> str:
    """Writes canonical JSON: keys sorted, no spaces, a whole number without a decimal point, no NaN."""
    return json.dumps(_plain(value), ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def canonical_bytes(value: object) -> bytes:
    """Writes canonical JSON as UTF-8."""
    return canonical_text(value).encode("utf-8")
