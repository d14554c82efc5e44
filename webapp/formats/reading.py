"""Typed getters for what came from outside: every problem is kept with its path, and all are raised at once."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Sequence
from datetime import date
from math import isfinite
from typing import Final, TypeGuard

from webapp.stimulation.problem import Problem
from webapp.stimulation.units import is_in_tenths, number_text, plain_number

__all__ = ["REQUIRED", "Problem", "Reader", "ReadingError", "finish", "read_object", "shown"]

_LONGEST_SHOWN = 60
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")


class _Required:
    """Marks a field without a default."""


REQUIRED: Final = _Required()
_MISSING: Final = _Required()


class ReadingError(ValueError):
    """What was read is not what is allowed; carries every problem, each a clear line as str()."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(" ".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


def shown(value: object) -> str:
    """Writes a value as it stood in the file, cut where it is long."""
    if value is _MISSING:
        return "nothing"
    if isinstance(value, (dict, list)):
        return f"{'an object' if isinstance(value, dict) else 'a list'} of {len(value)}"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a very large number"
    text = json.dumps(value)
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


class Reader:
    """Reads the fields of one object. After the last field, `close()` notes the fields that nobody asked for.

    A getter whose field is wrong notes the problem and gives a stand-in, so that reading goes on; `finish` raises once
    everything was looked at.
    """

    def __init__(self, value: object, path: str, problems: list[Problem]) -> None:
        self.path, self.problems = path, problems
        self._asked: list[str] = []
        self._fields: dict[str, object] = value if isinstance(value, dict) else {}
        self.is_broken = not isinstance(value, dict)
        if self.is_broken:
            self.note(path, "object", value=shown(value))

    def at(self, name: str) -> str:
        """Gives the path of a field."""
        return f"{self.path}.{name}" if self.path else name

    def note(self, path: str, key: str, **params: object) -> None:
        """Notes a problem."""
        self.problems.append(Problem(path=path, key=key, params=params))

    def has(self, name: str) -> bool:
        """Says whether a field is there, and counts it as asked for."""
        self._ask(name)
        return name in self._fields

    def raw(self, name: str) -> object:
        """Gives a field as it stands, or None."""
        self._ask(name)
        return self._fields.get(name)

    def _ask(self, name: str) -> None:
        if name not in self._asked:
            self._asked.append(name)

    def _take(self, name: str, default: object) -> object:
        """Gives the value; None where the default holds (then nothing is left to check)."""
        self._ask(name)
        if name in self._fields:
            return self._fields[name]
        return None if default is not REQUIRED or self.is_broken else _MISSING

    def number(
        self, name: str, least: float, most: float, default: float | _Required = REQUIRED, *, tenths: bool = False
    ) -> float:
        """Reads a number in a range; `tenths` asks for steps of 0.1."""
        value = self._take(name, default)
        stand_in = least if isinstance(default, _Required) else default
        if value is None and name not in self._fields:
            return stand_in
        if not _is_number(value) or not least <= value <= most or (tenths and not is_in_tenths(value)):
            key = "tenths" if tenths else "number"
            self.note(self.at(name), key, least=number_text(least), most=number_text(most), value=shown(value))
            return stand_in
        return plain_number(float(value))

    def whole(self, name: str, least: int, most: int, default: int | _Required = REQUIRED) -> int:
        """Reads a whole number in a range."""
        value = self._take(name, default)
        stand_in = least if isinstance(default, _Required) else default
        if value is None and name not in self._fields:
            return stand_in
        if not _is_number(value) or not least <= value <= most or value != int(value):
            self.note(self.at(name), "whole_number", least=least, most=most, value=shown(value))
            return stand_in
        return int(value)

    def choice(self, name: str, allowed: Collection[str], default: str | _Required = REQUIRED) -> str:
        """Reads one of a few words."""
        value = self._take(name, default)
        stand_in = next(iter(allowed)) if isinstance(default, _Required) else default
        if value is None and name not in self._fields:
            return stand_in
        if not isinstance(value, str) or value not in allowed:
            self.note(self.at(name), "choice", allowed=", ".join(allowed), value=shown(value))
            return stand_in
        return value

    def flag(self, name: str, default: bool | _Required = REQUIRED) -> bool:
        """Reads true or false."""
        value = self._take(name, default)
        stand_in = False if isinstance(default, _Required) else default
        if value is None and name not in self._fields:
            return stand_in
        if not isinstance(value, bool):
            self.note(self.at(name), "flag", value=shown(value))
            return stand_in
        return value

    def text(self, name: str, most: int, default: str | _Required = REQUIRED, *, least: int = 0) -> str:
        """Reads a text of a length in characters, without control characters (line ends are allowed)."""
        value = self._take(name, default)
        stand_in = "" if isinstance(default, _Required) else default
        if value is None and name not in self._fields:
            return stand_in
        return self.checked_text(value, self.at(name), most, least=least)

    def checked_text(self, value: object, path: str, most: int, *, least: int = 0) -> str:
        """Checks one text and gives it back, or an empty one."""
        if not isinstance(value, str) or not least <= len(value) <= most:
            self.note(path, "text", least=least, most=most, value=shown(value))
            return ""
        if _CONTROL.search(value):
            self.note(path, "one_line", value=shown(value))
            return ""
        return value

    def day(self, name: str) -> str:
        """Reads a date as YYYY-MM-DD."""
        value = self._take(name, REQUIRED)
        if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
            try:
                return date.fromisoformat(value).isoformat()
            except ValueError:
                pass
        if value is not None:
            self.note(self.at(name), "date", value=shown(value))
        return ""

    def entries(
        self, name: str, least: int, most: int, default: tuple[()] | _Required = REQUIRED
    ) -> list[tuple[str, object]]:
        """Reads a list; gives each entry with its path."""
        value = self._take(name, default)
        if value is None and name not in self._fields:
            return []
        if not isinstance(value, list) or not least <= len(value) <= most:
            self.note(self.at(name), "list", least=least, most=most, value=shown(value))
            return []
        return [(f"{self.at(name)}[{n}]", one) for n, one in enumerate(value)]

    def texts(self, name: str, least: int, most: int, longest: int) -> tuple[str, ...]:
        """Reads a list of texts; an absent one is empty where that is allowed."""
        default: tuple[()] | _Required = REQUIRED if least else ()
        found = self.entries(name, least, most, default)
        return tuple(self.checked_text(one, path, longest, least=1) for path, one in found)

    def objects(self, name: str, least: int, most: int, default: tuple[()] | _Required = REQUIRED) -> list[Reader]:
        """Reads a list of objects; gives a reader for each."""
        return [Reader(one, path, self.problems) for path, one in self.entries(name, least, most, default)]

    def object(self, name: str) -> Reader:
        """Reads an object; gives its reader."""
        value = self._take(name, REQUIRED)
        # below something that is no object itself, nothing more is to be said
        return (
            Reader({}, self.at(name), [])
            if value is None and self.is_broken
            else Reader(value, self.at(name), self.problems)
        )

    def format(self, name: str) -> None:
        """Reads the name of the format."""
        self.choice("format", (name,))

    def close(self) -> None:
        """Notes every field that nobody asked for."""
        for name in self._fields:
            if name not in self._asked:
                allowed, value = ", ".join(self._asked), shown(self._fields[name])
                self.note(self.at(_shown_name(name)), "unknown_field", allowed=allowed, value=value)


def _shown_name(name: str) -> str:
    plain = json.dumps(name)[1:-1]
    return plain if len(plain) <= _LONGEST_SHOWN else plain[: _LONGEST_SHOWN - 1] + "…"


def _is_number(value: object) -> TypeGuard[float]:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return isinstance(value, int) or isfinite(value)


def read_object(value: object) -> Reader:
    """Starts reading a whole document; the caller ends with `finish`."""
    return Reader(value, "", [])


def finish(reader: Reader) -> None:
    """Raises ReadingError with every problem that was noted."""
    if reader.problems:
        raise ReadingError(reader.problems)
