"""Where it comes from: each text that tells somebody what to do, each range and limit, and each source in full."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from flask import render_template
from flask.typing import ResponseReturnValue

from webapp.guidance.sources import Source, source, sources
from webapp.guidance.text_sources import sources_of, texts_with_sources
from webapp.serving import require
from webapp.serving import texts as translate
from webapp.stimulation.ranges import MUSCLE_RANGES, STEADY_RANGES
from webapp.stimulation.units import number_text
from webapp.therapist import blueprint
from webapp.translations import catalogue

AREAS = (  # first parts of a key, and the area that its texts are shown in; the order is the page's
    ("client.cautions", "never"), ("sheet.caution", "never"), ("client.rules", "stop"), ("sheet.stop", "stop"),
    ("client.stop", "stop"), ("client.dysreflexia", "stop"), ("client.trouble", "trouble"), ("client.lost", "trouble"),
    ("client.skin", "skin"), ("client.wait", "skin"), ("client.no_practice", "skin"), ("client.later", "skin"),
    ("client.look", "skin"), ("client.turn_up", "session"), ("client.pause", "session"), ("client.end", "session"),
    ("client.done", "session"), ("phone.tell", "session"),
    ("step", "steps"), ("practised", "session"), ("teach.on", "session"), ("placement", "places"),
    ("looks_right", "places"), ("ability", "abilities"), ("threshold", "thresholds"))  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One text or range, with where it comes from."""

    text: str
    sources: tuple[Source, ...]


def texts_by_area() -> dict[str, list[Told]]:
    """Lists each area's texts, those of one source together, as they were written."""
    words = catalogue("en")
    areas: dict[str, list[Told]] = {area: [] for _, area in AREAS}
    for key in texts_with_sources(words):
        area = next(area for start, area in AREAS if key.startswith(start))
        areas[area].append(Told(text=words[key], sources=sources_of(key)))
    return areas


def grouped(told: list[Told]) -> list[tuple[tuple[Source, ...], list[str]]]:
    """Puts texts of the same sources together."""
    by = sorted(told, key=lambda one: [each.id for each in one.sources])
    return [(of, [one.text for one in each]) for of, each in groupby(by, key=lambda one: one.sources)]


def ranges() -> Iterator[Told]:
    """Lists what trials and reviews used, by aim."""
    t = translate()
    for one in (*MUSCLE_RANGES, *STEADY_RANGES):
        span = t("sources.range", least=number_text(one.least), most=number_text(one.most))
        goal, what = t(f"sources.goal.{one.goal}"), t(f"sources.what.{one.quantity}")
        yield Told(text=t("sources.range_of", goal=goal, what=what, span=span), sources=(source(one.source),))


@blueprint.get("/sources")
@require("therapist", "lead", "administrator")
def sources_shown() -> ResponseReturnValue:
    areas = {area: grouped(told) for area, told in texts_by_area().items()}
    return render_template("therapist/sources.html", areas=areas, ranges=grouped(list(ranges())),
                           sources=list(sources().values()))
