"""wattlebird.issued/1: the plan as a client is given it; a ceiling is required for each channel."""

from __future__ import annotations

from itertools import pairwise

from webapp.formats.json_text import as_fields
from webapp.formats.plan_json import FORMAT as PLAN_FORMAT
from webapp.formats.plan_json import MOST_STEADY_MIN, settings_from
from webapp.formats.reading import Reader, finish, read_object, shown
from webapp.formats.stimulator_json import FORMAT as STIMULATOR_FORMAT
from webapp.formats.stimulator_json import stimulator_from
from webapp.stimulation.cue_sheet import Wording
from webapp.stimulation.issued_plan import (
    Asks,
    Call,
    Change,
    Clinic,
    Exercise,
    FirstTrial,
    IssuedPlan,
    MinutesFrom,
    Overridden,
    Pad,
    PlannedChannel,
    SetUpStep,
)
from webapp.stimulation.plan import Channel, Settings

FORMAT = "wattlebird.issued/1"
HOW_OFTEN = ("each", "first_last", "never")
SIDES = ("left", "right", "both", "none")
PARTS = ("pads", "unit", "arm", "phone")
SHAPES = ("square", "rectangle", "round")
SENSATIONS = ("full", "less", "none")
HELPERS = ("each_time", "sometimes", "nobody")
PACES = ("plan", "own")
PHASES = ("rise", "hold", "ease", "rest")
_LINE, _TEXT = 200, 2000


def _pad(reader: Reader) -> Pad:
    pad = Pad(
        place=reader.text("place", _LINE, least=1),
        mark=reader.text("mark", 80, ""),
        width_cm=reader.number("width_cm", 0.5, 30),
        height_cm=reader.number("height_cm", 0.5, 30),
        shape=reader.choice("shape", SHAPES, "square"),
        x_mm=_number(reader, "x_mm", -500, 1500),
        y_mm=_number(reader, "y_mm", -500, 1500),
        photo_x=reader.whole("photo_x", 0, 1000) if reader.has("photo_x") else None,
        photo_y=reader.whole("photo_y", 0, 4000) if reader.has("photo_y") else None,
        sensation=reader.choice("sensation", (*SENSATIONS, ""), ""),
    )
    reader.close()
    return pad


def _trial(reader: Reader) -> FirstTrial:
    names = ("first_feeling", "first_movement", "comfortable_most")
    found = {name: reader.number(name, 0, 1000) for name in names if reader.has(name)}
    trial = FirstTrial(movement_seen=reader.flag("movement_seen", True), **found)
    reader.close()
    return trial


def _number(reader: Reader, name: str, least: float, most: float) -> float | None:
    return reader.number(name, least, most) if reader.has(name) else None


def _channel(reader: Reader) -> PlannedChannel:
    has_ma, has_level = reader.has("ceiling_ma"), reader.has("ceiling_level")
    if has_ma == has_level and not reader.is_broken:
        allowed, value = "ceiling_ma, ceiling_level", "both" if has_ma else "neither"
        reader.note(reader.path, "exactly_one", allowed=allowed, value=value)
    channel = PlannedChannel(
        name=reader.text("name", _LINE, least=1),
        muscle=reader.text("muscle", _LINE, ""),
        pads=tuple(_pad(one) for one in reader.objects("pads", 1, 4)),
        ceiling_ma=reader.number("ceiling_ma", 0.5, 200) if has_ma else None,
        ceiling_level=reader.whole("ceiling_level", 0, 1000) if has_level else None,
        second_place=reader.text("second_place", _LINE, ""),
        pads_apart_cm=_number(reader, "pads_apart_cm", 0, 60),
        view=reader.text("view", 40, least=1) if reader.has("view") else None,
        photo=reader.text("photo", 64, least=64) if reader.has("photo") else None,
        photo_height=reader.whole("photo_height", 250, 4000) if reader.has("photo_height") else None,
        trial=_trial(reader.object("trial")) if reader.has("trial") else None,
    )
    reader.close()
    return channel


