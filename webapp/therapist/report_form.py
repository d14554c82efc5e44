"""The form of a report: what goes in is chosen; a client's words only with their say, a photo only by itself."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from werkzeug.datastructures import MultiDict

from webapp.therapist.form import Form
from webapp.therapist.goal_form import EARLIEST
from webapp.therapist.report_facts import ASKS, PARTS, READERS, Chosen

TEXT_LONGEST = 400  # with all three texts this long the first page still is one page
SHORT_LONGEST = 80
LISTS, TICKS = ("parts", "asks"), ("first_name", "words_agreed")
ALWAYS_ON = tuple(part for part in PARTS if part != "words")


def blank_report(first: date, last: date) -> Form:
    """Gives the form of a client's first report."""
    return report_form({"reader": READERS[0], "parts": list(ALWAYS_ON)}, first, last)


def report_form(kept: Mapping[str, Any], first: date, last: date) -> Form:
    """Gives a form as the last report had it, up to today; what the client agrees to, photos too, is asked anew."""
    values: MultiDict[str, str] = MultiDict()
    for name in ("reader", "reader_name", "aim", "training", "asked", "why"):
        values[name] = str(kept.get(name, ""))
    for name in LISTS:
        values.setlist(name, [str(one) for one in kept.get(name, ())])
    if kept.get("first_name"):
        values["first_name"] = "yes"
    values["first"], values["last"] = first.isoformat(), last.isoformat()
    return Form(values)


def read_report_form(form: Form, today: date, photos: Collection[str] = ()) -> Chosen | None:
    """Reads what was chosen, of the photos that there are; None where something is to be mended."""
    reader = form.choice("reader", READERS)
    first, last = form.day("first", EARLIEST, today), form.day("last", EARLIEST, today)
    parts, asks = (tuple(one for one in known if one in form.values.getlist(name))
                   for name, known in (("parts", PARTS), ("asks", ASKS)))
    texts = {name: form.text(name, most=TEXT_LONGEST) for name in ("aim", "training", "why")}
    named = {name: form.text(name, most=SHORT_LONGEST) for name in ("reader_name", "asked")}
    agreed = form.value("words_agreed") == "yes"
    if not parts:
        form.refuse("parts", "report.choose_parts")
    if "words" in parts and not agreed:
        form.refuse("words_agreed", "report.words_need_say")
    if first and last and first > last:
        form.refuse("last", "report.ends_before")
    if not form.ok or first is None or last is None:
        return None
    return Chosen(reader=reader, first=first, last=last, parts=parts, asks=asks, words_agreed=agreed,
                  first_name=form.value("first_name") == "yes",
                  photos=tuple(one for one in photos if one in form.values.getlist("photos")), **texts, **named)
