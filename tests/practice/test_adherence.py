"""Done against planned: examples that a therapist would count by hand, and laws."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.practice.invented import MONDAY, entry, exercise, plan, session
from webapp.practice.adherence import Count, count_days, days_used, excused, total
from webapp.practice.schedule import PlanVersion, in_force, planned_between, planned_on, read_version
from webapp.practice.session import Entry, read_log
from webapp.practice.summary import summarise
from webapp.practice.weeks import Week

DAY = timedelta(days=1)


def count(entries: list[Entry], versions: list[PlanVersion], last: date, known_before: date | None = None) -> Count:
    log = read_log(entries)
    planned = planned_between(versions, MONDAY, last)
    return total(count_days(planned, log.sessions, excused(log.not_today), known_before or last + DAY))


def test_a_session_more_on_tuesday_does_not_make_up_for_monday() -> None:
    """Missed stays missed; the second on Tuesday is extra."""
    tuesday = MONDAY + DAY
    found = count([session(1, tuesday), session(2, tuesday, hour=17)], [plan()], tuesday)
    assert (found.planned_n, found.done_n, found.missed_n, found.extra_n) == (2, 1, 1, 1)
    assert (found.sessions_share, found.minutes_share) == (0.5, 0.5)


def test_rest_for_the_skin_is_excused_and_no_time_is_not() -> None:
    """A day rested as the plan asks for is taken out of what was due; having no time is a missed session."""
    rested = entry(1, "not_today", MONDAY, exercise=0, why=2, note="")
    busy = entry(2, "not_today", MONDAY + DAY, exercise=0, why=5, note="")
    found = count([rested, busy], [plan()], MONDAY + DAY)
    assert (found.excused_n, found.missed_n, found.due_s) == (1, 1, 1200)


def test_a_day_rested_for_one_exercise_excuses_only_that_one() -> None:
    """The shoulder may rest while the hand goes on."""
    both = plan(exercises=(exercise(1), exercise(2)))
    found = count([entry(1, "not_today", MONDAY, exercise=2, why=2)], [both], MONDAY)
    assert (found.excused_n, found.missed_n) == (1, 1)


def test_days_after_the_last_contact_are_unknown_not_missed() -> None:
    """A phone that was not heard since Wednesday says nothing about Thursday."""
    found = count([session(1, MONDAY)], [plan()], MONDAY + 4 * DAY, known_before=MONDAY + 2 * DAY)
    assert (found.done_n, found.missed_n, found.unknown_n, found.due_n) == (1, 1, 3, 2)


def test_a_short_session_counts_as_done_and_is_called_short() -> None:
    """Fifteen minutes of twenty: done, short, and the minutes say so. Forty seconds are an attempt."""
    found = count([session(1, MONDAY, cued_s=900), session(2, MONDAY + DAY, cued_s=40)], [plan()], MONDAY + DAY)
    assert (found.done_n, found.short_n, found.attempts_n, found.missed_n) == (1, 1, 1, 1)
    assert (found.counted_s, found.cued_s, found.completion_share) == (940, 940, 0.0)


def test_minutes_are_capped_at_the_plan_of_the_day() -> None:
    """Thirty minutes where twenty were planned count as twenty, and are shown as thirty."""
    found = count([session(1, MONDAY, cued_s=1800)], [plan()], MONDAY)
    assert (found.counted_s, found.cued_s, found.minutes_share) == (1200, 1800, 1.0)


def test_each_day_belongs_to_the_version_in_force() -> None:
    """From the day that version 2 starts, its times and minutes count."""
    second = plan(2, MONDAY + 3 * DAY, 7, slots=("morning", "evening"), session_s=600)
    versions = [plan(), second]
    assert [in_force(versions, MONDAY + n * DAY).version for n in (0, 2, 3)] == [1, 1, 2]  # type: ignore[union-attr]
    found = count([], versions, MONDAY + 3 * DAY)
    assert (found.planned_n, found.due_s) == (5, 3 * 1200 + 2 * 600)
    assert in_force(versions, second.last_day + DAY) is None


def test_build_up_steps_change_the_minutes_from_their_date() -> None:
    """Ten minutes until the step, fifteen from it on."""
    built = plan(exercises=(exercise(session_s=600, build_up=((MONDAY + 2 * DAY, 900),)),))
    assert [planned_on(built, MONDAY + n * DAY)[0].planned_s for n in range(4)] == [600, 600, 900, 900]


def test_an_issued_plan_is_read_with_its_days_slots_and_places() -> None:
    """The schedule comes from the issued plan and nowhere else; nothing is planned before it was issued."""
    issued = {
        "version": 2, "issued_on": "2026-09-09", "first_day": "2026-09-07", "last_day": "2026-09-20", "exercises": [{
            "exercise": 1, "title": "Opening", "settings": {"session_min": 12.5}, "times_a_day": 2, "days": [1, 3],
            "slots": [], "minutes_by_date": [{"from": "2026-09-14", "session_min": 15}],
            "channels": [{"name": "opening", "ceiling_level": 9, "pads": [{"place": "upper"}, {"place": "lower"}]}]}],
        "changes": [{"version": 2, "words": ["Two times a day"], "unit_changed": False, "unit_steps": []}]}
    read = read_version(issued)
    assert (read.starts, read.changes) == (date(2026, 9, 9), ("Two times a day",))
    assert read.exercises[0].places == ("upper", "lower")
    assert [p.planned_s for p in planned_between([read], MONDAY, date(2026, 9, 14))] == [750, 750, 900, 900]
    assert (read.exercises[0].shows, read.exercises[0].ceilings) == ("level", (9.0,))


def test_days_used_counts_days_not_sessions() -> None:
    """Two sessions on one day are one day."""
    twice = [plan(slots=("morning", "evening"))]
    log = read_log([session(1, MONDAY), session(2, MONDAY, hour=18)])
    days = count_days(planned_between(twice, MONDAY, MONDAY + DAY), log.sessions, frozenset(), MONDAY + 2 * DAY)
    assert days_used(days) == (1, 2)


def test_a_session_of_the_year_1970_is_shown_and_in_no_number() -> None:
    """A phone whose clock was never set makes neither fifty years of weeks nor a strange share."""
    wrong = session(2, date(1970, 1, 2))
    found = summarise(read_log([session(1, MONDAY), wrong]), [plan()], today=MONDAY, known_before=MONDAY)
    assert ([s.entry for s in found.misdated], found.total.started_n, len(found.weeks)) == ([wrong], 1, 1)


def test_a_session_of_tomorrow_counts() -> None:
    """A client one time zone ahead of the clinic has a record of tomorrow's date; its week is shown."""
    sunday = MONDAY + 6 * DAY
    found = summarise(read_log([session(1, sunday + DAY)]), [plan()], today=sunday, known_before=sunday)
    assert (found.total.extra_n, len(found.weeks), found.misdated) == (1, 2, ())


