"""The printed sheet: the plan in large print on the front, a diary on the back."""

from __future__ import annotations

from functools import partial
from typing import Any

from flask import render_template
from flask.typing import ResponseReturnValue

from webapp.formats.plan_json import read_settings
from webapp.prescribing.changes import day_names, day_text
from webapp.prescribing.equipment import things
from webapp.prescribing.placing import channel_picture, letter_of, what_is_drawn
from webapp.prescribing.setting_words import menu_settings, value_text
from webapp.qr_image import qr_svg
from webapp.serving import database, require, settings
from webapp.serving import texts as translate
from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.hill import hill_points
from webapp.stimulation.units import number_text
from webapp.storage import equipment
from webapp.therapist import blueprint
from webapp.therapist.holding import refuse_if_stopped
from webapp.therapist.issue import plan_or_refuse
from webapp.therapist.link_codes import link_address, shown_code
from webapp.therapist.plan import client_or_refuse
from webapp.translations import Translate, translator


@blueprint.get("/clients/<int:client_id>/plans/<int:version>/sheet")
@require("therapist", "lead")
def sheet(client_id: int, version: int) -> ResponseReturnValue:
    client, plan = client_or_refuse(client_id), plan_or_refuse(client_id, version)
    refuse_if_stopped(client_id)
    t = translate() if translate()("app.name").startswith("⟦") else translator(plan.issued["language"])
    code = shown_code(client_id)
    return render_template(
        "print/sheet.html", client=client, plan=plan, issued=plan.issued, c=t, code=code, day=partial(day_text, t=t),
        exercises=[sheet_exercise(each, t) for each in plan.issued["exercises"]],
        things=things(plan.issued, equipment.read(database(), client_id), t),
        qr=qr_svg(link_address(code), t("sheet.qr")) if code else "", address=f"{settings().public_url}/join")


def sheet_exercise(exercise: dict[str, Any], t: Translate) -> dict[str, Any]:
    """Gives one exercise as the sheet shows it: words and hills, nothing left to work out."""
    planned = read_settings(exercise["settings"])
    cycle = work_out_cycle(planned)
    hills = [[(ms, round(level * 1000)) for ms, level in hill_points(planned, n + 1)]
             for n in range(len(planned.channels))]
    rows = [(t(f"client_setting.{name}"), value_text(name, value, t))
            for name, value in menu_settings(exercise["stimulator"], exercise["settings"])]
    slots = ", ".join(t(f"slot.{slot}") for slot in exercise["slots"])
    when = t("sheet.when", days=day_names(exercise["days"], t), slots=slots, n=number_text(planned.session_min))
    numbers = range(1, len(hills) + 1)
    drawn = [channel_picture(exercise, number, t, large=True) for number in numbers]
    shown = [what_is_drawn(exercise, number, t) for number in numbers]
    letters = [[letter_of(number, k) for k in range(4)] for number in numbers]
    return {**exercise, "hills": hills, "drawings": drawn, "shown": shown, "letters": letters,
            "cycle_ms": cycle.cycle_ms, "cycle_s": number_text(cycle.cycle_ms / 1000),
            "rows": rows, "when": when, "strengths": [_strength(exercise, n, t) for n in range(len(hills))]}


def _strength(exercise: dict[str, Any], n: int, t: Translate) -> str:
    channel, dosed = exercise["channels"][n], exercise["settings"]["channels"][n]
    unit = " mA" if "ceiling_ma" in channel else ""
    start = dosed.get("intensity_ma", dosed.get("intensity_level"))
    ceiling = channel.get("ceiling_ma", channel.get("ceiling_level"))
    return t("sheet.strength", start=f"{number_text(start)}{unit}", ceiling=f"{number_text(ceiling)}{unit}")
