"""A report as a value: what it says, figure by figure. It is kept as it left the house; page and PDF draw the same."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number with its name and its definition; `name` is what a test traces it by."""

    name: str
    label: str
    value: str
    means: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of a page: sentences, then figures."""

    name: str
    heading: str
    said: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekBar:
    """One week in the picture of what was done at home."""

    label: str
    cued_min: int
    due_min: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A pad's letter on a photo, in thousandths of the photo's width."""

    letter: str
    x: int
    y: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo of where pads go, named by its hash; the file stays where it is kept. `height` as the marks' places."""

    sha256: str
    caption: str
    height: int
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """One report. `parts` fill the first page, `working` the second, `photos` that were chosen one by one the last."""

    title: str
    sender: tuple[str, ...]
    about: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    weeks_heading: str
    weeks_means: str
    weeks: tuple[WeekBar, ...]
    working_heading: str
    working: tuple[Part, ...]
    sign: str
    foot: str
    photos_heading: str = ""
    photos: tuple[Photo, ...] = ()


def write_report(report: Report) -> str:
    """Writes a report as canonical JSON; of photos nothing where none is in it."""
    kept = {name: value for name, value in asdict(report).items() if report.photos or not name.startswith("photos")}
    return json.dumps(kept, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def read_report(text: str) -> Report:
    """Reads a report that was kept."""
    kept: dict[str, Any] = json.loads(text)
    return Report(
        **{name: kept[name] for name in ("title", "weeks_heading", "weeks_means", "working_heading", "sign", "foot")},
        sender=tuple(kept["sender"]), about=tuple((label, value) for label, value in kept["about"]),
        parts=_parts(kept["parts"]), working=_parts(kept["working"]),
        weeks=tuple(WeekBar(**week) for week in kept["weeks"]), photos_heading=kept.get("photos_heading", ""),
        photos=tuple(Photo(**{**one, "marks": tuple(Mark(**mark) for mark in one["marks"])})
                     for one in kept.get("photos", ())))


def _parts(kept: Iterable[Mapping[str, Any]]) -> tuple[Part, ...]:
    return tuple(Part(name=part["name"], heading=part["heading"], said=tuple(part["said"]),
                      figures=tuple(Figure(**figure) for figure in part["figures"])) for part in kept)
