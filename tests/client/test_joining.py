"""Who is let in, how often, and what everybody else is told."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.client.conftest import Desk
from tests.client.invented_clinic import DAY_MS, TOKEN, TYPED
from webapp.client.activation import typed_characters
from webapp.storage import devices, links
from webapp.storage.database import Store

CLIENT = LINK = 1


def asks(browser: FlaskClient, **offer: str) -> tuple[int, dict[str, Any]]:
    answer = browser.post("/join/activate", json=offer)
    return answer.status_code, answer.get_json()


def test_a_phone_is_given_its_keys_once(desk: Desk) -> None:
    """A device, a handle, a key, the pack, and a cookie for its own addresses alone."""
    browser = desk.browser()
    answer = browser.post("/join/activate", json={"token": TOKEN})
    given = answer.get_json()
    assert answer.status_code == 200
    assert (given["code"], given["first_name"], len(given["device"]), len(given["handle"])) == ("SL-07", "Sol", 16, 16)
    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith(f"wattlebird_{given['handle'][:8]}=")
    assert all(part in cookie for part in (f"Path=/my/{given['handle']}/", "HttpOnly", "SameSite=Lax"))
    stored = devices.by_id(desk.db(), given["device"])
    assert stored
    assert stored.cookie_sha256 not in cookie


def test_a_thousand_plain_openings_use_nothing_up(desk: Desk) -> None:
    """Link scanners open every link that they see."""
    browser = desk.browser()
    assert {browser.get("/join").status_code for _ in range(1_000)} == {200}
    link = links.read(desk.db(), LINK)
    assert link
    assert link.uses_left == 4
    assert browser.get("/join/activate").status_code == 405


def test_a_link_lets_four_phones_in_and_says_that_it_is_used_up(desk: Desk) -> None:
    """The phone, a partner's tablet, a new phone; each is a device of its own."""
    browser = desk.browser()
    let_in = [asks(browser, token=TOKEN) for _ in range(4)]
    assert {status for status, _ in let_in} == {200}
    assert len({given["device"] for _, given in let_in}) == 4
    assert asks(browser, token=TOKEN) == (410, {"error": "link_used_up"})


def test_an_answer_that_was_lost_uses_nothing_up(desk: Desk) -> None:
    """The same request gets the same device and key again, with a new cookie, until the phone has spoken."""
    browser, request = desk.browser(), "0123456789abcdef" * 2
    first, again = (asks(browser, token=TOKEN, request=request)[1] for _ in range(2))
    assert first == again
    link = links.read(desk.db(), LINK)
    assert link
    assert link.uses_left == 3
    assert asks(browser, token=TOKEN, request="f" * 32)[1]["device"] != first["device"]
    assert asks(browser, token=TOKEN, request="short")[1]["device"] != first["device"]
    assert asks(browser, typed=TYPED, request=request)[1]["device"] != first["device"]
    store = Store(desk.settings.database_path)
    with store.write(store.connect()) as db:
        devices.saw(db, first["device"], 1)
    assert asks(browser, token=TOKEN, request=request) == (410, {"error": "link_used_up"})


def test_a_phone_says_which_it_was(desk: Desk) -> None:
    """Its store was gone, the address was not: the new device names the old one, if that was this client's."""
    browser = desk.browser()
    _, before = asks(browser, token=TOKEN)
    _, after = asks(browser, token=TOKEN, was=before["handle"])
    _, other = asks(browser, token=TOKEN, was="a" * 16)
    found = [devices.by_id(desk.db(), one["device"]) for one in (before, after, other)]
    assert [one.replaces for one in found if one] == [None, before["device"], None]


def test_typed_signs_are_read_as_they_look(desk: Desk) -> None:
    """Small letters, spaces, a hyphen; I and L for 1, O for 0."""
    assert asks(desk.browser(), typed=f" {TYPED[:5]}-{TYPED[5:]} ".lower())[0] == 200
    assert typed_characters("o0Il1") == "00111"


def test_a_dead_link_explains_itself(desk: Desk) -> None:
    """Withdrawn, too old, unknown."""
    desk.now_ms += 8 * DAY_MS
    assert asks(desk.browser(), token=TOKEN) == (410, {"error": "link_ended"})
    db = desk.db()
    with db.conn:
        links.withdraw(db, LINK, desk.now_ms)
    assert asks(desk.browser(), token=TOKEN) == (410, {"error": "link_withdrawn"})
    assert asks(desk.browser(), token="a" * 32) == (404, {"error": "link_unknown"})


def test_ten_tries_a_minute_and_no_more(desk: Desk) -> None:
    """Right ones too; a minute later one may try again."""
    browser = desk.browser()
    assert [asks(browser, typed=f"{n:010}")[0] for n in range(12)] == [404] * 10 + [429] * 2
    assert asks(browser, token=TOKEN) == (429, {"error": "too_many_tries"})
    desk.now_ms += 60_000
    assert asks(browser, token=TOKEN)[0] == 200


@pytest.mark.parametrize("body", ["", "[]", "{", '{"token": 7}', '{"typed": ["a"]}', '"token"'])
def test_what_is_no_request_is_refused(desk: Desk, body: str) -> None:
    """With an answer that a program understands."""
    answer = desk.browser().post("/join/activate", data=body, content_type="application/json")
    assert (answer.status_code, answer.get_json()) == (400, {"error": "message_malformed"})
    assert devices.of_client(desk.db(), CLIENT) == []