def _match_ceilings(reader: Reader, settings: Settings, channels: tuple[PlannedChannel, ...]) -> None:
    if len(channels) != len(settings.channels):
        reader.note(reader.at("channels"), "as_channels", most=len(settings.channels), value=len(channels))
    for n, (planned, channel) in enumerate(zip(channels, settings.channels, strict=False)):
        if (planned.ceiling_ma is None) != (channel.intensity_ma is None):
            path, value = f"{reader.at('channels')}[{n}]", "another"
            reader.note(path, "level_or_ma", allowed=_measure(channel), value=value)


def _measure(channel: Channel) -> str:
    return "ceiling_level" if channel.intensity_ma is None else "ceiling_ma"


def _wording(reader: Reader) -> Wording:
    ready = reader.text("ready", 80) if reader.has("ready") else None
    texts = {name: reader.text(name, 80, "") for name in PHASES}
    say_as, recorded = _by_phase(reader, "say_as", 1, 80), _by_phase(reader, "recorded", 64, 64)
    reader.close()
    return Wording(ready=ready, say_as=say_as, recorded=recorded, **texts)


def _by_phase(reader: Reader, name: str, least: int, most: int) -> dict[str, str] | None:
    """Reads texts by phase; none at all is None, so that a plan without them is written without them."""
    if not reader.has(name):
        return None
    inner = reader.object(name)
    texts = {phase: inner.text(phase, most, least=least) for phase in PHASES if inner.has(phase)}
    inner.close()
    return texts or None


def _step(reader: Reader) -> SetUpStep:
    step = SetUpStep(
        step=reader.whole("step", 1, 99),
        part=reader.choice("part", PARTS),
        text=reader.text("text", _TEXT, least=1),
        picture=reader.text("picture", _LINE, ""),
        short=reader.flag("short", True),
    )
    reader.close()
    return step


def _minutes(reader: Reader) -> MinutesFrom:
    minutes = MinutesFrom(from_day=reader.day("from"), session_min=reader.number("session_min", 1, MOST_STEADY_MIN))
    reader.close()
    return minutes


def _in_order(reader: Reader, name: str, minutes: tuple[MinutesFrom, ...]) -> tuple[MinutesFrom, ...]:
    for before, after in pairwise(minutes):
        if after.from_day <= before.from_day:
            reader.note(reader.at(name), "day_order", least=before.from_day, value=after.from_day)
    return minutes


def _days(reader: Reader) -> tuple[int, ...]:
    days = []
    for path, value in reader.entries("days", 1, 7):
        if type(value) is int and 1 <= value <= 7:
            days.append(value)
        else:
            reader.note(path, "whole_number", least=1, most=7, value=shown(value))
    return tuple(sorted(set(days)))


def _day_or_none(reader: Reader, name: str) -> str:
    """Reads a day that may be left empty."""
    return reader.day(name) if reader.has(name) and reader.text(name, 10, "") else ""


def _exercise(reader: Reader) -> Exercise:
    inner = reader.object("settings")
    settings = settings_from(inner)
    channels = tuple(_channel(one) for one in reader.objects("channels", 1, 2))
    _match_ceilings(reader, settings, channels)
    exercise = Exercise(
        exercise=reader.whole("exercise", 1, 4),
        title=reader.text("title", _LINE, least=1),
        movement=reader.text("movement", 80, ""),
        muscles=reader.texts("muscles", 0, 12, _LINE),
        side=reader.choice("side", SIDES, "none"),
        settings=settings,
        stimulator=stimulator_from(reader.object("stimulator")),
        channels=channels,
        wording=tuple(_wording(one) for one in reader.objects("wording", 1, 2)),
        ready=reader.flag("ready", False),
        sensory_loss=reader.flag("sensory_loss", False),
        pace=reader.choice("pace", PACES) if reader.has("pace") else None,
        walking=reader.flag("walking") if reader.has("walking") else None,
        task=reader.text("task", _TEXT, ""),
        looks_right=reader.text("looks_right", _TEXT, ""),
        set_up_steps=tuple(_step(one) for one in reader.objects("set_up_steps", 0, 60, ())),
        times_a_day=reader.whole("times_a_day", 1, 12),
        days=_days(reader),
        slots=reader.texts("slots", 0, 12, 80),
        minutes_by_date=_in_order(
            reader, "minutes_by_date", tuple(_minutes(one) for one in reader.objects("minutes_by_date", 0, 60, ()))
        ),
        short_steps_from=_day_or_none(reader, "short_steps_from"),
        skin_at_rest=reader.text("skin_at_rest", _LINE, ""),
        tried_on=reader.day("tried_on") if reader.has("tried_on") else None,
        tried_by=reader.text("tried_by", _LINE) if reader.has("tried_by") else None,
    )
    reader.close()
    return exercise


