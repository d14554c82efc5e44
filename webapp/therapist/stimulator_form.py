"""The form of a stimulator: from wattlebird.stimulator/1 to fields and back, its menu as rows that move."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from webapp.formats.reading import ReadingError
from webapp.formats.stimulator_json import FORMAT, read_stimulator, write_stimulator
from webapp.stimulation import plan
from webapp.stimulation.stimulator import BEHAVIOURS, SETTABLE_NAMES, SIDES, SWITCH_SOCKETS, UNKNOWN
from webapp.therapist.form import LONG, Form, plain

CHOICES: dict[str, tuple[str, ...]] = {
    "drive": plan.DRIVES, "waveform": plan.WAVEFORMS, "pattern": plan.PATTERNS, "ramps": plan.RAMPS,
    "relation": plan.RELATIONS, "delay_effect": plan.DELAY_EFFECTS, "delay_from": plan.DELAY_FROM,
    "alternating_rest": plan.ALTERNATING_RESTS, "starts_with": plan.STARTS_WITH, "at_end": plan.AT_END,
}
RHYTHM = ("ramps", "alternating_rest", "delay_from", "delay_effect", "starts_with", "at_end")
HABITS = ("clock_from", "pause_stops_clock", "strength_changes", "lost_contact", "settings_survive_off")
WORDS = ("quickest_stop", "turn_one_down", "pause_does", "start_sign", "low_battery_sign", "key_lock",
         "how_to_settings", "stored_settings")
SHOWS = ("ma", "level")
USUAL_MENU = ("frequency_hz", "pulse_width_us", "session_min", "ramp_up_s", "hold_s", "ramp_down_s", "rest_s")
HIGHEST = 10_000
MOST_VALUES = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One entry of the unit's menu as typed; numbers are a range or a list, choices a list."""

    name: str
    minimum: str = ""
    maximum: str = ""
    step: str = ""
    values: tuple[str, ...] = ()
    how: str = ""

    @property
    def is_choice(self) -> bool:
        return self.name in CHOICES


def blank_form() -> dict[str, Any]:
    """Gives the fields of a new stimulator: everything about how it behaves is unknown."""
    unknown = {name: "none" if name == "switch_does" else UNKNOWN for name in BEHAVIOURS}
    sides = {f"channel_{n}_{part}_side": UNKNOWN for n in (1, 2) for part in ("socket", "control")}
    return {"channels_n": "2", "shows": "ma", "switch_socket": "none", **unknown, **sides}


def form_of(description: dict[str, Any]) -> Form:
    """Fills a form from a stored description."""
    form = Form({**blank_form(), **{name: value for name, value in description.items()
                                    if isinstance(value, str | int) and name != "format"}})
    form.values["channels_n"] = str(len(description["channels"]))
    for n, channel in enumerate(description["channels"], 1):
        for name, value in channel.items():
            form.values[f"channel_{n}_{name}"] = value
    form.values.setlist("drives", description["drives"])
    write_rows(form, [_row_of(one) for one in description["settings"]])
    return form


def new_form() -> Form:
    form = Form(blank_form())
    form.values.setlist("drives", ["cycled"])
    write_rows(form, [Row(name=name) for name in USUAL_MENU])
    return form


def _row_of(settable: dict[str, Any]) -> Row:
    numbers = {name: plain(settable[name]) for name in ("minimum", "maximum", "step")
               if settable.get(name) is not None}
    values = tuple(plain(one) if isinstance(one, int | float) else one for one in settable.get("values") or ())
    return Row(name=settable["name"], values=values, how=settable.get("how", ""), **numbers)


def read_rows(form: Form) -> list[Row]:
    """Reads the menu's rows in their order; a name that is not known is left out."""
    rows: list[Row] = []
    while (name := form.value(f"set_{len(rows) + 1}_name")) in SETTABLE_NAMES:
        at = f"set_{len(rows) + 1}"
        values = tuple(form.values.getlist(f"{at}_values"))
        rows.append(Row(name=name, minimum=form.value(f"{at}_minimum"), maximum=form.value(f"{at}_maximum"),
                        step=form.value(f"{at}_step"), values=values, how=form.value(f"{at}_how")))
    return rows


def write_rows(form: Form, rows: list[Row]) -> None:
    """Puts the menu's rows into a form, numbered anew."""
    for name in [name for name in form.values if name.startswith("set_")]:
        form.values.poplist(name)
    for n, row in enumerate(rows, 1):
        for part in ("name", "minimum", "maximum", "step", "how"):
            form.values[f"set_{n}_{part}"] = getattr(row, part)
        form.values.setlist(f"set_{n}_values", list(row.values) if row.is_choice else [", ".join(row.values)])


