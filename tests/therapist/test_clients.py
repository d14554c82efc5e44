"""Clients and the clinic's details."""

from __future__ import annotations

from tests.therapist.house import House
from tests.therapist.test_kept_forms import CLINIC
from webapp.storage import clients, clinic

MAREN = {"code": "SL-07", "first_name": "Maren", "working_side": "right", "language": "en", "therapist_id": "2"}


def test_code_and_first_name_are_enough(house: House) -> None:
    """A client needs a code, a first name, a side; the plan comes next."""
    answer = house.browser("otto").send("/clinic/clients/new", **MAREN)
    assert answer.location == "/clinic/clients/1/screening"
    client = clients.read(house.db, 1)
    assert client
    assert (client.code, client.first_name, client.working_side, client.therapist_id) == ("SL-07", "Maren", "right", 2)
    assert house.actions()[-1] == "client_added"


def test_code_is_one_clients(house: House) -> None:
    """A second client cannot have the code, in no case; the same client keeps it."""
    otto = house.browser("otto")
    otto.send("/clinic/clients/new", **MAREN)
    page = otto.send("/clinic/clients/new", **{**MAREN, "code": "sl-07", "first_name": "Jorun"})
    assert page.status_code == 422
    assert "belongs to another client" in page.text
    assert "Jorun" in page.text
    assert otto.send("/clinic/clients/1/edit", **{**MAREN, "notes": "mornings"}).location == "/clinic/clients/1"


def test_everything_missing_is_said_at_once(house: House) -> None:
    """An empty form names each missing thing."""
    page = house.browser("otto").send("/clinic/clients/new")
    assert page.status_code == 422
    assert "5 things to mend" in page.text


def test_changed_client_shows_what_was_typed(house: House) -> None:
    """All that was given stands in the form again."""
    otto = house.browser("otto")
    given = {**MAREN, "phone": "0100 1", "helper_name": "Tilda <3", "helper_phone": "0100 2",
             "notes": "likes\nmornings"}
    otto.send("/clinic/clients/new", **given)
    page = otto.get("/clinic/clients/1/edit").text
    for shown in ("0100 1", "Tilda &lt;3", "0100 2", "likes\nmornings", 'value="right" checked'):
        assert shown in page


def test_archived_client_can_be_taken_back(house: House) -> None:
    """An archived client leaves the caseload and comes back whole."""
    otto = house.browser("otto")
    otto.send("/clinic/clients/new", **MAREN)
    otto.send("/clinic/clients/1/archive")
    assert "SL-07" in otto.get("/clinic/clients/archived").text
    assert clients.list_active(house.db) == []
    otto.send("/clinic/clients/1/take-back")
    assert [client.code for client in clients.list_active(house.db)] == ["SL-07"]
    assert "No client is archived." in otto.get("/clinic/clients/archived").text


def test_unknown_client_is_not_here(house: House) -> None:
    """A number that is nobody's gets the page that says so."""
    assert house.browser("otto").get("/clinic/clients/99/edit").status_code == 404


def test_clinic_details_are_saved(house: House) -> None:
    """The lead describes the clinic; its name then stands at the head of each page."""
    lead = house.browser("ines")
    assert lead.send("/clinic/practice", **CLINIC).status_code == 303
    told = clinic.read(house.db)
    assert (told.name, told.time_zone) == (CLINIC["name"], "Europe/London")
    assert told.lines == ("3 Saltmarsh Lane", "Tidewell")
    assert told.cautions == ("Not near the kiln.",)
    assert "Saltmarsh “Lane” &lt;Rehab&gt;</span>" in lead.get("/clinic/stimulators").text
    assert house.actions()[-1] == "clinic_changed"


def test_too_much_is_refused_and_kept(house: House) -> None:
    """Too many lines, or too long ones, are refused, and nothing of them is lost."""
    page = house.browser("ines").send("/clinic/practice", **{**CLINIC, "lines": "a\nb\nc\nd\ne\nf\ng",
                                                             "cautions": "x" * 300, "name": "n" * 200})
    assert page.status_code == 422
    assert "At most 6 lines" in page.text
    assert "x" * 300 in page.text
