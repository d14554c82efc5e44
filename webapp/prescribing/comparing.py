"""Two plans side by side, setting by setting, with words that can go to the client.

A plan of somebody else holds what was typed and found for that person alone: none of it is put in words to hand on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Any

from webapp.prescribing.changes import day_names, day_text, pairs
from webapp.prescribing.setting_words import DEFAULTS, NUMBERS, ON_THE_UNIT, applies, value_text
from webapp.stimulation.units import number_text
from webapp.translations import Translate

Plan = Mapping[str, Any]
IN_WORDS = frozenset({*range(1, 21), 25, 30, 35, 40, 45, 50, 60})  # numbers that a sentence spells out


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One thing that differs: of which exercise (empty: of the plan), its name, old and new, and how to say it."""

    of: str
    name: str
    old: str
    new: str
    words: str


def differences(old: Plan, new: Plan, t: Translate, *, same_client: bool = True) -> list[Difference]:
    """Lists what differs between two plans (wattlebird.issued/1; either may be a draft that is not whole yet).

    Plans of two clients are matched by movement, whichever side it is; what is of one person is for the page alone.
    """
    matched = pairs(old, new) if same_client else _by_movement(old, new)
    found = [one for before, after in matched for one in _exercise(before, after, t)]
    found += _differ("", _of_plan(old, t), _of_plan(new, t), t)
    if same_client:
        return found
    personal = _personal(old, t) | _personal(new, t)
    return [replace(one, words="") if one.name in personal else one for one in found]


def _by_movement(old: Plan, new: Plan) -> Iterator[tuple[Plan | None, Plan | None]]:
    """Matches exercises of the same movement first, then what is left in its order."""
    left, open_ones = list(old["exercises"]), []
    for after in new["exercises"]:
        same = [e for e in left if e["movement"] == after["movement"]]
        if same:
            left.remove(same[0])
            yield same[0], after
        else:
            open_ones.append(after)
    yield from zip_longest(left, open_ones)


def _personal(plan: Plan, t: Translate) -> set[str]:
    """Names what was typed or found for one client: task, side, strengths, pad places, cautions."""
    named = {t("compare.exercise"), *(t(f"builder.field.{name}") for name in ("task", "side", "cautions", "last_day"))}
    for exercise in plan["exercises"]:
        for n, channel in enumerate(exercise["channels"], 1):
            named |= {t("builder.of_channel", n=n, field=t(f"builder.field.{name}"))
                      for name in ("name", "ceiling", "intensity")}
            named |= {t("compare.drawn", n=n)}
            named |= {t("compare.pad", n=n, pad=k + 1) for k, _ in enumerate(channel.get("pads", ()))}
    return named


def _exercise(before: Plan | None, after: Plan | None, t: Translate) -> Iterator[Difference]:
    title = str((after or before or {}).get("title", ""))
    if before is None or after is None:
        key = "change.exercise_new" if before is None else "change.exercise_gone"
        was, now = ("", title) if before is None else (title, "")
        yield Difference(of=title, name=t("compare.exercise"), old=was, new=now, words=t(key, title=title))
        return
    yield from _settings(title, before, after, t)
    yield from _differ(title, _of_exercise(before, t), _of_exercise(after, t), t)


def _settings(title: str, before: Plan, after: Plan, t: Translate) -> Iterator[Difference]:
    old, new = before["settings"], after["settings"]
    if old.get("drive") != new.get("drive"):  # in the therapist's words: what follows from it is said below
        shown = [t(f"choice.drive.{each['drive']}") if each.get("drive") else "" for each in (old, new)]
        yield Difference(of=title, name=t("builder.field.drive"), old=shown[0], new=shown[1], words="")
    for name in ON_THE_UNIT:
        was, now = (each.get(name, DEFAULTS.get(name)) if applies(name, each) else None for each in (old, new))
        if was == now or (isinstance(now, str) and name in NUMBERS):
            continue
        shown = ["" if value is None else value_text(name, value, t) for value in (was, now)]
        label = t(f"client_setting.{name}")
        yield Difference(of=title, name=label, old=shown[0], new=shown[1], words=_setting_words(name, was, now, t))


