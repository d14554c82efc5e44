"""Who needs the therapist: each reason comes when it should, and goes when it should."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.practice.invented import MONDAY, PHONE, entry, plan, session
from webapp.practice.attention import RANKS, Answered, Contact, order, reasons
from webapp.practice.schedule import PlanVersion
from webapp.practice.session import Entry, read_log
from webapp.practice.thresholds import STANDARD

DAY = timedelta(days=1)
TODAY = MONDAY + 20 * DAY
HEARD_TODAY = Contact(phones_n=1, last_day=TODAY)
DILIGENT = [session(100 + n, MONDAY + n * DAY) for n in range(21)]


def rules(entries: list[Entry], *, versions: list[PlanVersion] | None = None, contact: Contact = HEARD_TODAY,
          answered: Answered = frozenset(), today: date = TODAY) -> list[str]:
    plans = [plan()] if versions is None else versions
    return [r.rule for r in reasons(read_log(entries), plans, contact, answered, today)]


def test_nothing_is_wrong_with_a_diligent_client() -> None:
    """Every session done, skin unchanged, heard today: no reason at all."""
    assert rules(DILIGENT) == []


@pytest.mark.parametrize(("record", "rule"), [
    (session(1, TODAY, skin_after=[0, 4]), "skin"),
    (session(1, MONDAY, skin_before=[2, 0], cued_s=0, ended=3), "skin"),
    (session(1, TODAY, ended=4), "unwell"),
    (session(1, TODAY, pain_after_n=7), "pain"),
    (session(1, TODAY, ended=2), "pain"),
    (session(1, TODAY, pain_before_n=2, pain_after_n=4), "pain_rise"),
    (session(1, TODAY, strength_half_ma=[57]), "above_ceiling"),
    (session(1, TODAY, ended=6), "lost_twice"),
    (session(1, TODAY, period_ppm=-41_000), "set_differently"),
    (session(1, TODAY, note="the lead came off"), "note"),
    (session(1, TODAY, marks={"aside": True}), "aside"),
    (session(1, TODAY, marks={"late": True}), "late"),
    (entry(1, "skin_later", TODAY, session_seq=120, when=2, skin=[1, 0]), "skin_stays"),
    (entry(1, "skin_later", TODAY, session_seq=120, when=1, skin=[3, 0]), "skin"),
    (entry(1, "finding", TODAY, exercise=1, what=1, place_n=0, skin=4, pain_n=11, note=""), "skin"),
    (entry(1, "finding", TODAY, exercise=1, what=2, place_n=99, skin=9, pain_n=6, note=""), "pain"),
    (entry(1, "from_a_later_release", TODAY), "unknown_kind"),
])
def test_a_record_that_needs_a_look_is_named(record: Entry, rule: str) -> None:
    """Each finding in a record becomes a reason with its rule's name."""
    assert rules([*DILIGENT, record]) == [rule]


@pytest.mark.parametrize("record", [
    entry(1, "skin_later", TODAY, session_seq=120, when=1, skin=[1, 0]),  # pink an hour later is expected
    session(1, TODAY, skin_after=[1, 9]),
    session(1, TODAY, period_ppm=30_000),  # the worst clock
    session(1, TODAY, period_ppm=1_000_000),  # not known
    session(1, TODAY, strength_half_ma=[56]),  # at the ceiling is not above it
    session(1, TODAY, pain_before_n=11, pain_after_n=3),
    session(1, MONDAY, ended=6), session(1, MONDAY, note="long ago"),
])
def test_what_is_expected_is_no_reason(record: Entry) -> None:
    """Even pink after a session, the ceiling itself, an old note: nobody is called for these."""
    assert rules([*DILIGENT, record]) == []


def test_a_finding_stays_until_it_is_answered() -> None:
    """A blister three weeks ago is on top today, and gone once the therapist has answered it."""
    blister = session(1, MONDAY, skin_after=[4, 0])
    assert rules([*DILIGENT, blister]) == ["skin"]
    assert rules([*DILIGENT, blister], answered=frozenset({(PHONE, 1, "skin")})) == []


def test_an_answer_to_one_finding_does_not_answer_another_of_the_same_session() -> None:
    """Skin answered, pain not: the pain is still there."""
    both = session(1, TODAY, skin_after=[4, 0], pain_after_n=9)
    assert rules([*DILIGENT, both], answered=frozenset({(PHONE, 1, "skin")})) == ["pain"]


def test_a_later_look_is_answered_with_its_session() -> None:
    """Bumps after the session and still an hour later are one thing to answer, and one answer covers both."""
    found = reasons(read_log([*DILIGENT, session(1, TODAY, skin_after=[3, 0]),
                              entry(2, "skin_later", TODAY, session_seq=1, when=1, skin=[3, 0])]),
                    [plan()], HEARD_TODAY, frozenset(), TODAY)
    assert [(r.rule, r.answers) for r in found] == [("skin", ((PHONE, 1, "skin"), (PHONE, 2, "skin")))]


def test_a_look_that_came_after_the_answer_is_asked_about_anew() -> None:
    """The therapist answered in the evening; next morning the skin is worse: that is a new question."""
    worse = entry(2, "skin_later", TODAY, session_seq=1, when=2, skin=[4, 0])
    log = [*DILIGENT, session(1, TODAY, skin_after=[3, 0]), worse]
    assert rules(log, answered=frozenset({(PHONE, 1, "skin")})) == ["skin"]


