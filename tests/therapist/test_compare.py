"""Comparing a plan with its versions, a starting point, another client's plan; who may, and what the trail says."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape

import pytest

from tests.client_pages.invented_plan import invented_plan
from tests.therapist.house import Browser, House
from webapp.prescribing.issue import complete
from webapp.storage import clients, plans, starting_points
from webapp.storage.clients import ClientDetails

PAGE = "/clinic/clients/1/plans/compare"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """Two clients with a plan each, one without, and a starting point of the clinic's own."""
    house = House(tmp_path_factory.mktemp("clinic"))
    other = complete(invented_plan())
    other["exercises"][0] |= {"task": "Feed the old grey cat", "side": "left"}
    other["exercises"][0]["settings"]["session_min"] = 15
    with house.practice.store.write(house.db):
        for code, issued in (("SL-07", complete(invented_plan())), ("SL-08", other), ("SL-09", None)):
            client_id = clients.add(house.db, code=code, first_name="Maren", working_side="right", language="en",
                                    details=ClientDetails(), therapist_id=2, created_ms=1)
            if issued:
                plans.insert(house.db, client_id=client_id, version=1, issued=json.dumps(issued), note="", user_id=1,
                             now_ms=house.clock.ms)
        starting_points.add(house.db, "Gentle hand", "", {"drive": "cycled", "session_min": "7,5", "rest_s": "25"},
                            user_id=1, now_ms=1)
    yield house
    house.close()


@pytest.fixture(scope="module")
def desk(house: House) -> Browser:
    return house.browser("otto")


def rows(browser: Browser, query: str) -> dict[str, list[str]]:
    """Reads the table: the cells of each row by its name."""
    page = browser.get(f"{PAGE}?{query}").text
    found = re.findall(r'<tr><th scope="row">(.+?)</th>(.+?)</tr>', page)
    return {unescape(name): [unescape(re.sub("<[^>]+>", "", cell)) for cell in re.findall(r"<td>(.*?)</td>", cells)]
            for name, cells in found}


def test_a_plan_beside_the_clinics_own_starting_point(desk: Browser) -> None:
    """What it says is compared, as numbers typed with a comma too; what it does not say is no difference."""
    assert rows(desk, "old=start:own:1&new=1&exercise=1") == {
        "time": ["7.5 minutes", "20 minutes", "Time: twenty minutes instead of 7.5"],
        "rest": ["25 seconds", "12 seconds", "Rest: twelve seconds instead of twenty-five"],
    }


def test_a_plan_beside_a_published_starting_point(desk: Browser) -> None:
    """Each exercise can be laid beside it; the other ones do not differ."""
    found = rows(desk, "old=start:strength&new=1&exercise=1")
    assert found["frequency"][:2] == ["50 Hz", "35 Hz"]
    assert "Ceiling" not in " ".join(found)
    steady = rows(desk, "old=1&new=start:pain&exercise=1")
    assert steady["What starts a contraction"][1] == "nothing: it goes on steadily"
    assert steady["hold"][2] == "Hold: no longer"
    assert rows(desk, "old=start:strength&new=start:relearning&exercise=1")["frequency"][:2] == ["50 Hz", "35 Hz"]


def test_a_plan_beside_another_clients(desk: Browser, house: House) -> None:
    """Found by code, matched by movement, read as that client is read; words typed for them go to nobody else."""
    before = len(house.actions())
    found = rows(desk, "code=SL-08")
    assert found["time"][2] == "Time: twenty minutes instead of fifteen"
    assert found["The client's task"][0] == "Feed the old grey cat"
    assert found["The client's task"][2] == "–"
    assert len(house.actions()) > before
    read = [dict(row) for row in house.db.query("SELECT client_id, detail FROM audit WHERE action = 'client_read'")]
    assert (2, "SL-07") in [(row["client_id"], json.loads(row["detail"]).get("beside")) for row in read]


@pytest.mark.parametrize(("query", "said"), [("code=SL-99", "No client has the code SL-99"),
                                             ("code=SL-09", "SL-09 has no plan that was issued")])
def test_who_is_not_there_or_has_no_plan_is_named(desk: Browser, query: str, said: str) -> None:
    """The page stays, with what was typed."""
    page = desk.get(f"{PAGE}?{query}")
    assert (page.status_code, said in page.text) == (200, True)


@pytest.mark.parametrize("query", ["old=start:none", "new=7", "old=client:2:1", "old=client:2:9&code=SL-08", "new=%00"])
def test_what_is_not_among_the_choices_is_not_there(desk: Browser, query: str) -> None:
    """Another client's plan only by that client's code: it is never shown without the trail noting it."""
    page = desk.get(f"{PAGE}?{query}")
    assert page.status_code == 404 or "Feed the old grey cat" not in page.text


def test_a_client_without_a_plan_has_a_draft_to_compare(desk: Browser) -> None:
    """With a starting point, before anything was issued."""
    assert desk.get("/clinic/clients/3/plans/compare?old=start:relearning").status_code == 200


def test_who_administers_sees_no_plan(house: House) -> None:
    """The administrator has no clinical content."""
    assert house.browser("rui").get(PAGE).status_code == 403
