"""The client's pages of a pack: plain HTML, a pure function of the issued plan, the compiled plan and the texts."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from math import ceil
from typing import Any

from jinja2 import Environment

from webapp.prescribing.placing import channel_photo, channel_picture, letter_of, picture_caption
from webapp.prescribing.set_up_steps import known_steps
from webapp.prescribing.setting_words import menu_settings, value_text
from webapp.stimulation.placement import MOVEMENTS
from webapp.translations import Translate

Json = Mapping[str, Any]

EACH_EXERCISE = ("rehearse", "set-up", "zero", "turn-up", "timer", "look", "lost", "end", "skin-after", "questions")
ONCE = (
    "today", "skin", "done", "enough", "no-practice", "wait", "later", "log", "help", "found", "change", "keep",
    "sound", "sound-check", "send",
)
UNIT_STEP = "unit"  # the set-up steps of this part come after the unit is switched on, at zero
MOST_ROWS = 6  # settings that are compared on one screen
LONG_RAMP_S = 1  # a ramp from this long on is named while turning up: the strength comes later than the press
HILL_WIDTH, HILL_TOP = 320, 14
GROUND_OF_ONE, GROUND_OF_TWO = 112, 60  # two hills share the height of a small phone
REST_GAP, SHORTEST_REST = 12, 30


def page_paths(issued: Json) -> tuple[str, ...]:
    """Names every page of a plan's pack."""
    each = [f"{name}-{e['exercise']}" for e in issued["exercises"] for name in EACH_EXERCISE]
    return (*ONCE, *each)


def render_pages(
    env: Environment, issued: Json, compiled: Json, t: Translate, cue_sheets: Sequence[Json] = (),
    photos: Collection[str] = (), only: str = "",
) -> dict[str, str]:
    """Renders every page of a pack, or one only; the same plan, release and language give the same bytes."""
    sheets = {sheet["exercise"]: sheet for sheet in cue_sheets}
    issued = {"dysreflexia": False, "helper": "", **issued}
    shown = [_with_photos(e, photos) for e in issued["exercises"]]
    exercises = [_exercise(e, compiled, sheets.get(e["exercise"]), t) for e in shown]
    shared = {
        "t": t, "issued": issued, "plan": compiled, "exercises": exercises, "language": issued["language"],
        "change": _newest_change(issued), "outside": False,
    }
    each = [(f"{name}-{ex['exercise']}", name, ex) for ex in exercises for name in EACH_EXERCISE]
    wanted = [one for one in (*((name, name, None) for name in ONCE), *each) if only in ("", one[0])]
    return {path: env.get_template(f"client/{name}.html").render(**shared, page=name, module=name, ex=ex)
            for path, name, ex in wanted}


def photo_path(sha256: str) -> str:
    """Names a photo's file in a pack."""
    return f"photos/{sha256[:32]}.jpg"


def photos_named(exercises: Iterable[Json]) -> list[str]:
    """Lists the photos that exercises show, of pads and of steps, by their hash."""
    found = {one for each in exercises for one in (
        *(channel.get("photo") for channel in each["channels"]), *(s.get("picture") for s in each["set_up_steps"]))}
    return sorted(filter(None, found))


def rehearsal_page(
    env: Environment, exercise: Json, t: Translate, photos: Collection[str], *, working_side: str, language: str
) -> str:
    """Renders the page on which the set-up is tried, for a phone that has no pack yet; the plan need not be whole."""
    shown = _with_photos(exercise, photos)
    unit = {"quickest_stop": "", **(shown.get("stimulator") or {})}
    ex = {**shown, "unit": unit, **_steps(shown, list(_places(shown, t)), t)}
    return env.get_template("client/rehearse.html").render(
        t=t, language=language, issued={"working_side": working_side}, page="rehearse", module="rehearse", ex=ex,
        outside=True)


def _with_photos(exercise: Json, kept: Collection[str]) -> dict[str, Any]:
    """Leaves out photos whose files are not there, so that no page shows a broken picture."""
    channels, steps = exercise["channels"], exercise["set_up_steps"]
    shown = [{**one, "photo": one.get("photo") if one.get("photo") in kept else None} for one in channels]
    taught = [{**one, "picture": one.get("picture") if one.get("picture") in kept else ""} for one in steps]
    return {**exercise, "channels": shown, "set_up_steps": taught}


def _steps(exercise: Json, places: Sequence[Json], t: Translate) -> dict[str, Any]:
    """Tells the steps with the unit off from those with it on, each with what it shows."""
    drawn = {text: part for part, texts in known_steps(exercise, t).items() for text in texts}
    shown = [_shown(step, places, drawn) for step in exercise["set_up_steps"]]
    return {"off_steps": [step for step in shown if step["part"] != UNIT_STEP],
            "on_steps": [step for step in shown if step["part"] == UNIT_STEP]}


def _exercise(issued: Json, compiled: Json, sheet: Json | None, t: Translate) -> dict[str, Any]:
    """Gathers what the pages of one exercise show."""
    settings = issued["settings"]
    ready = next(e for e in compiled["exercises"] if e["exercise"] == issued["exercise"])
    places = list(_places(issued, t))
    return {
        **issued,
        "ready": ready,
        "unit": issued["stimulator"],
        "places": places,
        **_steps(issued, places, t),
        "drive": settings["drive"],
        "minutes": round(ready["session_s"] / 60),
        "ramp_up_s": _long_ramp(settings),
        "hills": _hills(sheet) if sheet and settings["drive"] != "steady" else [],
        "menu": (menu := list(_menu(issued, t))),
        "menu_parts": _parts([*menu, (t("client.zero.strength"), {"text": "0", "minutes": False})]),
        "goals": [_goal(issued, channel, t) for channel in issued["channels"]],
        "signs": {name: _sentence(issued["stimulator"].get(f"{name}_sign", "")) for name in ("start", "low_battery")},
        "sets_minutes": next((s for s in issued["stimulator"]["settings"] if s["name"] == "session_min"), None),
        "turn_up_when": _turn_up_when(settings["drive"], ready["sensory_loss"]),
    }


