"""*Not at home* answered after issue, and a rest by a therapist's word: what they stop, who hears, what lifts them."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.client.conftest import NOW_MS, Desk
from tests.client.invented_clinic import TOKEN
from tests.prescribing.ready import answers
from tests.therapist.house import Browser, House
from webapp import sealing
from webapp.phone_requests import SEAL_HEADER
from webapp.practice.hold import CLINIC
from webapp.resting import other_rest_digits
from webapp.storage import assessments, devices

CLIENT = "/clinic/clients/1"
SESSION: dict[str, Any] = {
    "plan": 1, "version": 1, "exercise": 1, "planned_s": 1200, "cued_s": 660, "ended": 2, "pauses_n": 0,
    "contractions_n": [20], "strength_half_ma": [140], "skin_before": [0, 0], "skin_after": [0, 0],
    "pain_before_n": 1, "pain_after_n": 8, "effort_n": 4, "help": 0, "steps_skipped": [], "taps_n": 3,
    "period_ppm": 0, "answered_by": 0, "note": ""}
SCREENING, SHEET = f"{CLIENT}/screening", f"{CLIENT}/plans/1/sheet"


@pytest.fixture
def house(desk: Desk) -> Iterator[House]:
    """The clinic of the phone's tests, its plan a day old, with people who can sign in."""
    made = House(desk.settings.data_dir)
    made.clock.ms = NOW_MS
    yield made
    made.close()


def joins(house: House) -> dict[str, Any]:
    given: dict[str, Any] = house.app.test_client().post("/join/activate", json={"token": TOKEN}).get_json()
    return given


def hears(browser: FlaskClient, given: dict[str, Any]) -> list[dict[str, Any]]:
    """Speaks to the clinic as a phone does; what rests by the answer."""
    body = json.dumps({"device": given["device"], "store": "a", "epoch": "", "records": [], "highest": 0}).encode()
    key = sealing.derive(base64.b64decode(given["device_key"]), "sync")
    answer = browser.post("/exchange/sync", data=body, headers={SEAL_HEADER: sealing.seal(key, body)})
    assert answer.status_code == 200, answer.text
    resting: list[dict[str, Any]] = answer.get_json()["resting"]
    return resting


def answered(otto: Browser, **changed: str) -> None:
    told = {name: one["answer"] for name, one in answers(**changed).items()}
    assert otto.send(SCREENING, **told).status_code == 303


def test_not_at_home_after_issue_stops_the_plan_until_it_is_taken_back(house: House) -> None:
    """First on the caseload and the review; no code, no sheet, no new phone; the phone rests at its next contact."""
    otto, phone = house.browser("otto"), house.app.test_client()
    given = joins(house)
    answered(otto)
    assert hears(phone, given) == []
    assert "nothing here stops it" in otto.get(SCREENING).text
    house.clock.pass_minutes(10)
    answered(otto, implant="yes")
    for path in (SCREENING, CLIENT, f"{CLIENT}/plans/1"):
        page = otto.get(path).text
        assert "Not at home: Device in the body. The plan is stopped" in page, path
        assert "Tell the client by phone today" in page, path
    caseload = otto.get("/clinic/").text
    assert "Not at home since" in caseload
    assert "Answer today" in caseload
    assert "Device in the body" in otto.get(SHEET).text
    assert otto.get(SHEET).status_code == 409
    assert otto.send(f"{CLIENT}/links/new").status_code == 409
    assert f"{CLIENT}/links/new" not in otto.get(f"{CLIENT}/plans/1").text
    assert joins(house) == {"error": "practice_stopped"}
    house.clock.pass_minutes(10)
    rest = hears(phone, given)[0]
    assert (rest["device"], rest["exercises"], rest["why"]) == (CLINIC, [0], "not_at_home")
    assert "spoke to the clinic" in otto.get(CLIENT).text
    with house.practice.store.write(house.db):
        assessments.set_screening_days(house.db, 1)
    house.clock.pass_minutes(60 * 24 * 2)  # a screening that is asked again keeps what it stopped
    assert hears(phone, given)
    otto = house.browser("otto")
    answered(otto, implant="no")
    page = otto.get(CLIENT).text
    assert "The plan is stopped" not in page
    key = devices.by_id(house.db, given["device"])
    assert key
    digits = other_rest_digits(key.device_key, key.device, CLINIC, rest["through"])
    assert f"{digits[:3]} {digits[3:]}" in page
    house.clock.pass_minutes(1)
    assert hears(phone, given) == []
    assert otto.get(SHEET).status_code == 200
    assert "device" in joins(house)


def test_a_leads_override_lifts_it_and_is_shown(house: House) -> None:
    """The same written decision as before issuing; the review says it first."""
    otto, ines = house.browser("otto"), house.browser("ines")
    answered(otto, implant="yes")
    told = {"item": "implant", "implant.reason": "Off for years; its specialist agreed."}
    assert ines.send(f"{SCREENING}/override", **told).status_code == 303
    page = otto.get(CLIENT).text
    assert "The plan is stopped" not in page
    assert "Goes on although" in page
    assert "Off for years" in page
    assert otto.get(SHEET).status_code == 200


def went_badly(house: House, given: dict[str, Any]) -> None:
    """One session that ended by pain, pain 8 after it, above the ceiling: it comes in by sync."""
    today_min = (NOW_MS // 86_400_000) * 1440 + 540
    session = json.dumps({
        "format": "wattlebird.record/1", "device": given["device"], "seq": 1, "kind": "session", "at_min": today_min,
        "utc_q": 0, **SESSION}, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    body = json.dumps({"device": given["device"], "store": "a", "epoch": "", "records": [session],
                       "highest": 1}).encode()
    key = sealing.derive(base64.b64decode(given["device_key"]), "sync")
    answer = house.app.test_client().post("/exchange/sync", data=body, headers={SEAL_HEADER: sealing.seal(key, body)})
    assert answer.get_json()["through"] == 1, answer.text


def test_severe_pain_offers_a_rest_with_one_press_and_one_answer_covers_the_session(house: House) -> None:
    """The phone hears of it and goes on by itself on the day; taken back before, it hears that."""
    otto, phone, given = house.browser("otto"), house.app.test_client(), joins(house)
    went_badly(house, given)
    page = otto.get(CLIENT).text
    assert page.count("Look and answer") == 1
    assert "Pain 8 of 10 after practice" in page
    assert "above the ceiling" in page
    house.clock.pass_minutes(5)
    assert otto.send(f"{CLIENT}/hold", why="Pain", until="2020-01-01").status_code == 422
    assert otto.send(f"{CLIENT}/hold", why="Pain 8 of 10", until="2026-12-05").status_code == 303
    page = otto.get(CLIENT).text
    assert "Practice rests until Sat 5 Dec" in page
    assert "does not know of it" in page
    assert "Practice rests until Sat 5 Dec" in otto.get("/clinic/").text
    assert otto.get(SHEET).status_code == 200
    rest = hears(phone, given)[0]
    assert (rest["why"], rest["until"], rest["exercises"]) == ("by_word", "2026-12-05", [0])
    assert otto.send(CLIENT, device=given["device"], seq=1, rule="pain", note="Pads too near").status_code == 303
    assert "Look and answer" not in otto.get(CLIENT).text
    house.clock.pass_minutes(5)
    assert otto.send(f"{CLIENT}/hold/end", hold=rest["through"]).status_code == 303
    assert hears(phone, given) == []
