"""What a client needs for a plan, as a list with reasons for whoever pays: pads by count of sessions, and the rest."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from webapp.practice.schedule import days_from, planned_on, read_version
from webapp.stimulation.units import number_text
from webapp.translations import Translate

SESSIONS_A_SET = 20  # a set of pads lasts 15 to 30 uses or 2 to 4 weeks; common practice, no source
OWNERS = ("clinic", "client", "borrowed", "to_get")


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One thing that is needed: how many, what, and why."""

    count: str
    what: str
    why: str


def sessions_a_set(noted: Mapping[str, str]) -> int:
    """Gives after how many sessions a set of pads is changed."""
    typed = noted.get("pads_sessions", "")
    return int(typed) if typed.isdigit() and int(typed) else SESSIONS_A_SET


def things(issued: Mapping[str, Any], noted: Mapping[str, str], t: Translate) -> list[str]:
    """Says for the client's sheet whose the unit is, its number, how long a set of pads lasts, what it runs on."""
    told, owner = [], noted.get("owner", "")
    whose = t(f"sheet.things.owner.{owner}") if owner in OWNERS[:3] else ""
    number = t("sheet.things.serial", serial=noted["serial"]) if noted.get("serial") else ""
    told += [" ".join(filter(None, (whose, number)))] if whose or number else []
    kind = t("sheet.things.pads_kind", kind=noted["pads_kind"]) if noted.get("pads_kind") else ""
    lasts = issued.get("pads_sessions") or 0  # as the phone counts it, whatever was noted since
    last = t("sheet.things.pads", n=lasts) if lasts else ""
    told += [" ".join(filter(None, (kind, last)))] if kind or last else []
    return told + ([t("sheet.things.battery", battery=noted["battery"])] if noted.get("battery") else [])


def needs(issued: Mapping[str, Any], noted: Mapping[str, str], today: date, t: Translate) -> list[Need]:
    """Lists what is needed from today to the plan's last day; what is in stock is taken off."""
    version = read_version(issued)
    due = Counter(one.exercise for day in days_from(max(version.starts, today), version.last_day)
                  for one in planned_on(version, day))  # fmt: skip
    found, stock = list(_unit(issued, noted, t)), int(noted.get("pads_stock") or 0)
    for exercise in issued["exercises"]:
        sessions, lasts = due[exercise["exercise"]], sessions_a_set(noted)
        sets = math.ceil(sessions / lasts)
        found += _pads(exercise, max(0, sets - stock), sessions, lasts, t)
        stock = max(0, stock - sets)
    return [*found, *own_needs(noted, t)]


def _unit(issued: Mapping[str, Any], noted: Mapping[str, str], t: Translate) -> Iterator[Need]:
    if noted.get("owner") != "to_get":
        return
    for exercise in issued["exercises"][:1]:
        settings, channels = exercise["settings"], len(exercise["channels"])
        words = t("need.unit", channels=channels, frequency=number_text(settings["frequency_hz"]),
                  width=number_text(settings["pulse_width_us"]))
        yield Need(count="1", what=words, why=t("need.unit_why", title=exercise["title"]))


def _pads(exercise: Mapping[str, Any], sets: int, sessions: int, lasts: int, t: Translate) -> Iterator[Need]:
    """Counts the pads of some sets by their size."""
    sizes = Counter(_size(pad, t) for channel in exercise["channels"] for pad in channel["pads"])
    for size, each in sizes.items():
        if sets:
            why = t("need.pads_why", title=exercise["title"], sessions=sessions, lasts=lasts)
            yield Need(count=str(sets * each), what=t("need.pads", size=size), why=why)


def _size(pad: Mapping[str, Any], t: Translate) -> str:
    shape = t(f"builder.shape.{pad['shape']}")
    if pad["shape"] == "round":
        return t("need.round", width=number_text(pad["width_cm"]))
    return t("need.size", width=number_text(pad["width_cm"]), height=number_text(pad["height_cm"]), shape=shape)


def own_needs(noted: Mapping[str, str], t: Translate) -> Iterator[Need]:
    """Reads the therapist's own lines: the thing, a colon, why."""
    for line in noted.get("needs", "").splitlines():
        what, _, why = line.partition(":")
        if what.strip():
            yield Need(count="1", what=what.strip(), why=why.strip())
    if noted.get("battery") and noted.get("battery_needed") == "yes":
        yield Need(count=t("need.battery_count"), what=noted["battery"], why=t("need.battery_why"))
