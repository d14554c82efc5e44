"""Behind a proxy that ends TLS: who is believed, and what a form needs over https."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.therapist.house import PASSWORD, House

ADDRESS = "https://clinic.example"
FORWARDED = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7", "X-Forwarded-Host": "clinic.example"}


@pytest.fixture
def https_house(tmp_path: Path) -> Iterator[House]:
    house = House(tmp_path, public_url=ADDRESS, trusted_proxies=1)
    yield house
    house.close()


def sign_in(house: House, **headers: str) -> int:
    browser = house.browser()
    fields = {"csrf_token": browser.token(), "login": "ines", "password": PASSWORD}
    return browser.client.post("/clinic/sign-in", data=fields, headers={**FORWARDED, **headers},
                               base_url="http://clinic.example").status_code


def test_form_over_https_needs_a_referrer_of_its_own_site(https_house: House) -> None:
    """Over https a form is taken from the clinic's own pages alone; the referrer policy lets them say so."""
    assert sign_in(https_house, Referer=f"{ADDRESS}/clinic/sign-in") == 303
    assert sign_in(https_house, Referer="https://evil.example/") == 400
    assert sign_in(https_house) == 400
    assert https_house.browser().get("/clinic/sign-in").headers["Referrer-Policy"] == "same-origin"


def test_host_is_believed_from_the_proxy_and_checked(https_house: House) -> None:
    """A forwarded host that is not the clinic's is refused."""
    headers = {**FORWARDED, "X-Forwarded-Host": "evil.example"}
    answer = https_house.browser().client.get("/clinic/sign-in", headers=headers)
    assert answer.status_code == 400


def test_without_a_proxy_nobody_names_their_own_address(house: House) -> None:
    """Where no proxy is trusted, a made-up address does not get around the slow-down."""
    answers = []
    for n in range(14):
        browser = house.browser()
        fields = {"csrf_token": browser.token(), "login": f"name{n}", "password": "wrong wrong wrong"}
        answers.append(browser.client.post("/clinic/sign-in", data=fields,
                                           headers={"X-Forwarded-For": f"198.51.100.{n}"}).status_code)
    assert answers[-1] == 429
