"""A phone's own addresses: what its cookie opens, what its seal does, what nobody else gets."""

from __future__ import annotations

import base64
import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.client.conftest import Desk
from tests.client.invented_clinic import DAY_MS, TOKEN, add_client
from webapp import sealing
from webapp.storage import devices
from webapp.storage.database import Store


@pytest.fixture
def browser(desk: Desk) -> FlaskClient:
    return desk.browser()


@pytest.fixture
def phone(browser: FlaskClient) -> dict[str, Any]:
    """Lets a phone in; the browser keeps its cookie."""
    given: dict[str, Any] = browser.post("/join/activate", json={"token": TOKEN}).get_json()
    return given


def sealed(phone: dict[str, Any], **content: object) -> dict[str, Any]:
    body = json.dumps({"device": phone["device"], **content}).encode()
    key = sealing.derive(base64.b64decode(phone["device_key"]), "cookie")
    return {"data": body, "headers": {"Wattlebird-Seal": sealing.seal(key, body)}, "content_type": "application/json"}


def cookie_of(phone: dict[str, Any]) -> dict[str, str]:
    handle = phone["handle"]
    return {"key": f"wattlebird_{handle[:8]}", "domain": "127.0.0.1", "path": f"/my/{handle}/"}


def pack(phone: dict[str, Any], path: str) -> str:
    return f"/my/{phone['handle']}/pack/{phone['pack_id']}/{path}"


def get(browser: FlaskClient, path: str, **headers: str) -> TestResponse:
    """Gets an address; a file that is sent is read whole and closed."""
    answer = browser.get(path, headers={name.replace("_", "-"): value for name, value in headers.items()})
    answer.get_data()
    answer.close()
    return answer


def test_a_pack_file_needs_the_cookie_of_its_phone(desk: Desk, browser: FlaskClient, phone: dict[str, Any]) -> None:
    """Without it nothing comes, whatever the address says."""
    assert get(browser, pack(phone, "manifest.json")).status_code == 200
    assert get(browser, pack(phone, "today")).status_code == 200
    assert desk.browser().get(pack(phone, "today")).status_code == 401
    assert browser.get(pack(phone, "../../wattlebird.db")).status_code == 404


def test_another_clients_pack_is_not_there(desk: Desk, browser: FlaskClient, phone: dict[str, Any]) -> None:
    """A cookie opens its own client's packs alone."""
    token = sealing.new_token()
    store = Store(desk.settings.database_path)
    add_client(store, desk.settings, desk.now_ms, "MR-12", token, "0" * 10)
    other = desk.browser().post("/join/activate", json={"token": token}).get_json()
    path = f"/my/{phone['handle']}/pack/{other['pack_id']}/today"
    assert browser.get(path).status_code == 404


def test_files_come_compressed_and_in_pieces(browser: FlaskClient, phone: dict[str, Any]) -> None:
    """Compressed where it is welcome; the whole of a sound or a range of it."""
    page = get(browser, pack(phone, "today"), Accept_Encoding="gzip")
    assert page.headers["Content-Encoding"] == "gzip"
    calendar = get(browser, pack(phone, "data/practice.ics"), Accept_Encoding="gzip")
    assert calendar.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert "Content-Disposition" not in calendar.headers  # the page's link names the file, not the place where it lies
    sound = get(browser, pack(phone, "tones/rise.wav"), Range="bytes=0-3")
    assert (sound.status_code, sound.data) == (206, b"RIFF")


def test_without_a_worker_the_server_shows_the_pages(browser: FlaskClient, phone: dict[str, Any]) -> None:
    """To the phone with the cookie; to anybody else how to open the plan again."""
    assert "Opening the hand" in get(browser, f"/my/{phone['handle']}/today").text
    browser.delete_cookie(**cookie_of(phone))
    assert "Your plan is not on this phone" in browser.get(f"/my/{phone['handle']}/today").text


def test_a_lost_cookie_is_renewed_by_a_seal(browser: FlaskClient, phone: dict[str, Any]) -> None:
    """The old one is worth nothing afterwards."""
    old = browser.get_cookie(**cookie_of(phone))
    assert browser.post(f"/my/{phone['handle']}/cookie", **sealed(phone, **{"for": "cookie"})).status_code == 200
    new = browser.get_cookie(**cookie_of(phone))
    assert old
    assert new
    assert old.value != new.value
    assert get(browser, pack(phone, "today")).status_code == 200


def test_a_seal_for_one_thing_gets_nothing_else(browser: FlaskClient, phone: dict[str, Any]) -> None:
    """A wrong seal, a seal for the other request, another phone's address."""
    handle = phone["handle"]
    for_cookie = sealed(phone, **{"for": "cookie"})
    assert browser.post(f"/my/{handle}/rejoin-token", **for_cookie).status_code == 400
    assert browser.post(f"/my/{handle}/cookie", **{**for_cookie, "headers": {}}).status_code == 401
    assert browser.post(f"/my/{'a' * 16}/cookie", **for_cookie).status_code == 401


def test_a_rejoin_token_works_once_and_for_a_day(desk: Desk, browser: FlaskClient, phone: dict[str, Any]) -> None:
    """It makes one more device, uses the link not up, and stands only in the manifest of its own phone."""
    browser.post(f"/my/{phone['handle']}/rejoin-token", **sealed(phone, **{"for": "rejoin"}))
    manifest = json.loads(browser.get(f"/my/{phone['handle']}/rejoin.webmanifest").text)
    token = manifest["start_url"].split("#rejoin=")[1]
    desk.now_ms += DAY_MS
    assert browser.post("/join/activate", json={"rejoin": token}).get_json() == {"error": "link_ended"}
    browser.post(f"/my/{phone['handle']}/rejoin-token", **sealed(phone, **{"for": "rejoin"}))
    manifest = json.loads(browser.get(f"/my/{phone['handle']}/rejoin.webmanifest").text)
    token = manifest["start_url"].split("#rejoin=")[1]
    assert browser.post("/join/activate", json={"rejoin": token}).status_code == 200
    assert browser.post("/join/activate", json={"rejoin": token}).status_code == 404
    assert len(devices.of_client(desk.db(), 1)) == 2


def test_a_withdrawn_phone_gets_nothing_more(desk: Desk, browser: FlaskClient, phone: dict[str, Any]) -> None:
    """From its next request on: no pack, no page, no cookie."""
    db = desk.db()
    with db.conn:
        devices.revoke(db, phone["device"], desk.now_ms)
    assert browser.get(pack(phone, "manifest.json")).status_code == 403
    assert "Your plan is not on this phone" in browser.get(f"/my/{phone['handle']}/today").text
    assert browser.post(f"/my/{phone['handle']}/cookie", **sealed(phone, **{"for": "cookie"})).status_code == 403


def test_the_worker_may_rule_the_phones_addresses_and_is_asked_for_each_time(browser: FlaskClient) -> None:
    """One file for all, without a cookie; what it keeps of its own is named with its hash."""
    answer = browser.get("/sw.js")
    assert answer.headers["Service-Worker-Allowed"] == "/my/"
    assert answer.headers["Cache-Control"] == "no-cache"
    assert "Set-Cookie" not in answer.headers
    assert '"/my/open-again"' in answer.text
    assert '"RELEASE"' not in answer.text
    assert '"SHELL"' not in answer.text
