"""Starting points, notes beside the settings, and what the numbers would be a step away."""

from __future__ import annotations

import re

import pytest

from tests.prescribing.invented import T, known, typed_draft
from webapp.formats.plan_json import read_settings
from webapp.guidance.sources import source
from webapp.guidance.starting_points import AIMS, note_sources, starting_points
from webapp.prescribing.drafting import read_exercise
from webapp.prescribing.editing import apply_action
from webapp.prescribing.starting import kept_settings
from webapp.prescribing.what_if import alternatives, hills, rows

STARTS = starting_points()


def test_every_aim_has_a_starting_point() -> None:
    """Strength, relearning, shoulder, foot, spasticity and pain: none is missing, none unknown."""
    assert {one.aim for one in STARTS.values()} == set(AIMS)


@pytest.mark.parametrize("id_", STARTS)
def test_each_value_lies_in_its_range_and_has_a_source_or_says_that_it_has_none(id_: str) -> None:
    """Each names sources that resolve, values without one by name, and lies within what it says trials used."""
    one = STARTS[id_]
    assert one.sources
    assert all(source(id_) for id_ in one.sources)
    assert set(one.memory) <= set(one.settings)
    for name, words in one.ranges.items():
        numbers = [float(n) for n in re.findall(r"[\d.]+", words)]
        least, most = min(numbers), max(numbers) if len(numbers) > 1 else max(*numbers, one.settings[name])
        assert least <= one.settings[name] <= most, name
    assert T(f"starting.{id_}.course").endswith(".")


@pytest.mark.parametrize("id_", STARTS)
def test_one_press_sets_the_settings_and_nothing_else(id_: str) -> None:
    """Strength, ceiling, pads and words stay; what comes out can be read as settings."""
    before = typed_draft()
    after = apply_action(before, f"start_from:1:{id_}", known(), T)
    changed = {name for name in after if after[name] != before.get(name)}
    steps = {name for name in changed if re.match(r"ex1\.(step\d|steps_made)", name)}
    assert changed - steps <= {f"ex1.{name}" for name in STARTS[id_].settings}
    settings = read_settings(read_exercise(after, 1, known())["settings"])
    assert (settings.frequency_hz, settings.session_min) == (
        STARTS[id_].settings["frequency_hz"], STARTS[id_].settings["session_min"])  # fmt: skip


def test_the_clinics_own_starting_point_gives_back_what_was_kept() -> None:
    """What one exercise kept, another takes over; a strength is not among it."""
    kept = kept_settings(typed_draft() | {"ex1.hold_s": "9", "ex1.frequency_hz": "28"}, 1)
    assert not [name for name in kept if "intensity" in name or "ceiling" in name or "pad" in name]
    after = apply_action(typed_draft(), "start_from:1:own:7", known(own_starts={"7": kept}), T)
    assert (after["ex1.hold_s"], after["ex1.frequency_hz"]) == ("9", "28")


@pytest.mark.parametrize("name", note_sources())
def test_each_setting_says_what_more_or_less_does_with_a_source(name: str) -> None:
    """One or two sentences, or three; a source that resolves."""
    assert source(note_sources()[name])
    assert 1 <= T(f"note.{name}").count(". ") + 1 <= 4


def test_what_if_shows_a_step_below_and_above_that_the_unit_can_set() -> None:
    """The invented unit rests from 1 to 30 s: at 30 there is nothing above, and nothing it cannot set."""
    found = alternatives(typed_draft() | {"ex1.rest_s": "12"}, "ex1.rest_s", known(), T)
    assert [(one.value, one.is_now) for one in found] == [("10", False), ("12", True), ("14", False)]
    assert [one.value for one in alternatives(typed_draft() | {"ex1.rest_s": "30"}, "ex1.rest_s", known(), T)] == [
        "28", "30"]  # fmt: skip
    cycles = [one.figures.cycle_ms for one in found if one.figures]
    assert cycles == sorted(cycles)
    assert len(set(cycles)) == 3
    table = dict(rows(found))
    assert [len(values) for values in table.values()] == [3] * len(table)
    assert [hill["is_now"] for hill in hills(found)] == [False, True, False]


def test_what_if_answers_nothing_where_there_is_nothing_to_compare() -> None:
    """A word, an unknown field or a blank gives none; an impossible neighbour gives no figures."""
    assert alternatives(typed_draft() | {"ex1.rest_s": "long"}, "ex1.rest_s", known(), T) == ()
    assert alternatives(typed_draft(), "ex1.task", known(), T) == ()
    strong = alternatives(typed_draft(), "ex1.ch1.intensity", known(), T)
    assert [one.value for one in strong] == ["20", "22", "24"]
