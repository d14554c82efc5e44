"""In the tests' language nothing on a clinic page is left in English but what people typed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.therapist.house import House
from tests.therapist.test_stimulators import GREY_BOX
from webapp.formats.stimulator_json import read_stimulator, write_stimulator
from webapp.storage import stimulators
from webapp.therapist.clinic import time_zones

MARKED = re.compile(r"⟦[^⟦⟧]*⟧")
SPOKEN = {"alt", "title", "placeholder", "aria-label", "data-offline", "data-signed-out", "data-sign-in-again"}
TYPED = ("Ines Wallaroo", "Otto Brindle", "Rui Saltbush", "ines", "otto", "rui", "SL-07", "Maren",
         "Grey two-channel unit", "Press the round button once.", "Press the lower half.", "A red light",
         *(zone.replace("_", " ") for zone in time_zones()))
PAGES = ("sign-in", "first-password", "password", "practice", "people", "clients/new", "clients/1/edit",
         "clients/archived", "returns", "clients/1/paper", "stimulators", "stimulators/new", "stimulators/1", "nothing")


class Said(HTMLParser):
    """Collects what a page says: its text, and the attributes that are read out."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []

    def handle_data(self, data: str) -> None:
        self.texts.append(data.strip())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.texts += [value for name, value in attrs if name in SPOKEN and value]


@pytest.fixture
def pseudo_house(tmp_path: Path) -> Iterator[House]:
    house = House(tmp_path, pseudo_language=True)
    with house.practice.store.write(house.db):
        stimulators.add(house.db, write_stimulator(read_stimulator({**GREY_BOX, "maker_note": ""})), 1)
    house.browser("ines").send("/clinic/clients/new", code="SL-07", first_name="Maren", working_side="right",
                               language="en", therapist_id="1")
    yield house
    house.close()


def unmarked(page: str) -> list[str]:
    said = Said()
    said.feed(page)
    left = []
    for text in said.texts:
        rest = text
        while MARKED.search(rest):
            rest = MARKED.sub("", rest)
        if re.search(r"[^\W\d_]", rest) and rest.strip(" :·") not in TYPED:
            left.append(text)
    return left


def test_no_clinic_page_forgets_the_catalogue(pseudo_house: House) -> None:
    """Every page of the clinic's foundations, signed in and out, says only what went through the catalogue."""
    signed_in, stranger = pseudo_house.browser("ines"), pseudo_house.browser()
    for page in PAGES:
        browser = stranger if page in {"sign-in", "first-password"} else signed_in
        assert unmarked(browser.get(f"/clinic/{page}").text) == [], page


def test_no_refusal_forgets_the_catalogue(pseudo_house: House) -> None:
    """So do the refused forms."""
    browser = pseudo_house.browser("ines")
    for page in ("practice", "people", "clients/new", "stimulators/new", "password"):
        answer = browser.send(f"/clinic/{page}")
        assert answer.status_code == 422
        assert unmarked(answer.text) == [], page
