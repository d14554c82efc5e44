"""What changed from one issued version to the next, in words that a client reads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from webapp.prescribing.setting_words import menu_settings, value_text
from webapp.stimulation.units import number_text
from webapp.translations import Translate

Issued = Mapping[str, Any]


def compare(old: Issued, new: Issued, t: Translate) -> dict[str, Any]:
    """Compares two issued plans; gives an entry of `changes` in wattlebird.issued/1.

    `unit_changed` is true where something is to be set anew on the stimulator itself; `unit_steps` says what.
    """
    words: list[str] = []
    unit_steps: list[str] = []
    matched = list(pairs(old, new))
    several = len(new["exercises"]) > 1
    for before, after in matched:
        found = list(_exercise_words(before, after, t)) if before and after else [_came_or_went(before, after, t)]
        words.extend(_named(after or before or {}, text, several and bool(before and after), t) for text in found)
        if before and after:
            unit_steps.extend(_named(after, text, several, t) for text in _unit_steps(before, after, t))
        elif after:
            unit_steps.extend(_named(after, text, several, t) for text in _all_unit_steps(after, t))
    words.extend(_plan_words(old, new, t))
    return {"version": new["version"], "words": words, "unit_changed": bool(unit_steps), "unit_steps": unit_steps}


def pairs(old: Issued, new: Issued) -> Iterator[tuple[Issued | None, Issued | None]]:
    """Matches exercises by movement and side first, so that one put in between does not shift the others."""
    left = list(old["exercises"])
    for after in new["exercises"]:
        same = [e for e in left if (e["movement"], e["side"]) == (after["movement"], after["side"])]
        if same:
            left.remove(same[0])
        yield (same[0] if same else None), after
    for before in left:
        yield before, None


def _came_or_went(before: Issued | None, after: Issued | None, t: Translate) -> str:
    if after is not None:
        return t("change.exercise_new", title=after["title"])
    return t("change.exercise_gone", title=(before or {})["title"])


def _named(exercise: Issued, text: str, several: bool, t: Translate) -> str:
    return t("change.of_exercise", title=exercise["title"], text=text) if several else text


def _exercise_words(old: Issued, new: Issued, t: Translate) -> Iterator[str]:
    before, after = old["settings"], new["settings"]
    if before["session_min"] != after["session_min"]:
        yield t("change.minutes", new=number_text(after["session_min"]), old=number_text(before["session_min"]))
    yield from _build_up_words(old, new, t)
    if old["times_a_day"] != new["times_a_day"]:
        yield t("change.times", n=new["times_a_day"])
    elif old["slots"] != new["slots"]:
        yield t("change.slots", slots=", ".join(t(f"slot.{slot}") for slot in new["slots"]))
    if old["days"] != new["days"]:
        yield t("change.days", days=day_names(new["days"], t))
    if old["stimulator"]["name"] != new["stimulator"]["name"]:
        yield t("change.unit", name=new["stimulator"]["name"])
    elif list(_unit_steps(old, new, t)):
        yield t("change.unit_settings")
    if len(before["channels"]) != len(after["channels"]):
        yield t("change.channels", n=len(after["channels"]))
    for was, now in zip(old["channels"], new["channels"], strict=False):
        yield from _channel_words(was, now, t)
    yield from _said_words(old, new, t)


def _build_up_words(old: Issued, new: Issued, t: Translate) -> Iterator[str]:
    """Says the steps to come that are new; where none are left, that the minutes stay."""
    was, now = old["minutes_by_date"], new["minutes_by_date"]
    if was and not now:
        yield t("change.minutes_stay", n=number_text(new["settings"]["session_min"]))
    for step in now:
        if step not in was:
            yield t("change.minutes_from", day=day_text(step["from"], t), n=number_text(step["session_min"]))


def _channel_words(old: Issued, new: Issued, t: Translate) -> Iterator[str]:
    if _where(old) != _where(new):
        yield t("change.pads", name=new["name"])
    ceiling = new.get("ceiling_ma", new.get("ceiling_level"))
    if old.get("ceiling_ma", old.get("ceiling_level")) != ceiling:
        yield t("change.ceiling", name=new["name"], n=number_text(ceiling or 0))


def _where(channel: Issued) -> list[tuple[Any, ...]]:
    shown = (channel.get("view"), channel.get("photo"))
    return [(p["place"], p["width_cm"], p["height_cm"], p["shape"], p.get("x_mm"), p.get("y_mm"), *shown)
            for p in channel["pads"]]  # fmt: skip


def _said_words(old: Issued, new: Issued, t: Translate) -> Iterator[str]:
    if old["task"] != new["task"] and new["task"]:
        yield t("change.task", task=new["task"])
    if old["wording"] != new["wording"]:
        yield t("change.wording")
    if _steps_shown(old) != _steps_shown(new):
        yield t("change.steps")


def _steps_shown(exercise: Issued) -> list[tuple[str, str]]:
    return [(step["text"], step.get("picture", "")) for step in exercise["set_up_steps"]]


def _unit_steps(old: Issued, new: Issued, t: Translate) -> Iterator[str]:
    if old["stimulator"]["name"] != new["stimulator"]["name"]:
        yield from _all_unit_steps(new, t)
        return
    before = dict(menu_settings(old["stimulator"], old["settings"]))
    for name, value in menu_settings(new["stimulator"], new["settings"]):
        if before.get(name) != value:
            yield _set(name, value, t)


def _all_unit_steps(new: Issued, t: Translate) -> Iterator[str]:
    for name, value in menu_settings(new["stimulator"], new["settings"]):
        yield _set(name, value, t)


def _set(name: str, value: Any, t: Translate) -> str:
    return t("change.set", what=t(f"client_setting.{name}"), value=value_text(name, value, t))


def _plan_words(old: Issued, new: Issued, t: Translate) -> Iterator[str]:
    if old["last_day"] != new["last_day"]:
        yield t("change.last_day", day=day_text(new["last_day"], t))
    if (old["least_hours_between"], old["most_per_day"]) != (new["least_hours_between"], new["most_per_day"]):
        yield t("change.spacing", n=new["most_per_day"], hours=number_text(new["least_hours_between"]))
    if old["cautions"] != new["cautions"]:
        yield t("change.cautions")
    if old["call"] != new["call"]:
        yield t("change.call")


def day_names(days: list[int], t: Translate) -> str:
    """Writes weekdays (1 Monday … 7 Sunday) in words."""
    if sorted(days) == list(range(1, 8)):
        return t("day.all")
    return ", ".join(t(f"day.{day}") for day in days)


def day_text(iso: str, t: Translate) -> str:
    """Writes a date (2026-11-24) in words."""
    day = date.fromisoformat(iso)
    return t("date.full", day=day.day, month=t(f"month.{day.month}"), year=day.year)
