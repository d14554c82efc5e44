"""Goals and measures on their pages: set, reviewed, scored with the working shown, plotted with the practice."""

from __future__ import annotations

import html
import re
from datetime import date

import pytest

from tests.therapist.house import Browser, House
from tests.therapist.test_clients import MAREN
from tests.therapist.test_pseudo_language import unmarked
from webapp.demo.cases import CASES
from webapp.demo.goals import AIMS, add_goals
from webapp.practice.goals import course
from webapp.practice.measures import Change, Measure, Reading
from webapp.storage import clients, goals, measures
from webapp.storage.clients import ClientDetails
from webapp.therapist.measure_chart import measure_chart, values_of_scale

PAGE = "/clinic/clients/1/goals"
CUP = {"words": "Hold my cup", "level0": "no grip", "level1": "empty", "level2": "half full", "level3": "drinks",
       "level4": "drinks easily", "importance": "3", "difficulty": "2", "baseline": "-1", "set_on": "2026-10-01"}
GRIP = {"name": "Grip", "unit": "kg", "direction": "more", "smallest_change": "4,5", "source": "our own"}


def text_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.fixture
def otto(house: House) -> Browser:
    browser = house.browser("otto")
    browser.send("/clinic/clients/new", **MAREN)
    return browser


def test_two_goals_from_baseline_to_review(house: House, otto: Browser) -> None:
    """Weights 6 and 2, from −1 both to +1 and −1: 55.8 by the published formula, with its working on the page."""
    assert otto.send(f"{PAGE}/new", **CUP).status_code == 303
    otto.send(f"{PAGE}/new", **{**CUP, "words": "Zip my coat", "importance": "1"})
    assert "Not reviewed yet" in otto.get(PAGE).text
    answer = otto.send(PAGE, day="2026-11-02", **{"level-1": "1", "level-2": "-1"}, note="both hands")
    assert answer.status_code == 303
    page = text_of(otto.get(PAGE).text)
    assert "At the review on 2 Nov 55.8" in page
    assert "50 + 10 × (4) ÷ √(0.7 × 40 + 0.3 × 8²) = 50 + 10 × (4) ÷ 6.870 = 55.8" in page
    assert "3 × 2 = 6" in page
    assert "“both hands” Otto Brindle" in page
    assert house.actions()[-2:] == ["goals_reviewed", "goals_read"]


def test_everything_missing_is_said_at_once_and_kept(otto: Browser) -> None:
    """A goal needs its words and all five levels."""
    answer = otto.send(f"{PAGE}/new", **{**CUP, "words": "", "level2": "", "set_on": "2999-01-01"})
    assert answer.status_code == 422
    assert "3 things to mend" in answer.text
    assert "half full" not in answer.text
    assert "drinks easily" in answer.text


def test_a_reviewed_goal_stands(house: House, otto: Browser) -> None:
    """Its levels can be changed until the first review; then it is set aside with a reason, and taken up again."""
    otto.send(f"{PAGE}/new", **CUP)
    otto.send(f"{PAGE}/1", **{**CUP, "level3": "drinks tea"})
    assert goals.of_client(house.db, 1)[0].levels[3] == "drinks tea"
    otto.send(PAGE, day="2026-11-02", **{"level-1": "0"})
    assert otto.send(f"{PAGE}/1", **{**CUP, "level3": "changed"}).status_code == 422
    assert goals.of_client(house.db, 1)[0].levels[3] == "drinks tea"
    assert otto.send(f"{PAGE}/1/aside").status_code == 422
    otto.send(f"{PAGE}/1/aside", why="moved to another house")
    assert "One goal is set aside" in otto.get(PAGE).text
    otto.send(f"{PAGE}/1/aside")
    assert goals.of_client(house.db, 1)[0].set_aside == ""


def test_a_review_is_checked_and_kept(otto: Browser) -> None:
    """Nothing filled in, a day to come, a word for a number: each is said, and what was typed stays."""
    otto.send("/clinic/measures/new", **GRIP)
    otto.send(f"{PAGE}/new", **CUP)
    assert "Nothing is filled in yet" in otto.send(PAGE, day="2026-11-02").text
    wrong = otto.send(PAGE, day="2999-01-01", **{"level-1": "7", "value-1": "strong"})
    assert wrong.status_code == 422
    assert "3 things to mend" in wrong.text
    assert 'value="strong"' in wrong.text


def test_what_was_noted_wrongly_is_taken_out(house: House, otto: Browser) -> None:
    """It counts no more; the rows stay in the database."""
    otto.send("/clinic/measures/new", **GRIP)
    otto.send(f"{PAGE}/new", **CUP)
    otto.send(PAGE, day="2026-11-02", **{"level-1": "2", "value-1": "55"})
    otto.send(f"{PAGE}/take-out", kind="review", number="1")
    otto.send(f"{PAGE}/take-out", kind="reading", number="1")
    assert goals.reviews(house.db, 1) == []
    assert measures.readings(house.db, 1) == []
    assert [row["n"] for row in house.db.query("SELECT count(*) AS n FROM readings")] == [1]
    assert otto.send(f"{PAGE}/take-out", kind="plan", number="1").status_code == 400