def change_menu(form: Form, act: str) -> int:
    """Adds, removes or moves a row as a button asks; gives the row to look at next."""
    rows, (verb, _, place) = read_rows(form), act.partition("-")
    at = int(place) - 1 if place.isdecimal() else -1
    adding = form.value("add_name")
    if verb == "add" and adding in SETTABLE_NAMES and adding not in [row.name for row in rows]:
        rows.append(Row(name=adding))
        at = len(rows) - 1
    elif verb == "remove" and 0 <= at < len(rows):
        del rows[at]
    elif verb in {"up", "down"} and 0 <= at < len(rows):
        to = max(0, min(len(rows) - 1, at + (1 if verb == "down" else -1)))
        rows.insert(to, rows.pop(at))
        at = to
    write_rows(form, rows)
    return min(at, len(rows) - 1) + 1


def read_description(form: Form) -> dict[str, Any]:
    """Reads the whole form as wattlebird.stimulator/1; problems stand in the form."""
    channels_n = 1 if form.choice("channels_n", ("1", "2")) == "1" else 2
    described: dict[str, Any] = {
        "format": FORMAT, "name": form.text("name", required=True, most=80),
        "maker_note": form.text("maker_note", most=LONG // 2), "shows": form.choice("shows", SHOWS),
        "drives": _drives(form), "channels": [_channel(form, n) for n in range(1, channels_n + 1)],
        "switch_socket": form.choice("switch_socket", SWITCH_SOCKETS),
        **{name: form.choice(name, allowed) for name, allowed in BEHAVIOURS.items()},
        **{name: form.text(name, required=name == "quickest_stop", most=LONG // 2) for name in WORDS},
        "settings": [_settable(form, f"set_{n}", row) for n, row in enumerate(read_rows(form), 1)],
    }
    limit = form.whole("session_limit_min", 1, 1440)
    if limit is not None:
        described["session_limit_min"] = limit
    return _as_the_format_says(form, described)


def _as_the_format_says(form: Form, described: dict[str, Any]) -> dict[str, Any]:
    """Lets the format's own reader have the last word."""
    if form.ok:
        try:
            return write_stimulator(read_stimulator(described))
        except ReadingError as error:
            for problem in error.problems:
                form.refuse("name", f"problem.{problem.key}", path=problem.path, **problem.params)
    return described


def _drives(form: Form) -> list[str]:
    drives = [drive for drive in form.values.getlist("drives") if drive in plan.DRIVES]
    if not drives:
        form.refuse("drives", "stimulator.no_drive")
    return drives


def _channel(form: Form, n: int) -> dict[str, str]:
    at = f"channel_{n}"
    return {"socket_side": form.choice(f"{at}_socket_side", SIDES),
            "control_side": form.choice(f"{at}_control_side", SIDES),
            "lead_mark_a": form.text(f"{at}_lead_mark_a", most=80),
            "lead_mark_b": form.text(f"{at}_lead_mark_b", most=80)}


def _settable(form: Form, at: str, row: Row) -> dict[str, Any]:
    said = {"name": row.name, "how": form.text(f"{at}_how", most=LONG // 2)}
    if row.is_choice:
        chosen = [value for value in row.values if value in CHOICES[row.name]]
        if not chosen:
            form.refuse(f"{at}_values", "stimulator.no_choice")
        return {**said, "values": chosen}
    if typed := ", ".join(row.values).strip():
        return {**said, "values": _numbers(form, f"{at}_values", typed)}
    return {**said, **_range(form, at)}


def _numbers(form: Form, name: str, typed: str) -> list[float]:
    """Reads a list such as "1, 2, 5"; with semicolons a comma is a decimal one."""
    parts = [part.strip() for part in (typed.split(";") if ";" in typed else typed.split(",")) if part.strip()]
    try:
        numbers = [float(part.replace(",", ".")) for part in parts]
    except ValueError:
        numbers = []
    if not 1 <= len(numbers) <= MOST_VALUES or not all(0 <= number <= HIGHEST for number in numbers):
        form.refuse(name, "stimulator.list_form", most=MOST_VALUES, typed=typed[:40])
    return sorted(set(numbers))


def _range(form: Form, at: str) -> dict[str, float]:
    low = form.number(f"{at}_minimum", 0, HIGHEST, required=True)
    high = form.number(f"{at}_maximum", 0, HIGHEST, required=True)
    step = form.number(f"{at}_step", 0.001, HIGHEST, required=True)
    if low is not None and high is not None and high < low:
        form.refuse(f"{at}_maximum", "stimulator.range_order", low=plain(low))
    return {"minimum": low or 0, "maximum": high or 0, "step": step or 1}


def shown_rows(form: Form) -> list[Row]:
    """Gives the rows as the page shows them."""
    return [replace(row, values=row.values if row.is_choice else (", ".join(row.values),)) for row in read_rows(form)]