SESSIONS = st.lists(st.tuples(st.integers(0, 20), st.integers(1, 3), st.integers(0, 3000)), max_size=40)
RESTS = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 3), st.integers(1, 7)), max_size=8)
PLANS = st.lists(st.tuples(st.integers(0, 20), st.sets(st.integers(1, 7)), st.integers(1, 3)), min_size=1, max_size=3)


def build(sessions: list[tuple[int, int, int]], rests: list[tuple[int, int, int]],
          plans: list[tuple[int, set[int], int]]) -> tuple[list[Entry], list[PlanVersion]]:
    entries = [session(n, MONDAY + day * DAY, exercise=number, cued_s=cued)
               for n, (day, number, cued) in enumerate(sessions, 1)]
    entries += [entry(100 + n, "not_today", MONDAY + day * DAY, exercise=number, why=why)
                for n, (day, number, why) in enumerate(rests)]
    versions = [plan(n, MONDAY + start * DAY, exercises=tuple(
        exercise(number, weekdays=frozenset(days), slots=("any",) * times) for number in (1, 2)))
        for n, (start, days, times) in enumerate(sorted(plans, key=lambda p: p[0]), 1)]
    return entries, versions


@given(SESSIONS, RESTS, PLANS, st.integers(0, 21))
def test_planned_and_started_are_split_without_rest(
        sessions: list[tuple[int, int, int]], rests: list[tuple[int, int, int]], plans: list[tuple[int, set[int], int]],
        known: int) -> None:
    """Planned = done + missed + excused + unknown, started = done + extra + attempts, and no share leaves 0 to 1."""
    entries, versions = build(sessions, rests, plans)
    found = count(entries, versions, MONDAY + 20 * DAY, MONDAY + known * DAY)
    assert found.planned_n == found.done_n + found.missed_n + found.excused_n + found.unknown_n
    assert found.started_n == len(sessions)
    assert found.planned_n == len(planned_between(versions, MONDAY, MONDAY + 20 * DAY))
    assert all(share is None or 0 <= share <= 1 for share in (
        found.sessions_share, found.minutes_share, found.completion_share))
    assert found.cued_s == sum(cued for _day, _number, cued in sessions) >= found.counted_s


