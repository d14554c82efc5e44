"""Reads a form field by field, all problems at once, and keeps every value as it was typed."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date

from werkzeug.datastructures import MultiDict

from webapp.serving import texts

SHORT = 120  # characters of a one-line field
LONG = 4_000


class Form:
    """The typed values of one form and, beside each field, what is wrong with it.

    Templates show it with the macros of `parts/form.html`; a view re-renders the page with status 422 while
    `errors` is not empty.
    """

    def __init__(self, values: Mapping[str, object] | MultiDict[str, str]) -> None:
        self.values: MultiDict[str, str] = (values if isinstance(values, MultiDict) else MultiDict(
            {name: "" if value is None else str(value) for name, value in values.items()}))
        self.errors: dict[str, str] = {}
        self.labels: dict[str, str] = {}

    @property
    def ok(self) -> bool:
        return not self.errors

    def value(self, name: str) -> str:
        return self.values.get(name, "")

    def called(self, name: str, label: str) -> str:
        """Notes what a field is called on the page, for the summary of problems above it."""
        self.labels[name] = label
        return ""

    def refuse(self, name: str, key: str, **values: object) -> None:
        """Notes the first problem of a field."""
        self.errors.setdefault(name, texts()(key, **values))

    def text(self, name: str, *, required: bool = False, most: int = SHORT) -> str:
        typed = self.value(name).strip()
        if required and not typed:
            self.refuse(name, "form.missing")
        if len(typed) > most:
            self.refuse(name, "form.too_long", most=most, n=len(typed))
        return typed

    def lines(self, name: str, *, most_lines: int, most: int = SHORT) -> tuple[str, ...]:
        """Reads a text area as lines; empty ones are left out."""
        typed = tuple(line.strip() for line in self.value(name).splitlines() if line.strip())
        if len(typed) > most_lines:
            self.refuse(name, "form.too_many_lines", most=most_lines)
        if any(len(line) > most for line in typed):
            self.refuse(name, "form.line_too_long", most=most)
        return typed

    def choice(self, name: str, choices: Collection[str]) -> str:
        typed = self.value(name)
        if typed not in choices:
            self.refuse(name, "form.choose")
        return typed

    def number(self, name: str, lowest: float, highest: float, *, required: bool = False) -> float | None:
        """Reads a number; a decimal comma is taken as it is meant."""
        typed = self.value(name).strip()
        if not typed:
            if required:
                self.refuse(name, "form.missing")
            return None
        try:
            number = float(typed.replace(",", "."))
        except ValueError:
            number = float("nan")
        if not lowest <= number <= highest:
            self.refuse(name, "form.number", lowest=plain(lowest), highest=plain(highest), typed=typed[:40])
            return None
        return number

    def day(self, name: str, earliest: date, latest: date) -> date | None:
        """Reads a date as date fields send it, YYYY-MM-DD."""
        typed = self.value(name).strip()
        try:
            day = date.fromisoformat(typed)
        except ValueError:
            self.refuse(name, "form.missing" if not typed else "form.date")
            return None
        if not earliest <= day <= latest:
            self.refuse(name, "form.day_between", earliest=earliest.isoformat(), latest=latest.isoformat())
            return None
        return day

    def whole(self, name: str, lowest: int, highest: int, *, required: bool = False) -> int | None:
        number = self.number(name, lowest, highest, required=required)
        if number is not None and number != int(number):
            self.refuse(name, "form.whole")
            return None
        return None if number is None else int(number)


def plain(number: float) -> str:
    """Writes a number as a person would: 1, 0.5."""
    return f"{number:g}"
