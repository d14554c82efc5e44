"""Measuring a unit on its page: what fits is said, and written into the description where it is wanted."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from tests.stimulation.plans import plan
from tests.stimulation.test_measuring import watched
from tests.therapist.house import Browser, House
from tests.therapist.test_stimulators import GREY_BOX
from webapp.formats.stimulator_json import read_stimulator, write_stimulator
from webapp.stimulation.measuring import Watched
from webapp.stimulation.plan import Settings
from webapp.storage import stimulators

PAGE = "/clinic/stimulators/1/measure"
TRUTH: dict[str, Any] = {"ramp_up_s": 1, "hold_s": 6, "ramp_down_s": 1.5, "rest_s": 10}


@pytest.fixture
def otto(house: House) -> Browser:
    """A therapist at a clinic whose unit behaves in ways nobody knows."""
    unknown = dict.fromkeys(("ramps", "starts_with", "at_end", "alternating_rest", "delay_from"), "unknown")
    with house.practice.store.write(house.db):
        stimulators.add(house.db, write_stimulator(read_stimulator(GREY_BOX | unknown)), 1)
    return house.browser("otto")


def sent(seen: Watched, **more: str) -> dict[str, str]:
    """Writes what was seen as the page's script does."""
    told = {"taps": [[tap.edge, round(tap.at_ms)] for tap in seen.taps], "started": seen.started_ms,
            "ended": seen.ended_ms, "goes_on": seen.goes_on}
    numbers = {name: str(value) for name, value in TRUTH.items()}
    return {**numbers, "session_min": "1", "turns": "1", "delay_s": "0", "seen": json.dumps(told), **more}


def unit(**convention: Any) -> Settings:
    return plan(session_min=1, **TRUTH, **convention)


def test_what_fits_is_said_and_written_down(otto: Browser, house: House) -> None:
    """Measured times with their uncertainty, each way's share; saved with an audit row, unticked things left alone."""
    seen = sent(watched(unit(ramps="inside", starts_with="rest"), 5))
    page = otto.send(PAGE, **seen).text
    text = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert re.search(r"Whole cycle 1[56]\.\d s ± 0\.\d", text)
    assert "The ramps are both part of the hold" in text
    assert otto.send(PAGE, **seen, act="write", take="ramps").status_code == 303
    stored = stimulators.read(house.db, 1)
    assert stored is not None
    assert (stored.description["ramps"], stored.description["starts_with"]) == ("inside", "unknown")
    assert house.actions()[-1] == "stimulator_measured"


def test_what_cannot_be_told_apart_is_not_offered(otto: Browser, house: House) -> None:
    """Without ramps there is nothing to tick for them, and a form that ticks it all the same changes nothing."""
    truth = plan(session_min=1, ramp_up_s=0, hold_s=6, ramp_down_s=0, rest_s=10)
    seen = sent(watched(truth, 5), ramp_up_s="0", ramp_down_s="0")
    page = otto.send(PAGE, **seen).text
    assert "cannot be told apart" in page
    assert 'name="take" value="ramps"' not in page
    otto.send(PAGE, **seen, act="write", take="ramps")
    stored = stimulators.read(house.db, 1)
    assert stored is not None
    assert stored.description["ramps"] == "unknown"


@pytest.mark.parametrize(("typed", "words"), [
    ({"seen": ""}, "Nothing was tapped"),
    ({"seen": "[[[[[" * 5_000}, "Nothing was tapped"),
    ({"seen": '{"taps": [["rise", NaN], ["soon", 4], ["hold", true]]}'}, "Nothing was tapped"),
    ({"seen": '{"taps": [["rise", 1000], ["rise", 9000]]}'}, "at least three cycles"),
    ({"hold_s": "a while"}, "a while"),
    ({"turns": "2", "delay_s": ""}, "form.missing"),
])  # fmt: skip
def test_what_cannot_be_read_is_said_and_kept(otto: Browser, typed: dict[str, str], words: str) -> None:
    """With what to do; the numbers typed stay in their fields."""
    answer = otto.send(PAGE, **{**sent(watched(unit(), 1)), **typed})
    assert answer.status_code == 422
    assert (words if words != "form.missing" else 'id="delay_s-error"') in answer.text
    assert 'value="1.5"' in answer.text


def test_numbers_that_make_no_rhythm_are_named(otto: Browser) -> None:
    """A ramp longer than hold and rest in every way of counting but one that then does not fit."""
    page = otto.send(PAGE, **sent(watched(unit(), 1), ramp_up_s="10", hold_s="1", rest_s="0", ramp_down_s="0")).text
    assert "no way known here fits" in page


def test_the_unit_is_measured_from_where_it_is_described(otto: Browser) -> None:
    """A link on the list and beside the unit's rhythm."""
    for page in ("/clinic/stimulators", "/clinic/stimulators/1"):
        assert f'href="{PAGE}"' in otto.get(page).text
    assert otto.get("/clinic/stimulators/9/measure").status_code == 404