def test_contact_lost_in_several_sessions_is_one_reason() -> None:
    """The caseload counts them instead of repeating them."""
    found = reasons(read_log([*DILIGENT, *(session(n, TODAY, ended=6) for n in (1, 2, 3))]), [plan()], HEARD_TODAY,
                    frozenset(), TODAY)
    assert [(r.rule, r.params["n"]) for r in found] == [("lost_twice", 3)]


def test_quiet_and_silent_are_told_apart() -> None:
    """A phone heard today without sessions is quiet; one not heard is silent: nobody says that nothing was done."""
    week = DILIGENT[:10]
    assert rules(week) == ["quiet", "low"]
    assert rules(week, contact=Contact(phones_n=1, last_day=MONDAY + 9 * DAY)) == ["silent"]
    assert rules([], contact=Contact(phones_n=0, last_day=None)) == ["unopened"]


def test_quiet_counts_the_days_on_which_practice_was_due_since_a_phone_knew_the_plan() -> None:
    """Let in on Monday a week after the plan began: that day and those before are not held against her."""
    versions, monday = [plan(weekdays=frozenset({1, 3, 5}))], MONDAY + 7 * DAY
    def n(days: int) -> list[object]:
        heard = Contact(phones_n=1, last_day=monday + days * DAY, first_day=monday)
        return [r.params["n"] for r in reasons(read_log([]), versions, heard, frozenset(), monday + days * DAY)
                if r.rule == "quiet"]
    assert (n(0), n(7), n(9)) == ([], [], [])  # Wed, Fri, then Mon: three
    assert n(10) == [4]


def test_resting_as_the_plan_asks_is_not_quiet() -> None:
    """Six days in bed with a cold, said each day: no reason to ask why nothing was done."""
    rest = [entry(n, "not_today", MONDAY + n * DAY, exercise=0, why=3) for n in range(15, 21)]
    assert rules([*DILIGENT[:15], *rest]) == []


def test_the_plans_end_is_announced() -> None:
    """A week before its last day, after it, and where there is none."""
    assert rules(DILIGENT, versions=[plan(days=25)]) == ["ends"]
    assert rules(DILIGENT, versions=[plan(days=20)]) == ["ended"]
    assert rules([], versions=[]) == ["no_plan"]


def test_looks_that_were_not_taken_are_named() -> None:
    """Pink after two sessions and no look next morning: unknown, never faded."""
    pink = [session(n, MONDAY + (14 + n) * DAY, skin_after=[1, 0]) for n in (1, 2)]
    assert rules([*DILIGENT, *pink]) == ["looks"]
    looked = [entry(10 + n, "skin_later", TODAY, session_seq=n, when=2, skin=[0, 0]) for n in (1, 2)]
    assert rules([*DILIGENT, *pink, *looked]) == []


def test_pads_are_overdue_when_none_were_noted_for_four_weeks() -> None:
    """Counted from the last new pads, else from the plan's first day; only while the client practises."""
    month = [session(100 + n, MONDAY + n * DAY) for n in range(35)]
    later = MONDAY + 34 * DAY
    heard = Contact(phones_n=1, last_day=later)
    assert rules(month, today=later, contact=heard) == ["pads"]
    new = entry(1, "changed", MONDAY + 20 * DAY, what=1, version=0, by=0)
    assert rules([*month, new], today=later, contact=heard) == []
    assert "pads" not in rules(month[:10], today=later, contact=heard)


def test_a_clinic_of_its_own_mind() -> None:
    """Its thresholds decide, but for what no clinic can wave away."""
    patient = replace(STANDARD, quiet_days=30, low_percent=10)
    log = [*DILIGENT[:10], session(1, MONDAY, skin_after=[4, 0])]
    found = reasons(read_log(log), [plan()], HEARD_TODAY, frozenset(), TODAY, patient)
    assert [r.rule for r in found] == ["skin"]


def test_skin_comes_before_everything_else() -> None:
    """The caseload's order is by the gravest reason, then by how many there are."""
    found = [reasons(read_log(entries), [plan()], HEARD_TODAY, frozenset(), TODAY) for entries in (
        DILIGENT, DILIGENT[:10], [*DILIGENT, session(1, TODAY, note="x")],
        [*DILIGENT, session(1, MONDAY, skin_after=[2, 0])])]
    assert [r[0].rule if r else "" for r in sorted(found, key=order)] == ["skin", "quiet", "note", ""]
    assert RANKS[:2] == ("not_at_home", "skin")


@pytest.mark.parametrize(("lasts", "changed_on", "named"), [
    (20, None, True), (30, None, False), (0, None, False), (20, MONDAY + 5 * DAY, False), (10, MONDAY + 5 * DAY, True),
])
def test_pads_are_overdue_after_as_many_sessions_as_they_last(lasts: int, changed_on: date | None, named: bool) -> None:
    """By the count that the plan names; new pads begin it anew; without a count only the days count."""
    changed = [entry(1, "changed", changed_on, what=1, version=1, by=0)] if changed_on else []
    found = rules([*DILIGENT, *changed], versions=[replace(plan(), pads_sessions=lasts)])
    assert found == (["pads_used"] if named else [])
