"""Describing a unit: every field there and back, its menu's rows, what is refused."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from tests.therapist.house import House
from webapp.formats.stimulator_json import FORMAT, read_stimulator, write_stimulator
from webapp.stimulation.stimulator import BEHAVIOURS, SETTABLE_NAMES
from webapp.storage import stimulators
from webapp.therapist import stimulator_form as fields
from webapp.therapist.form import Form

GREY_BOX: dict[str, Any] = {
    "format": FORMAT, "name": "Grey two-channel unit", "maker_note": "In the second drawer", "shows": "ma",
    "drives": ["cycled", "switched"], "switch_socket": "hand", "session_limit_min": 60,
    "channels": [{"socket_side": "left", "control_side": "top", "lead_mark_a": "red", "lead_mark_b": "black"},
                 {"socket_side": "right", "control_side": "unknown", "lead_mark_a": "one ring", "lead_mark_b": ""}],
    "settings": [
        {"name": "relation", "values": ["together", "alternating"], "how": "Hold M"},
        {"name": "session_min", "values": [5, 10, 20.5], "how": ""},
        {"name": "ramp_up_s", "minimum": 0.5, "maximum": 5, "step": 0.5, "how": "Press S twice"},
    ],
    "quickest_stop": "Press the round button once.", "turn_one_down": "Press the lower half.", "pause_does": "",
    "key_lock": "", "low_battery_sign": "A red light", "start_sign": "", "how_to_settings": "", "stored_settings": "",
    **{name: allowed[0] for name, allowed in BEHAVIOURS.items()},
}


def sent(form: Form) -> dict[str, Any]:
    return {name: values if len(values) > 1 else values[0] for name, values in form.values.lists() if values}


def test_whole_description_goes_there_and_back(house: House) -> None:
    """A unit that is shown in the form and saved unchanged is the same unit, field for field."""
    described = write_stimulator(read_stimulator(GREY_BOX))
    with house.practice.store.write(house.db):
        stimulators.add(house.db, described, 1)
    otto = house.browser("otto")
    page = otto.get("/clinic/stimulators/1").text
    for shown in ("In the second drawer", "one ring", "5, 10, 20.5", "Press S twice", "A red light"):
        assert shown in page
    assert otto.send("/clinic/stimulators/1", **sent(fields.form_of(described))).status_code == 303
    stored = stimulators.read(house.db, 1)
    assert stored
    assert stored.description == described
    assert house.actions()[-1] == "stimulator_changed"


def test_new_unit_knows_nothing_by_itself(house: House) -> None:
    """A new form promises nothing: every behaviour is “not known” until somebody says otherwise."""
    form = fields.new_form()
    unknown = [name for name in BEHAVIOURS if form.value(name) != "unknown"]
    assert unknown == ["switch_does"]


def test_quickest_stop_and_ranges_are_needed(house: House) -> None:
    """A unit without the quickest stop, or with an unfinished range, is not saved; each field says why."""
    form = fields.new_form()
    form.values["name"] = "Half described"
    page = house.browser("otto").send("/clinic/stimulators/new", **sent(form))
    assert page.status_code == 422
    assert "The quickest way to stop it:</b> Please fill this in." in page.text
    assert "Frequency, Hz, from:</b> Please fill this in." in page.text
    assert "Half described" in page.text
    assert house.db["stimulators"].count == 0


def test_rows_move_without_a_script(house: House) -> None:
    """The buttons of the menu move, remove and add rows on the server, and keep everything else as typed."""
    otto = house.browser("otto")
    form = fields.new_form()
    form.values["name"] = "Keeps “this”"
    form.values["set_2_how"] = "the second one"
    page = otto.send("/clinic/stimulators/new", act="up-2", **sent(form))
    assert page.status_code == 200
    assert 'name="set_1_name" value="pulse_width_us"' in page.text
    assert 'name="set_1_how" type="text" value="the second one"' in page.text
    assert "Keeps “this”" in page.text
    added = otto.send("/clinic/stimulators/new", act="add", add_name="relation", **sent(form)).text
    assert 'name="set_8_name" value="relation"' in added
    removed = otto.send("/clinic/stimulators/new", act="remove-1", **sent(form)).text
    assert 'value="frequency_hz"' in removed.split('id="add_name"')[1]
    assert house.db["stimulators"].count == 0


def test_decimal_commas_are_read(house: House) -> None:
    """Numbers are read with a decimal comma; lists with semicolons then."""
    form = fields.form_of(write_stimulator(read_stimulator(GREY_BOX)))
    form.values["set_3_minimum"], form.values["set_2_values"] = "0,5", "2,5; 5"
    described = _described(house, form)
    assert described["settings"][2]["minimum"] == 0.5
    assert described["settings"][1]["values"] == [2.5, 5]


def test_wrong_numbers_are_named(house: House) -> None:
    """What is no number, or a range upside down, is named with what was typed."""
    form = fields.form_of(write_stimulator(read_stimulator(GREY_BOX)))
    for name, typed in (("set_3_minimum", "9"), ("set_2_values", "five"), ("session_limit_min", "1.5")):
        form.values[name] = typed
    _described(house, form)
    assert set(form.errors) == {"set_3_maximum", "set_2_values", "session_limit_min"}


def test_unit_like_another_starts_with_its_description(house: House) -> None:
    """“New one like it” shows everything but the name."""
    with house.practice.store.write(house.db):
        stimulators.add(house.db, write_stimulator(read_stimulator(GREY_BOX)), 1)
    page = house.browser("otto").get("/clinic/stimulators/new?like=1").text
    assert "Press the round button once." in page
    assert 'value="Grey two-channel unit"' not in page


def test_archived_unit_leaves_the_list(house: House) -> None:
    """An archived unit is offered no more, and can be taken back."""
    with house.practice.store.write(house.db):
        stimulators.add(house.db, write_stimulator(read_stimulator(GREY_BOX)), 1)
    otto = house.browser("otto")
    otto.send("/clinic/stimulators/1/archive")
    assert "One archived unit" in otto.get("/clinic/stimulators").text
    otto.send("/clinic/stimulators/1/take-back")
    assert [one.name for one in stimulators.list_active(house.db)] == ["Grey two-channel unit"]


def _described(house: House, form: Form) -> dict[str, Any]:
    with house.app.test_request_context("/clinic/"):
        return fields.read_description(form)


@given(st.lists(st.sampled_from(SETTABLE_NAMES), unique=True), st.integers(-3, 30),
       st.sampled_from(["up", "down", "remove", "add", "x"]), st.sampled_from((*SETTABLE_NAMES, "nothing")))
@settings(max_examples=200)
def test_menu_never_loses_or_doubles_a_row(names: list[str], at: int, verb: str, adding: str) -> None:
    """Whatever button comes, moving keeps the rows, adding adds at most one, removing takes at most one."""
    form = Form(MultiDict({"add_name": adding}))
    fields.write_rows(form, [fields.Row(name=name, how=f"how {name}") for name in names])
    fields.change_menu(form, f"{verb}-{at}")
    rows = fields.read_rows(form)
    found = [row.name for row in rows]
    assert len(found) == len(set(found))
    assert all(row.how in {f"how {row.name}", ""} for row in rows)
    if verb in {"up", "down", "x"}:
        assert sorted(found) == sorted(names)
    else:
        assert len(set(found) ^ set(names)) <= 1