def _menu(issued: Json, t: Translate) -> Iterator[tuple[str, dict[str, Any]]]:
    """Lists what to compare on the unit, in the order of its own menu."""
    for name, value in menu_settings(issued["stimulator"], issued["settings"]):
        yield t(f"client_setting.{name}"), {"text": value_text(name, value, t), "minutes": name == "session_min"}


def _parts(rows: list[Any]) -> list[list[Any]]:
    """Splits a list so that each part fits a small screen together with its answers."""
    parts = ceil(len(rows) / MOST_ROWS)
    size = ceil(len(rows) / parts)
    return [rows[start : start + size] for start in range(0, len(rows), size)]


def _goal(issued: Json, channel: Json, t: Translate) -> str:
    """Says how one channel's movement looks.

    The plan's words are about all channels. Of two that work in turn each is turned up alone, and only its own movement
    is there to be seen: then the words of the movement that it is named after, or none.
    """
    if len(issued["channels"]) == 1 or issued["settings"].get("relation") != "alternating":
        return str(issued.get("looks_right", ""))
    named = (one for one in MOVEMENTS if t(f"channel_name.{one.id}") == channel["name"])
    return next((t(f"looks_right.{one.id}") for one in named), "")


def _sentence(words: str) -> str:
    """Makes a sentence of what somebody wrote in half a line."""
    trimmed = words.strip().rstrip(".")
    return f"{trimmed[0].upper()}{trimmed[1:]}." if trimmed else ""


def _turn_up_when(drive: str, sensory_loss: bool) -> str:
    """Names the text that says when a step up is allowed; who does not feel it looks at the muscle instead."""
    if drive == "steady":
        return "client.turn_up.when_steady"
    return "client.turn_up.when_seen" if sensory_loss else "client.turn_up.when"


def _long_ramp(settings: Json) -> str:
    ramp = settings.get("ramp_up_s", 0)
    return f"{ramp:g}" if ramp >= LONG_RAMP_S else ""


def _places(issued: Json, t: Translate) -> Iterator[dict[str, Any]]:
    """Lists the pad places in the order in which a record counts them, each with its drawing where there is one."""
    n = 0
    for number, channel in enumerate(issued["channels"], 1):
        for k, pad in enumerate(channel["pads"]):
            yield {
                **pad, "n": n, "channel": number, "of": channel["name"], "second": channel.get("second_place", ""),
                "less": bool(issued.get("sensory_loss")),
                "letter": letter_of(number, k),
                "drawing": channel_picture(issued, number, t, now=k, large=True),
                "caption": picture_caption(issued, number, t),
                "photo": channel_photo(issued, number, t, photo_path(channel["photo"] or ""), now=k),
            }  # fmt: skip
            n += 1


def _shown(step: Json, places: Sequence[Json], drawn: Mapping[str, str]) -> dict[str, Any]:
    """Puts what a step shows beside it: its own photo, the place of the pad it speaks of, a picture of what is done.

    A step about pads that a therapist wrote in her own words has no picture: a wrong one is worse than none.
    """
    spoken_of = [place for place in places if step["part"] == "pads" and place["place"] in step["text"]]
    photo = photo_path(step["picture"]) if step.get("picture") else ""
    return {**step, "picture": photo, "at": spoken_of[0] if spoken_of else None,
            "drawn": drawn.get(step["text"], "" if step["part"] == "pads" else step["part"])}


def _newest_change(issued: Json) -> Json | None:
    return next((c for c in issued.get("changes", ()) if c["version"] == issued["version"]), None)


def _hills(sheet: Json) -> list[dict[str, Any]]:
    """Draws each channel's cycle to scale: the line, the shape under it, and where its ground lies."""
    ground = GROUND_OF_TWO if len(sheet["channels"]) > 1 else GROUND_OF_ONE
    return [_hill(channel, sheet["cycle_ms"], ground) for channel in sheet["channels"]]


def _hill(channel: Json, cycle_ms: int, ground: int) -> dict[str, Any]:
    high = ground - HILL_TOP
    points = [(HILL_WIDTH * ms / cycle_ms, ground - high * level / 1000) for ms, level in channel["hill"]]
    line = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    working = [x for x, y in points if y < ground]
    rests = list(_rests(points, ground))
    return {
        "channel": channel["channel"],
        "ground": ground,
        "top": HILL_TOP,
        "line": line,
        "shape": f"{line}V{ground}H0Z",
        "rests": "".join(f"M{start + REST_GAP:.1f} {ground}H{end - REST_GAP:.1f}" for start, end in rests),
        "working_x": _middle(working[0], working[-1]) if working else "",
        "resting_x": _middle(*max(rests, key=lambda rest: rest[1] - rest[0])) if rests else "",
    }


def _rests(points: Sequence[tuple[float, float]], ground: int) -> Iterator[tuple[float, float]]:
    """Finds the level ground that is long enough to be drawn as rest."""
    for (x1, y1), (x2, y2) in pairwise(points):
        if y1 == y2 == ground and x2 - x1 >= SHORTEST_REST:
            yield x1, x2


def _middle(start: float, end: float) -> str:
    return f"{(start + end) / 2:.1f}"
