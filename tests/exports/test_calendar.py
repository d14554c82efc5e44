"""The calendar of planned sessions, read by parsers that did not write it.

iCalendar: RFC 5545. Its recurrence rules are expanded here by python-dateutil's own reader of RRULE text, its structure
is read by vobject; both know nothing of the library that wrote it.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject  # type: ignore[import-untyped]
from dateutil.rrule import rrulestr  # type: ignore[import-untyped]

from tests.client.invented_clinic import issued_plan
from tests.exports.invented_practice import exercise
from webapp.exports.calendar import SLOT_TIMES, write_calendar
from webapp.practice.schedule import DaysOff, planned_between, read_version
from webapp.translations import translator

FIRST = date(2026, 10, 1)  # a Thursday; the clocks of Europe change on 25 October 2026
T = translator("en")


def plan(**changed: Any) -> dict[str, Any]:
    one = exercise(1, times_a_day=2, slots=["morning", "evening"], days=[1, 2, 4, 6], minutes_by_date=[
        {"from": "2026-10-15", "session_min": 2}, {"from": "2026-10-22", "session_min": 1}])
    two = exercise(2, title="Ääkköset, ąę; “jar”\\lid " + "and a very long title " * 4, days=[1, 3], slots=["morning"])
    return issued_plan(FIRST, exercises=[one, two], **changed)


def lines(content: bytes) -> list[str]:
    return re.sub(r"\r\n[ \t]", "", content.decode()).split("\r\n")


def occurrences(content: bytes) -> list[tuple[datetime, timedelta]]:
    """Lists every start with its length, by vobject for the events and dateutil for the rules."""
    found = []
    for event in vobject.readOne(content.decode()).vevent_list:
        start = event.dtstart.value
        rule = event.contents.get("rrule")
        starts = list(rrulestr(rule[0].value, dtstart=start)) if rule else [start]
        if event.contents.get("status", [None])[0] and event.status.value == "CANCELLED":
            continue
        left_out = {one for each in event.contents.get("exdate", ()) for one in each.value}
        starts = [one for one in starts if one not in left_out]
        found += [(one, event.duration.value) for one in starts]
    return sorted(found)


@pytest.fixture(scope="module")
def content() -> bytes:
    return write_calendar(plan(), T)


def test_dateutil_expands_rules_as_published() -> None:
    """The examples that the expansion is checked by: thirty weekdays and ten alternate days from 6 January 2025."""
    start = datetime(2025, 1, 6, 10)  # noqa: DTZ001 - floating
    weekdays = list(rrulestr("FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR;COUNT=30", dtstart=start))
    assert (len(weekdays), weekdays[-1]) == (30, datetime(2025, 2, 14, 10))  # noqa: DTZ001
    assert list(rrulestr("FREQ=DAILY;INTERVAL=2;COUNT=10", dtstart=start))[-1] == datetime(2025, 1, 24, 10)  # noqa: DTZ001


def test_occurrences_are_the_planned_sessions(content: bytes) -> None:
    """Day by day, with the length of each, as the schedule has them, also where sessions get longer and shorter."""
    version = read_version(plan())
    planned = planned_between([version], version.starts, version.last_day)
    found = occurrences(content)
    assert sorted((at.date(), int(length.total_seconds())) for at, length in found) == sorted(
        (p.day, p.planned_s) for p in planned)
    assert len(found) > 60


def test_two_exercises_of_one_morning_follow_one_another(content: bytes) -> None:
    """No two sessions overlap."""
    found = occurrences(content)
    assert all(at + length <= later for (at, length), (later, _length) in pairwise(found))


def test_a_session_stays_at_its_hour_across_the_clock_change(content: bytes) -> None:
    """Times float: nine o'clock is nine by the wall before and after the clocks change, and so is no fixed UTC hour."""
    mornings = [at for at, _length in occurrences(content) if at.time() == SLOT_TIMES["morning"]]
    assert min(mornings).date() < date(2026, 10, 25) < max(mornings).date()
    in_utc = {at.replace(tzinfo=ZoneInfo("Europe/London")).astimezone(UTC).hour for at in mornings}
    assert in_utc == {8, 9}
    assert not [line for line in lines(content) if line.startswith(("DTSTART;", "BEGIN:VTIMEZONE"))]


