"""What stands beside a setting while it is in hand: what more or less does, the usual range, and what if."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue

from webapp.guidance.sources import Source, source
from webapp.guidance.starting_points import note_sources, starting_points
from webapp.prescribing.drafting import Known, Typed, text
from webapp.prescribing.known import read_known
from webapp.prescribing.what_if import alternatives, hills, is_time, rows
from webapp.serving import database, now_ms, require
from webapp.serving import texts as translate
from webapp.stimulation.placement import movement
from webapp.stimulation.ranges import MUSCLE_RANGES, STEADY_RANGES, Range
from webapp.stimulation.units import number_text
from webapp.storage import starting_points as kept
from webapp.therapist import blueprint
from webapp.therapist.own_starts import UNITS, start_title
from webapp.therapist.plan import client_or_refuse, typed_form
from webapp.translations import Translate


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """What to know of one setting."""

    name: str
    text: str
    usual: str
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """One starting point in words; `use` is what its button does."""

    use: str
    title: str
    values: str
    course: str
    memory: str
    sources: tuple[Source, ...]
    compare: str  # names it on the page that compares
    sourced: str = ""
    kept_by: str = ""
    forget: str = ""


def setting_note(draft: Typed, field: str, t: Translate) -> Note | None:
    """Says what more or less of a setting does, what is usual for the movement, and where both come from."""
    name = field.rpartition(".")[2]
    if name not in note_sources():
        return None
    ranges = _usual(draft, field.partition(".")[0], name)
    ids = dict.fromkeys([note_sources()[name], *(one.source for one in ranges)])
    return Note(name=t(f"builder.field.{name}"), text=t(f"note.{name}"), usual=_range_words(ranges, name, t),
                sources=tuple(source(id_) for id_ in ids))


def _usual(draft: Typed, ex: str, name: str) -> list[Range]:
    quantity = {"hold_s": "on_s", "rest_s": "off_s"}.get(name, name)
    steady, made = text(draft, f"{ex}.drive") == "steady", movement(text(draft, f"{ex}.movement"))
    of_goal = [one for one in MUSCLE_RANGES if made and made.goal == one.goal and one.quantity == quantity]
    if of_goal and not steady:
        return of_goal
    return [one for one in (STEADY_RANGES if steady else MUSCLE_RANGES) if one.quantity == quantity]


def _range_words(ranges: list[Range], name: str, t: Translate) -> str:
    if not ranges:
        return ""
    least, most = min(one.least for one in ranges), max(one.most for one in ranges)
    words = f"{number_text(least)}–{number_text(most)} {t(f'builder.unit.{name}')}"
    return t("note.usual" if len({one.goal for one in ranges}) == 1 else "note.usual_any", range=words)


@blueprint.app_template_global("setting_notes")
def setting_notes(draft: Typed, ex: str, names: list[str], t: Translate) -> list[Note]:
    """Lists the notes of the settings that apply, strength and ceiling too."""
    found = (setting_note(draft, f"{ex}.{name}", t) for name in (*names, "intensity", "ceiling"))
    return [note for note in found if note]


@blueprint.app_template_global("starts")
def starts(n: int, known: Known, t: Translate) -> list[Start]:
    """Lists what exercise n can start from: by aim, then the clinic's own."""
    made = [Start(
        use=f"start_from:{n}:{one.id}", title=start_title(one.id, t),
        values=_values(one.settings, one.ranges, t), course=t(f"starting.{one.id}.course"),
        memory=_named("starting.of_memory", one.memory, t),
        sourced=_named("starting.of_sources", [name for name in UNITS if name in one.settings
                                               and name not in one.memory], t),
        sources=tuple(source(id_) for id_ in one.sources), compare=one.id)
        for one in starting_points().values()]  # fmt: skip
    own = [Start(
        use=f"start_from:{n}:own:{one.id}", title=one.name, values=_values(one.content, {}, t), course="", memory="",
        sources=(), compare=f"own:{one.id}", kept_by=one.made_by_name, forget=f"start_forget:{one.id}")
        for one in kept.list_kept(database())]  # fmt: skip
    return [*made, *own]


def _named(key: str, names: Iterable[str], t: Translate) -> str:
    return t(key, names=", ".join(t(f"builder.field.{name}").lower() for name in names))


def _values(settings: Mapping[str, Any], ranges: Mapping[str, str], t: Translate) -> str:
    told = []
    for name, value in settings.items():
        if t_unit := UNITS.get(name):
            words = {"name": t(f"builder.field.{name}").lower(), "value": f"{value} {t_unit}"}
            told.append(t("starting.value_range", range=ranges[name], **words) if name in ranges
                        else t("starting.value", **words))  # fmt: skip
    return "; ".join(told)


@blueprint.post("/clients/<int:client_id>/plan/beside")
@require("therapist", "lead")
def plan_beside(client_id: int) -> ResponseReturnValue:
    known = read_known(database(), client_or_refuse(client_id), now_ms())
    draft, field, t = typed_form(request.form), request.args.get("field", ""), translate()
    found = alternatives(draft, field, known, t) if field.startswith("ex") else ()
    return render_template("therapist/plan_beside.html", note=setting_note(draft, field, t), field=field,
                           found=found, rows=rows(found), hills=hills(found) if is_time(field) else [])
