"""wattlebird.stimulator/1: a unit as the clinic describes it."""

from __future__ import annotations

from webapp.formats.json_text import as_fields
from webapp.formats.reading import Reader, finish, read_object, shown
from webapp.stimulation import plan
from webapp.stimulation.stimulator import (
    BEHAVIOURS,
    SETTABLE_NAMES,
    SIDES,
    SWITCH_SOCKETS,
    UNKNOWN,
    Settable,
    Stimulator,
    UnitChannel,
)

FORMAT = "wattlebird.stimulator/1"
_LONGEST = 2000
_TEXTS = (
    "maker_note",
    "how_to_settings",
    "stored_settings",
    "turn_one_down",
    "pause_does",
    "key_lock",
    "low_battery_sign",
    "start_sign",
)
_CHOICE_NAMES = frozenset(
    name for name in SETTABLE_NAMES if not name.endswith(("_hz", "_us", "_min", "_s", "_ma", "_level"))
)


def _one_value(reader: Reader, name: str, path: str, value: object) -> float | str:
    if name in _CHOICE_NAMES:
        return reader.checked_text(value, path, 60, least=1)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 <= value <= 10_000:
        reader.note(path, "number", least="0", most="10000", value=shown(value))
        return 0
    return value


def _settable(reader: Reader) -> Settable:
    name = reader.choice("name", SETTABLE_NAMES)
    how = reader.text("how", _LONGEST, "")
    if reader.has("values") or name in _CHOICE_NAMES:
        found = reader.entries("values", 1, 60)
        settable = Settable(name=name, how=how, values=tuple(_one_value(reader, name, path, v) for path, v in found))
    else:
        low = reader.number("minimum", 0, 10_000)
        high = reader.number("maximum", 0, 10_000)
        if high < low:
            reader.note(reader.at("maximum"), "range_order", least=low, value=high)
        step = reader.number("step", 0.001, 10_000)
        settable = Settable(name=name, how=how, minimum=low, maximum=high, step=step)
    reader.close()
    return settable


def _settables(reader: Reader) -> tuple[Settable, ...]:
    found = tuple(_settable(one) for one in reader.objects("settings", 0, 40, ()))
    names = [one.name for one in found]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        reader.note(reader.at("settings"), "twice", allowed="the settings", value=name)
    return found


def _unit_channel(reader: Reader) -> UnitChannel:
    channel = UnitChannel(
        socket_side=reader.choice("socket_side", SIDES, UNKNOWN),
        control_side=reader.choice("control_side", SIDES, UNKNOWN),
        lead_mark_a=reader.text("lead_mark_a", 80, ""),
        lead_mark_b=reader.text("lead_mark_b", 80, ""),
    )
    reader.close()
    return channel


def _drives(reader: Reader) -> tuple[str, ...]:
    found = []
    for path, value in reader.entries("drives", 1, len(plan.DRIVES)):
        if value in plan.DRIVES:
            found.append(str(value))
        else:
            reader.note(path, "choice", allowed=", ".join(plan.DRIVES), value=shown(value))
    return tuple(dict.fromkeys(found))


def stimulator_from(reader: Reader) -> Stimulator:
    """Reads the stimulator of one object; its problems are noted in the reader."""
    reader.format(FORMAT)
    limit = reader.whole("session_limit_min", 1, 1440) if reader.has("session_limit_min") else None
    switch_socket = reader.choice("switch_socket", SWITCH_SOCKETS, "none")
    behaviours = {
        name: reader.choice(name, allowed, "none" if name == "switch_does" else UNKNOWN)
        for name, allowed in BEHAVIOURS.items()
    }
    unit = Stimulator(
        name=reader.text("name", 80, least=1),
        channels=tuple(_unit_channel(one) for one in reader.objects("channels", 1, 2)),
        drives=_drives(reader),
        settings=_settables(reader),
        quickest_stop=reader.text("quickest_stop", _LONGEST, least=1),
        switch_socket=switch_socket,
        session_limit_min=limit,
        shows=reader.choice("shows", ("ma", "level"), "ma"),
        **{name: reader.text(name, _LONGEST, "") for name in _TEXTS},
        **behaviours,
    )
    reader.close()
    return unit


def read_stimulator(value: object) -> Stimulator:
    """Reads a stimulator; raises ReadingError with every problem."""
    reader = read_object(value)
    unit = stimulator_from(reader)
    finish(reader)
    return unit


def write_stimulator(unit: Stimulator) -> dict[str, object]:
    """Writes a stimulator as a JSON object."""
    return {"format": FORMAT, **as_fields(unit)}