def _setting_words(name: str, was: Any, now: Any, t: Translate) -> str:
    """Says a change as one would: "Time: ten minutes instead of fifteen"."""
    label = _capital(t(f"client_setting.{name}"))
    if now is None:
        return t("compare.gone", name=label)
    if name not in NUMBERS:
        told = {"new": value_text(name, now, t), "old": "" if was is None else value_text(name, was, t)}
    else:
        new = t(f"value.{name}", n="1" if now == 1 else number_words(now, t))
        told = {"new": new, "old": "" if was is None else number_words(was, t)}
    return t("compare.instead" if was is not None else "compare.now", name=label, **told)


def number_words(value: float, t: Translate) -> str:
    """Spells out a small whole number; any other stays in figures."""
    return t(f"number.{int(value)}") if value in IN_WORDS else number_text(value)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _differ(of: str, old: Mapping[str, str], new: Mapping[str, str], t: Translate) -> Iterator[Difference]:
    for name in dict.fromkeys((*old, *new)):
        was, now = old.get(name, ""), new.get(name, "")
        if was != now:
            key = "compare.gone" if not now else "compare.instead" if was else "compare.now"
            words = t(key, name=name, new=now, old=was)
            yield Difference(of=of, name=name, old=was, new=now, words=words)


def _of_exercise(exercise: Plan, t: Translate) -> dict[str, str]:
    slots = ", ".join(t(f"slot.{slot}") for slot in exercise.get("slots", ()))
    told: dict[str, str] = {
        t("builder.field.side"): t(f"side.{exercise['side']}") if exercise.get("side") else "",
        t("builder.field.stimulator"): str(exercise.get("stimulator", {}).get("name", "")),
        t("builder.field.slots"): slots,
        t("builder.field.days"): day_names(list(exercise.get("days", ())), t),
        t("builder.field.task"): str(exercise.get("task", "")),
    }
    for n, (channel, dosed) in enumerate(zip(exercise["channels"], exercise["settings"]["channels"], strict=False), 1):
        told |= _of_channel(channel, dosed, n, t)
    for step in exercise.get("minutes_by_date", ()):
        told[t("compare.from_day", day=_day(step.get("from", ""), t))] = str(step.get("session_min", ""))
    return told


def _of_channel(channel: Plan, dosed: Plan, n: int, t: Translate) -> dict[str, str]:
    def named(field: str) -> str:
        return t("builder.of_channel", n=n, field=t(f"builder.field.{field}"))

    told = {named("name"): str(channel.get("name", ""))}
    for field, kind in (("ceiling", channel), ("intensity", dosed)):
        ma, level = kind.get(f"{field}_ma"), kind.get(f"{field}_level")
        told[named(field)] = f"{ma} mA" if ma is not None else "" if level is None else str(level)
    for k, pad in enumerate(channel.get("pads", ())):
        size = f"{pad.get('width_cm', '')} × {pad.get('height_cm', '')} cm, {t('builder.shape.' + pad['shape'])}"
        told[t("compare.pad", n=n, pad=k + 1)] = f"{pad.get('place', '')} ({size})"
    at = [(pad.get("x_mm"), pad.get("y_mm")) for pad in channel.get("pads", ())]
    if channel.get("view"):
        where = " · ".join(f"{x}, {y}" for x, y in at)
        told[t("compare.drawn", n=n)] = f"{t('drawing.' + channel['view'] + '.any')} ({where} mm)"
    return told


def _of_plan(plan: Plan, t: Translate) -> dict[str, str]:
    return {
        t("builder.field.last_day"): _day(plan.get("last_day", ""), t),
        t("builder.field.most_per_day"): str(plan.get("most_per_day", "")),
        t("builder.field.least_hours_between"): str(plan.get("least_hours_between", "")),
        t("builder.field.cautions"): " · ".join(plan.get("cautions", ())),
    }


def _day(iso: str, t: Translate) -> str:
    return day_text(iso, t) if len(iso) == 10 and iso[4] == iso[7] == "-" and iso.replace("-", "").isdigit() else iso