def test_measure_needs_the_source_of_its_smallest_change(house: House, otto: Browser) -> None:
    """A change that matters has a source; without one there is no such change, and no verdict."""
    assert "Please fill this in" in otto.send("/clinic/measures/new", **{**GRIP, "source": ""}).text
    otto.send("/clinic/measures/new", **GRIP)
    [grip] = measures.list_active(house.db)
    assert (grip.smallest_change, grip.source) == (4.5, "our own")
    for day, value in (("2026-10-01", "5,5"), ("2026-11-02", "10")):
        otto.send(PAGE, day=day, **{"value-1": value})
    page = text_of(otto.get(PAGE).text)
    assert "5.5 → 10 kg (+4.5): better, by a change that matters" in page
    fixed = otto.send("/clinic/measures/1", **{**GRIP, "unit": "lb"})
    assert fixed.status_code == 422
    assert "Make a new measure instead" in html.unescape(fixed.text)
    otto.send("/clinic/measures/1/archive")
    assert measures.list_active(house.db) == []
    assert "10 kg" in text_of(otto.get(PAGE).text)


@pytest.mark.parametrize(("direction", "least", "values", "verdict"), [
    ("more", 4.0, (5, 9), "better"), ("more", 4.0, (5, 8.9), "less"), ("more", 4.0, (9, 5), "worse"),
    ("less", 3.0, (20, 17), "better"), ("less", 3.0, (17, 20), "worse"), ("less", 3.0, (17, 17), "same"),
    ("more", None, (1, 9), "unknown"), ("more", 0.3, (0.1, 0.4), "better")])
def test_a_change_is_judged_by_what_matters_and_its_direction(
        direction: str, least: float | None, values: tuple[float, float], verdict: str) -> None:
    """Exactly the smallest change that matters is one, whatever the arithmetic of the machine; less is not."""
    measure = Measure(number=1, name="m", unit="", direction=direction, smallest_change=least)
    first, last = (Reading(measure=1, day=date(2026, 9, n), value=v) for n, v in enumerate(values, 1))
    assert Change(measure=measure, first=first, last=last).verdict == verdict


@pytest.mark.parametrize(("least", "greatest", "values"), [
    (5.5, 10, (0, 5, 10)), (12, 31, (0, 10, 20, 30, 40)), (-8, 12, (-10, -5, 0, 5, 10, 15)), (0, 0.9, (0, 0.5, 1)),
    (0, 0, (0,)), (3, 812, (0, 500, 1000))])
def test_scale_has_round_values_round_what_is_shown(least: float, greatest: float, values: tuple[float, ...]) -> None:
    """A few round steps, from zero where nothing lies below it."""
    found = values_of_scale(least, greatest)
    assert found[:len(values)] == pytest.approx(values)
    assert found[0] <= least
    assert found[-1] >= greatest


def test_readings_lie_inside_their_chart() -> None:
    """Marks, and the line from which a change matters, are drawn inside the picture, in the order of their days."""
    measure = Measure(number=1, name="m", unit="°", direction="less", smallest_change=5)
    readings = [Reading(measure=1, day=date(2026, 9, n), value=v) for n, v in ((1, -12), (9, 3), (28, 40))]
    chart = measure_chart(measure, readings, (), ())
    assert [x for x, _y, _v in chart.marks] == sorted(x for x, _y, _v in chart.marks)
    assert all(chart.left <= x <= chart.right and 0 < y <= chart.ground for x, y, _v in chart.marks)
    assert chart.matters_y is not None
    assert 0 < chart.matters_y <= chart.ground


def without(said: str, typed: set[str]) -> str:
    """Takes out what people typed and what is marked, also where one stands inside the other."""
    for one in sorted(typed, key=len, reverse=True):
        said = said.replace(one, "")
    while re.search(r"⟦[^⟦⟧]*⟧", said):
        said = re.sub(r"⟦[^⟦⟧]*⟧", "", said)
    return said if re.search(r"[^\W\d_]", said) else ""


def test_pages_say_only_what_the_catalogue_says(tmp_path_factory: pytest.TempPathFactory) -> None:
    """In the tests' language nothing on these pages is left in English but what people typed."""
    house = House(tmp_path_factory.mktemp("pseudo"), pseudo_language=True)
    lead = house.browser("ines")
    lead.send("/clinic/clients/new", **{**MAREN, "therapist_id": "1"})
    lead.send("/clinic/measures/new", **GRIP)
    lead.send(f"{PAGE}/new", **CUP)
    lead.send(PAGE, day="2026-11-02", **{"level-1": "1", "value-1": "7"})
    typed = {*CUP.values(), *GRIP.values(), "4.5", "2 Nov", "Ines Wallaroo", "SL-07 · Maren"}
    for page in (PAGE, f"{PAGE}/new", f"{PAGE}/1", "/clinic/measures", "/clinic/measures/1", "/clinic/clients/1/report",
                 "/clinic/clients/1/report/new", "/clinic/clients/1/erase"):
        assert [rest for said in unmarked(lead.get(page).text) if (rest := without(said, typed))] == [], page
    house.close()


def test_goals_of_the_demo_are_whole(house: House) -> None:
    """Each has its client, its levels and a score from one review to the next."""
    with house.practice.store.write(house.db) as db:
        for code in AIMS:
            clients.add(db, code=code, first_name="x", working_side="left", language="en", details=ClientDetails(),
                        therapist_id=1, created_ms=1)
        add_goals(db, 1, date(2026, 11, 25), lambda days_ago: house.clock.ms - days_ago)
    assert set(AIMS) < {case.code for case in CASES}
    for client in clients.list_active(house.db):
        found = course(goals.of_client(house.db, client.id), [n.review for n in goals.reviews(house.db, client.id)])
        assert len(found) > 1
        assert None not in {one.t_score for one in found}
        assert measures.readings(house.db, client.id)