def _asks(reader: Reader) -> Asks:
    asks = Asks(**{name: reader.choice(name, HOW_OFTEN) for name in ("pain", "effort", "help", "note", "skin_later")})
    reader.close()
    return asks


def _call(reader: Reader) -> Call:
    call = Call(**{name: reader.text(name, _TEXT, "") for name in ("who", "phone", "when", "skin")})
    reader.close()
    return call


def _clinic(reader: Reader) -> Clinic:
    clinic = Clinic(name=reader.text("name", _LINE, least=1), lines=reader.texts("lines", 0, 12, _LINE))
    reader.close()
    return clinic


def _change(reader: Reader) -> Change:
    change = Change(
        version=reader.whole("version", 1, 1_000_000),
        words=reader.texts("words", 0, 60, _TEXT),
        unit_changed=reader.flag("unit_changed"),
        unit_steps=reader.texts("unit_steps", 0, 60, _TEXT),
    )
    reader.close()
    return change


def _overridden(reader: Reader) -> Overridden:
    told = {name: reader.text(name, _TEXT, least=1) for name in ("item", "words", "reason", "by")}
    found = Overridden(**told, on=reader.day("on"))
    reader.close()
    return found


def _plan(reader: Reader) -> IssuedPlan:
    reader.format(FORMAT)
    plan = IssuedPlan(
        client_code=reader.text("client_code", 40, least=1),
        plan=reader.whole("plan", 1, 1_000_000),
        version=reader.whole("version", 1, 1_000_000),
        language=reader.text("language", 35, least=2),
        issued_on=reader.day("issued_on"),
        first_day=reader.day("first_day"),
        last_day=reader.day("last_day"),
        working_side=reader.choice("working_side", ("left", "right", "both")),
        least_hours_between=reader.whole("least_hours_between", 0, 72),
        most_per_day=reader.whole("most_per_day", 1, 24),
        time_zone=reader.text("time_zone", 64, least=1),
        asks=_asks(reader.object("asks")),
        exercises=tuple(_exercise(one) for one in reader.objects("exercises", 1, 4)),
        cautions=reader.texts("cautions", 0, 60, _TEXT),
        call=_call(reader.object("call")),
        emergency=reader.text("emergency", _TEXT, ""),
        clinic=_clinic(reader.object("clinic")),
        changes=tuple(_change(one) for one in reader.objects("changes", 0, 1000, ())),
        pads_sessions=reader.whole("pads_sessions", 1, 200) if reader.has("pads_sessions") else None,
        dysreflexia=reader.flag("dysreflexia", False),
        helper=reader.choice("helper", (*HELPERS, ""), ""),
        overrides=tuple(_overridden(one) for one in reader.objects("overrides", 0, 30, ())),
    )
    reader.close()
    return plan


def read_issued(value: object) -> IssuedPlan:
    """Reads an issued plan; raises ReadingError with every problem."""
    reader = read_object(value)
    plan = _plan(reader)
    if plan.first_day and plan.last_day and plan.last_day < plan.first_day:
        reader.note("last_day", "day_order", least=plan.first_day, value=plan.last_day)
    numbers = [exercise.exercise for exercise in plan.exercises]
    for twice in sorted({n for n in numbers if numbers.count(n) > 1}):
        reader.note("exercises", "twice", allowed="the exercise numbers", value=twice)
    finish(reader)
    return plan


def _write_exercise(exercise: Exercise) -> dict[str, object]:
    return {
        **as_fields(exercise),
        "settings": {"format": PLAN_FORMAT, **as_fields(exercise.settings)},
        "stimulator": {"format": STIMULATOR_FORMAT, **as_fields(exercise.stimulator)},
        "minutes_by_date": [{"from": one.from_day, "session_min": one.session_min} for one in exercise.minutes_by_date],
    }


def write_issued(plan: IssuedPlan) -> dict[str, object]:
    """Writes an issued plan as a JSON object."""
    exercises = [_write_exercise(one) for one in plan.exercises]
    return {"format": FORMAT, **as_fields(plan), "exercises": exercises}
