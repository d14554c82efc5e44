"""What a review compares: real visits within the days shown, else their first and last days; nothing is made up."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.practice.invented import MONDAY, plan
from tests.therapist.house import House
from tests.therapist.test_clients import MAREN
from webapp.storage import visits
from webapp.storage.visits import Visit
from webapp.therapist.form import Form
from webapp.therapist.review_period import Shown, choose, read_asked

DAY = timedelta(days=1)
TODAY = MONDAY + 41 * DAY
ISSUED = Visit(day=MONDAY, what="plan", version=1)


def shown(noted: list[Visit], **asked: str) -> Shown:
    second = plan(2, MONDAY + 14 * DAY)
    return choose(read_asked(Form(asked)), [plan(), second], noted, TODAY)


def days(found: Shown) -> list[int] | None:
    both = found.compared
    return both and [(day - MONDAY).days for day in (*both.before, *both.since)]  # type: ignore[return-value]


@pytest.mark.parametrize(("visit", "expected", "by_visit"), [
    (None, [0, 13, 28, 41], False),
    (MONDAY, [0, 13, 28, 41], False),  # issued and never seen again: nothing lies before it
    (MONDAY + 35 * DAY, [28, 34, 35, 41], True),
    (MONDAY + 10 * DAY, [0, 9, 10, 41], True),  # never earlier than the plan
    (TODAY, [0, 13, 28, 41], False),  # today's visit is this one
])
def test_the_last_visit_divides_the_days_where_there_is_one(visit: date | None, expected: list[int],
                                                            by_visit: bool) -> None:
    """As many days before as since; without a visit two weeks at either end."""
    found = shown([Visit(day=visit, what="seen")] if visit else [])
    assert days(found) == expected
    assert found.compared
    assert found.compared.by_visit is by_visit
    assert (found.visit is None) is (visit in {None, TODAY})


def test_the_days_shown_hold_for_the_comparison_too() -> None:
    """Version 1's days alone, and typed ones; a visit after them does not divide them."""
    late, early = Visit(day=MONDAY + 30 * DAY, what="readings"), Visit(day=MONDAY + 7 * DAY, what="goals")
    assert days(shown([late, early, ISSUED], version="1")) == [0, 6, 7, 13]
    typed = {"from": (MONDAY + 8 * DAY).isoformat(), "to": (MONDAY + 11 * DAY).isoformat()}
    assert days(shown([late, early, ISSUED], **typed)) == [8, 9, 10, 11]
    assert days(shown([late, early, ISSUED], visit=(MONDAY + 40 * DAY).isoformat())) == [38, 39, 40, 41]
    assert shown([], **{"from": TODAY.isoformat(), "to": TODAY.isoformat()}).compared is None


def test_a_press_says_that_the_client_was_seen(house: House) -> None:
    """One day once, by what tells most; the press is in the trail."""
    desk = house.browser("otto")
    desk.send("/clinic/clients/new", **MAREN)
    assert desk.send("/clinic/clients/1/seen").status_code == 303
    today = visits.of_client(house.db, 1, ZoneInfo("UTC"))[0]
    assert (today.what, house.actions()[-1]) == ("seen", "client_seen")
