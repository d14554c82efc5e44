"""The paper road: a diary typed in, kept apart from what was counted."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.client.invented_clinic import issued_plan
from tests.therapist.house import Browser, House
from webapp.formats.log_record import read_record
from webapp.storage import clients, devices, plans, records
from webapp.storage.clients import ClientDetails
from webapp.storage.records import StoredRecord

PAPER = "/clinic/clients/1/paper"
REVIEW = "/clinic/clients/1"


def today(house: House) -> date:
    return datetime.fromtimestamp(house.clock.ms / 1000, UTC).date()


@pytest.fixture
def desk(house: House) -> Browser:
    """A client whose plan began ten days ago, and a therapist at her page."""
    with house.practice.store.write(house.db):
        clients.add(house.db, code="SL-07", first_name="Maren", working_side="right", language="en",
                    details=ClientDetails(), therapist_id=None, created_ms=house.clock.ms)
        plans.insert(house.db, client_id=1, version=1, issued=json.dumps(issued_plan(today(house) - timedelta(10))),
                     note="", user_id=1, now_ms=house.clock.ms)
    return house.browser("otto")


def line(house: House, n: int = 1, days_ago: int = 2, **changed: object) -> dict[str, object]:
    """Writes one line of the diary as the form sends it."""
    told: dict[str, object] = {
        "day": (today(house) - timedelta(days_ago)).isoformat(), "time": "9:30", "exercise": "1", "minutes": "20",
        "strength_1": "22", "strength_2": "", "skin_before": "0", "skin_after": "1", "pain": "2", "note": "went well"}
    return {f"{name}-{n}": value for name, value in {**told, **changed}.items()}


def stored(house: House) -> list[StoredRecord]:
    return records.of_client(house.db, 1)


def said(page: Any) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page.text).split())


def test_a_line_becomes_a_record_from_paper(house: House, desk: Browser) -> None:
    """What was written is kept as a valid session record; what the diary does not ask is *not answered*."""
    assert desk.send(PAPER, do="keep", **line(house)).status_code == 303
    (one,) = stored(house)
    record = read_record(one.content)
    assert (one.road, one.seq, record.kind, record.unknown) == ("paper", 1, "session", ())
    assert one.at_min % 1440 == 9 * 60 + 30
    kept = {name: record.fields[name] for name in
            ("version", "cued_s", "strength_half_ma", "skin_before", "skin_after", "pain_after_n", "pain_before_n",
             "contractions_n", "note")}
    assert kept == {"version": 1, "cued_s": 1200, "strength_half_ma": [44], "skin_before": [0, 0], "skin_after": [1],
                    "pain_after_n": 2, "pain_before_n": 11, "contractions_n": [], "note": "went well"}


def test_paper_counts_neither_as_done_nor_as_missed(house: House, desk: Browser) -> None:
    """The review says what came from paper beside the numbers, never in them."""
    before = said(desk.get(REVIEW))
    assert "0 of 0" in before
    desk.send(PAPER, do="keep", **line(house, 1), **line(house, 2, days_ago=3))
    after = said(desk.get(REVIEW))
    assert "From paper: 2 sessions, 40 min" in after
    assert "2 on paper" in after
    assert "0 of 0" in after
    assert "No strength logged yet." in after
    assert after.count("from paper") >= 2
    assert "No phone has opened the plan yet." in after


def test_a_skin_finding_on_paper_asks_for_an_answer(house: House, desk: Browser) -> None:
    """Bumps written in a diary are as urgent as bumps on a phone; no pad is named that the diary does not name."""
    desk.send(PAPER, do="keep", **line(house, skin_after="3", note=""))
    page = said(desk.get(REVIEW))
    assert "One thing needs your answer" in page
    assert "after, place not written: bumps" in page
    (one,) = stored(house)
    desk.send(REVIEW, device=one.device, seq=one.seq, rule="skin", note="rang her")
    assert "needs your answer" not in said(desk.get(REVIEW))


def test_every_wrong_field_is_named_and_nothing_is_kept(house: House, desk: Browser) -> None:
    """A refused form shows each problem with its line and everything as typed."""
    answer = desk.send(PAPER, do="keep", **line(house), **line(house, 2, day="1999-01-01", time="25:00", minutes="",
                                                              skin_after="7", pain="11", note="kept as typed"))
    assert answer.status_code == 422
    page = said(answer)
    for words in ("Line 2: Day:", "Line 2: Time:", "Line 2: Minutes:", "Line 2: Skin after:", "Line 2: Pain 0–10:"):
        assert words in page
    assert 'value="kept as typed"' in answer.text
    assert stored(house) == []


def test_the_same_line_is_not_kept_twice(house: House, desk: Browser) -> None:
    """Sent again, or written twice in one form, a line is refused."""
    assert desk.send(PAPER, do="keep", **line(house), **line(house, 2)).status_code == 422
    assert desk.send(PAPER, do="keep", **line(house)).status_code == 303
    answer = desk.send(PAPER, do="keep", **line(house))
    assert answer.status_code == 422
    assert "This line is here already" in said(answer)
    assert len(stored(house)) == 1


def test_a_mistyped_line_is_corrected_by_a_record_that_names_it(house: House, desk: Browser) -> None:
    """What was typed first stays; pages and numbers go by the correction."""
    desk.send(PAPER, do="keep", **line(house, note="wnet well"))
    assert 'href="/clinic/clients/1/paper/1"' in desk.get(PAPER).text
    shown = desk.get(f"{PAPER}/1").text
    assert all(f'value="{typed}"' in shown for typed in ("09:30", "20", "22", "0", "1", "2", "wnet well"))
    assert desk.send(f"{PAPER}/1", do="keep", **line(house, minutes="15", note="went well")).status_code == 303
    first, fix = stored(house)
    assert json.loads(first.content)["note"] == "wnet well"
    record = json.loads(fix.content)
    assert (fix.kind, fix.road, record["corrects_seq"]) == ("correction", "paper", 1)
    assert record["fields"] == {"cued_s": 900, "note": "went well"}
    assert read_record(fix.content).unknown == ()
    assert "corrected" in said(desk.get(PAPER))
    assert "“went well”" in said(desk.get(REVIEW))
    assert "wnet" not in said(desk.get(REVIEW))
    assert desk.send(f"{PAPER}/1", do="keep", **line(house, minutes="15", note="went well")).status_code == 303
    assert len(stored(house)) == 2


def test_a_line_that_never_was_is_taken_back(house: House, desk: Browser) -> None:
    """It asks for no answer and counts in nothing any more; it is still there, struck out; it may be typed anew."""
    desk.send(PAPER, do="keep", **line(house, skin_after="4"))
    assert "from a paper diary" in said(desk.get(REVIEW)) or "from paper" in said(desk.get(REVIEW))
    assert desk.send(f"{PAPER}/1", do="take_back").status_code == 303
    assert json.loads(stored(house)[1].content)["fields"] == {"taken_back": 1}
    assert "<del>" in desk.get(PAPER).text
    assert "from paper" not in said(desk.get(REVIEW))
    assert desk.get(f"{PAPER}/1").status_code == 404
    assert desk.send(PAPER, do="keep", **line(house)).status_code == 303


def test_a_correction_is_held_to_what_a_line_is(house: House, desk: Browser) -> None:
    """Wrong fields are named; it may not become another line that is there."""
    desk.send(PAPER, do="keep", **line(house), **line(house, 2, 3))
    wrong = desk.send(f"{PAPER}/2", do="keep", **line(house, minutes="x"))
    assert (wrong.status_code, "Take this line back" in wrong.text) == (422, True)
    twice = desk.send(f"{PAPER}/2", do="keep", **line(house))
    assert (twice.status_code, "here already" in twice.text) == (422, True)
    assert len(stored(house)) == 2
    assert desk.get(f"{PAPER}/9").status_code == 404


def test_an_empty_form_says_what_is_wanted(house: House, desk: Browser) -> None:
    """The choice of exercise that the page makes is no line."""
    answer = desk.send(PAPER, do="keep", **{"exercise-1": "1"})
    assert answer.status_code == 422
    assert "Type in at least one line" in said(answer)


def test_more_lines_keep_what_was_typed(house: House, desk: Browser) -> None:
    """The form grows; nothing typed is lost."""
    answer = desk.send(PAPER, do="more", lines_n="6", **line(house, note="still here"))
    assert answer.status_code == 200
    assert 'name="day-12"' in answer.text
    assert 'value="still here"' in answer.text


def test_a_diary_is_no_phone(house: House, desk: Browser) -> None:
    """The device that stands for paper is shown and counted nowhere as a phone, and one serves all diaries."""
    desk.send(PAPER, do="keep", **line(house))
    desk.send(PAPER, do="keep", **line(house, days_ago=4))
    assert devices.of_client(house.db, 1) == []
    assert sorted(one.seq for one in stored(house)) == [1, 2]


def test_times_are_those_of_the_clients_zone(house: House, desk: Browser) -> None:
    """A line is stored with the offset from UTC that the client's clock had."""
    with house.practice.store.write(house.db):
        plans.insert(house.db, client_id=1, version=2, note="", user_id=1, now_ms=house.clock.ms, issued=json.dumps(
            issued_plan(today(house) - timedelta(10), version=2, time_zone="Australia/Darwin")))
    desk.send(PAPER, do="keep", **line(house))
    assert [one.utc_q for one in stored(house)] == [38]


def test_without_a_plan_there_is_no_diary(house: House) -> None:
    """A client without an issued plan cannot have practised by it."""
    with house.practice.store.write(house.db):
        clients.add(house.db, code="AB-01", first_name="Ansel", working_side="left", language="en",
                    details=ClientDetails(), therapist_id=None, created_ms=1)
    browser = house.browser("otto")
    assert "no issued plan yet" in browser.get(PAPER).text
    assert browser.send(PAPER, do="keep").status_code == 404