@given(SESSIONS, RESTS, PLANS, st.integers(0, 21))
def test_weeks_and_exercises_add_up_to_the_whole(
        sessions: list[tuple[int, int, int]], rests: list[tuple[int, int, int]], plans: list[tuple[int, set[int], int]],
        known: int) -> None:
    """The same sessions counted by week and by exercise give the same sum."""
    entries, versions = build(sessions, rests, plans)
    found = summarise(read_log(entries), versions, today=MONDAY + 20 * DAY, known_before=MONDAY + known * DAY)
    assert sum((w.count for w in found.weeks), Count()) == found.total
    assert sum((e.count for e in found.exercises), Count()) == found.total
    assert all(len(w.days) == 7 and w.start.weekday() == 0 for w in found.weeks)


def test_the_week_grid_says_each_day_in_one_word() -> None:
    """Done, part, missed, excused, unknown, extra and nothing planned are told apart."""
    weekdays = plan(weekdays=frozenset({1, 2, 3, 4, 5}), slots=("morning", "evening"))
    entries = [session(1, MONDAY), session(2, MONDAY, hour=18), session(3, MONDAY + DAY),
               entry(4, "not_today", MONDAY + 3 * DAY, exercise=0, why=3), session(5, MONDAY + 5 * DAY)]
    found = summarise(read_log(entries), [weekdays], today=MONDAY + 6 * DAY, known_before=MONDAY + 4 * DAY)
    week: Week = found.weeks[0]
    assert [d.state for d in week.days] == ["done", "part", "missed", "excused", "unknown", "extra", "none"]
    assert week.days[3].why == "unwell"


@pytest.mark.parametrize(("given", "state", "cut"), [
    ({"cued_s": 1200}, "done", ""),
    ({"cued_s": 900}, "cut", "short"),
    ({"cued_s": 660, "ended": 2}, "cut", "pain"),
    ({"cued_s": 1150, "ended": 3}, "cut", "skin"),  # nearly whole, and stopped all the same
    ({"cued_s": 40, "ended": 2}, "missed", ""),  # under a minute: an attempt
])
def test_a_session_cut_short_counts_as_done_and_is_marked(given: dict[str, Any], state: str, cut: str) -> None:
    """Done by the definition of the measures; its day never looks like a whole one."""
    log = read_log([session(1, MONDAY, **given)])
    summary = summarise(log, [plan()], today=MONDAY + DAY, known_before=MONDAY + DAY, period=(MONDAY, MONDAY))
    assert (summary.weeks[0].days[0].state, summary.weeks[0].days[0].cut) == (state, cut)
    assert (summary.total.cut_n, summary.total.done_n) == (int(state == "cut"), int(state != "missed"))


def test_of_several_cut_short_the_gravest_reason_is_named_and_a_part_stays_a_part() -> None:
    """One of three, stopped for pain: some done, and said why; tired and pain on one day: pain."""
    log = read_log([session(1, MONDAY, ended=5, cued_s=600), session(2, MONDAY, hour=12, ended=2, cued_s=600)])
    versions = [plan(slots=("morning", "noon", "evening"))]
    [week] = summarise(log, versions, today=MONDAY + DAY, known_before=MONDAY + DAY, period=(MONDAY, MONDAY)).weeks
    assert (week.days[0].state, week.days[0].cut, week.count.cut_n) == ("part", "pain", 2)