def test_until_floats_as_its_start_does(content: bytes) -> None:
    """RFC 5545, 3.3.10: UNTIL has the same kind of value as DTSTART, and never stands with COUNT."""
    rules = [line for line in lines(content) if line.startswith("RRULE:")]
    assert len(rules) > 3
    assert all(re.search(r"UNTIL=\d{8}T\d{6}(;|$)", rule) and "COUNT" not in rule for rule in rules)
    assert all("FREQ=WEEKLY" in rule and "BYDAY=" in rule for rule in rules)


def test_every_event_has_what_the_standard_asks_for(content: bytes) -> None:
    """UID and DTSTAMP in UTC, once each; an alarm with action, trigger and description."""
    texts = content.decode().split("BEGIN:VEVENT")[1:]
    uids = set()
    for event in texts:
        [uid] = re.findall(r"^UID:(.+)\r$", event, re.M)
        uids.add(uid)
        assert re.findall(r"^DTSTAMP:(\d{8}T\d{6}Z)\r$", event, re.M) == ["20261001T000000Z"]
        alarm = event.split("BEGIN:VALARM")[1]
        assert {"ACTION:DISPLAY", "TRIGGER:-PT10M"} <= set(alarm.split("\r\n"))
        assert "DESCRIPTION:" in alarm
    assert len(uids) == len(texts)


def test_lines_end_and_fold_as_the_standard_says(content: bytes) -> None:
    """CRLF everywhere, no line over 75 octets, special signs escaped; unfolded, the title is whole."""
    assert content.endswith(b"\r\n")
    assert content.count(b"\n") == content.count(b"\r\n")
    assert max(map(len, content.split(b"\r\n"))) <= 75
    assert any(line.startswith("SUMMARY:Practice: Ääkköset\\, ąę\\; “jar”\\\\lid") for line in lines(content))
    titles = {event.summary.value for event in vobject.readOne(content.decode()).vevent_list}
    assert f"Practice: {plan()['exercises'][1]['title']}" in titles


def test_neither_code_nor_name_nor_clinic_goes_in(content: bytes) -> None:
    """A calendar is seen by others: it says when and what to practise, and not whose it is."""
    for private in (b"SL-07", b"Larkfield", b"Imogen", b"mA"):
        assert private not in content


def test_a_later_version_takes_the_place_of_an_earlier_one() -> None:
    """The series keep their UID and count their version up; the same plan gives the same bytes."""
    older, newer = (write_calendar(plan(version=n), T) for n in (1, 2))
    assert re.findall(rb"UID:.+", older) == re.findall(rb"UID:.+", newer)
    assert b"SEQUENCE:2" in newer
    assert newer == write_calendar(plan(version=2), T)


def test_parts_of_the_day_that_a_plan_does_not_name_get_times_of_their_own() -> None:
    """Three sessions at no named part of the day come at three times."""
    issued = issued_plan(FIRST, exercises=[exercise(1, times_a_day=3, slots=["any", "any", "any"])])
    times = {at.time() for at, _length in occurrences(write_calendar(issued, T))}
    assert len(times) == 3


def test_days_off_are_left_out_and_ring_for_nobody() -> None:
    """As exceptions of their series, which keep their names and count up, so that a calendar takes the change in."""
    off = DaysOff(days=frozenset(FIRST + timedelta(days=n) for n in range(2, 21)), changed_n=1)
    without, version = write_calendar(plan(), T, off), read_version(plan())
    planned = planned_between([version], version.starts, version.last_day)
    assert sorted((at.date(), int(length.total_seconds())) for at, length in occurrences(without)) == sorted(
        (p.day, p.planned_s) for p in planned if p.day not in off.days)
    assert re.findall(rb"UID:.+", without) == re.findall(rb"UID:.+", write_calendar(plan(), T))
    assert b"STATUS:CANCELLED" in without, "a series whose every day is off"
    assert re.search(rb"EXDATE:\d{8}T\d{6}[,\r]", without), "floating, as the start"
    assert set(re.findall(rb"SEQUENCE:(.+)\r", without)) == {b"2"}
