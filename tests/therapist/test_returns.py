"""Read a log: what the clinic's page says of codes and files, and what it takes in."""

from __future__ import annotations

import hashlib
import hmac
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.exchange.invented_phone import InventedPhone, add_phone
from tests.therapist.house import Browser, House
from webapp.formats.base45 import decode, encode
from webapp.formats.log_record import canonical
from webapp.returned_code import encode_frames
from webapp.returns import missing_numbers, typed_receipt
from webapp.sealing import derive
from webapp.storage import devices, records

SESSION = {
    "kind": "session", "plan": 1, "version": 1, "exercise": 1, "planned_s": 1200, "cued_s": 1200, "ended": 1,
    "pauses_n": 0, "contractions_n": [42], "strength_half_ma": [44], "skin_before": [0, 0], "skin_after": [1, 0],
    "pain_before_n": 2, "pain_after_n": 2, "effort_n": 5, "help": 0, "steps_skipped": [], "taps_n": 0,
    "period_ppm": 1_000_000, "answered_by": 0, "note": "fine", "utc_q": 0}


@dataclass(slots=True)
class Returning:
    """A phone without a network, before a therapist's screen."""

    house: House
    browser: Browser
    phone: InventedPhone

    def session(self, seq: int, **changed: Any) -> dict[str, Any]:
        return {**SESSION, "format": "wattlebird.record/1", "device": self.phone.device.device, "seq": seq,
                "at_min": 29_900_000 + 1440 * seq, **changed}

    def practises(self, n: int) -> None:
        for _ in range(n):
            self.phone.log.append(canonical(self.session(len(self.phone.log) + 1)))

    def frames(self, records: Sequence[bytes] | None = None, max_version: int = 10) -> list[str]:
        given = [json.loads(one) for one in (self.phone.log if records is None else records)]
        device = self.phone.device
        made = encode_frames(given, device.device_key, device.device, max_version=max_version)
        return [frame.payload for frame in made]

    def sends(self, what: str, payloads: object, road: str = "code") -> TestResponse:
        return self.browser.client.post(f"/clinic/returns/{what}", json={"payloads": payloads, "road": road},
                                        headers={"X-CSRFToken": self.browser.token()})

    def sees(self, payloads: list[str]) -> str:
        return words(self.sends("preview", payloads))

    def takes_in(self, payloads: list[str], road: str = "code") -> str:
        answer = self.sends("take-in", payloads, road)
        self.html = answer.text
        return words(answer)

    html: str = ""

    def digits(self) -> str:
        found = re.search(r'data-digits="(\d{6})"', self.html)
        return found[1] if found else ""

    def stored(self) -> list[bytes]:
        return [one.content for one in records.of_device(self.house.db, self.phone.device.device)]


def words(answer: TestResponse) -> str:
    """Gives what a part of the page says."""
    assert answer.status_code == 200, answer.text
    return " ".join(re.sub(r"<[^>]+>", " ", answer.text).split())


@pytest.fixture
def returning(house: House) -> Returning:
    return Returning(house, house.browser("otto"), add_phone(house.practice.store, "SL-07"))


def test_it_is_shown_whose_log_it_is_before_anything_is_stored(returning: Returning) -> None:
    """The preview names the client and counts what is new; the database is as it was."""
    returning.practises(14)
    said = returning.sees(returning.frames())
    assert "Sol SL-07" in said
    assert "New 14 sessions" in said
    assert "Take it in" in said
    assert returning.stored() == []


def test_taken_in_it_is_on_the_review_byte_for_byte(returning: Returning) -> None:
    """Each record is stored as the phone wrote it, by the road that it came."""
    returning.practises(5)
    said = returning.takes_in(returning.frames())
    assert "5 records are new" in said
    assert returning.stored() == returning.phone.log
    assert {one.road for one in records.of_device(returning.house.db, returning.phone.device.device)} == {"code"}
    review = returning.browser.get(f"/clinic/clients/{returning.phone.device.client_id}?all=yes").text
    assert "by code" in review
    assert returning.house.actions()[-2:] == ["records_came", "review_read"]


def test_read_again_nothing_changes_and_the_digits_are_the_same(returning: Returning) -> None:
    """A replayed log is authentic: it is accepted, and all of it is here already."""
    returning.practises(5)
    frames = returning.frames()
    returning.takes_in(frames)
    digits = returning.digits()
    said = returning.sees(frames)
    assert "Already here 5 sessions" in said
    assert "changes nothing" in said
    again = returning.takes_in([*frames, *returning.frames()], "file")
    assert "0 records are new" in again
    assert returning.digits() == digits != ""
    assert returning.stored() == returning.phone.log


def test_the_digits_are_those_that_the_phone_works_out(returning: Returning) -> None:
    """Six digits of the HMAC over *through* and the phone's own chain."""
    returning.practises(7)
    returning.takes_in(returning.frames())
    assert returning.digits() == _digits_on_the_phone(returning.phone, 7)


def _digits_on_the_phone(phone: InventedPhone, through: int) -> str:
    key = derive(phone.device.device_key, "receipt")
    message = through.to_bytes(8, "big") + bytes.fromhex(phone.digest(through))
    made = hmac.digest(key, message, hashlib.sha256)
    return f"{int.from_bytes(made[:8], 'big') % 1_000_000:06d}"


def test_typed_receipt_follows_its_vectors(root: Path) -> None:
    """The digits are those that the phone's module is tested with."""
    for one in json.loads((root / "tests/vectors/typed_receipt.json").read_text()):
        assert typed_receipt(bytes.fromhex(one["device_key"]), one["through"], one["digest"]) == one["digits"]


def test_a_missed_code_is_said_and_its_records_get_no_receipt(returning: Returning) -> None:
    """Codes one and three of three: all that was read is stored, the digits cover only what comes before the gap."""
    returning.practises(30)
    parts = [returning.phone.log[:10], returning.phone.log[10:20], returning.phone.log[20:]]
    frames = [frame for part in (parts[0], parts[2]) for frame in returning.frames(part)]
    assert "Records 11 to 20 are missing" in returning.sees(frames)
    said = returning.takes_in(frames)
    assert "The digits cover the records up to number 10" in said
    assert returning.digits() == _digits_on_the_phone(returning.phone, 10)
    assert len(returning.stored()) == 20
    review = returning.browser.get(f"/clinic/clients/{returning.phone.device.client_id}").text
    assert "10 records never came (the first is number 11)" in review
    returning.takes_in(returning.frames(parts[1]))
    assert returning.digits() == _digits_on_the_phone(returning.phone, 30)


def test_the_last_code_that_nobody_read_is_named(returning: Returning) -> None:
    """No later number tells that it is missing, the codes themselves do; read with the others, nothing is."""
    returning.practises(60)
    *shown, last = returning.frames(max_version=5)
    of = len(shown) + 1
    assert f"Code {of} of {of} was not read, so what it holds is missing." in returning.sees(shown)
    said = returning.takes_in(shown)
    stored = len(returning.stored())
    assert 0 < stored < 60
    assert f"Code {of} of {of} was not read. The digits cover the records up to number {stored};" in said
    assert returning.digits() == _digits_on_the_phone(returning.phone, stored)
    whole = returning.sees([*shown, last])
    assert "was not read" not in whole
    assert "are missing" not in whole
    returning.takes_in([last, *shown])
    assert returning.digits() == _digits_on_the_phone(returning.phone, 60)


def test_codes_made_anew_in_the_middle_are_counted_by_themselves(returning: Returning) -> None:
    """Pressing *Smaller* begins a new showing; one that was read whole leaves nothing to be asked for."""
    returning.practises(60)
    first, again = returning.frames(max_version=5), returning.frames(max_version=4)
    assert f"of {len(again)} were not read" in returning.sees([*first[:-1], *again[:2]])
    for whole in ([*first[:-1], *again], [*first, *again[:2]], [*first[:-1], *returning.frames(max_version=30)]):
        assert "not read" not in returning.sees(whole)


def test_without_the_first_record_there_are_no_digits(returning: Returning) -> None:
    """A log whose beginning was not read is stored; no digits are shown that would cover nothing."""
    returning.practises(6)
    said = returning.takes_in(returning.frames(returning.phone.log[3:]))
    assert "There are no digits" in said
    assert returning.digits() == ""
    assert len(returning.stored()) == 3


def test_a_conflict_is_kept_aside_and_shown(returning: Returning) -> None:
    """Another record under a number that is taken: both are kept, the review asks."""
    returning.practises(3)
    returning.takes_in(returning.frames())
    other = canonical(returning.session(2, note="another hand"))
    said = returning.sees(returning.frames([other]))
    assert "In conflict 1 session" in said
    assert "1 is put aside" in returning.takes_in(returning.frames([other]))
    assert len(returning.stored()) == 4
    review = returning.browser.get(f"/clinic/clients/{returning.phone.device.client_id}?all=yes").text
    assert "kept aside, not counted" in review


def test_two_logs_at_once_are_kept_apart(returning: Returning) -> None:
    """Codes of two phones in any order: each is shown with its client and gets its own digits."""
    other = Returning(returning.house, returning.browser, add_phone(returning.house.practice.store, "SL-08"))
    returning.practises(4)
    other.practises(2)
    mixed = [*other.frames(), *returning.frames()]
    said = returning.sees(mixed)
    assert "Sol SL-07" in said
    assert "Sol SL-08" in said
    assert "4 records are new" in returning.takes_in(mixed)
    assert len(re.findall("data-digits", returning.html)) == 2
    assert (returning.stored(), other.stored()) == (returning.phone.log, other.phone.log)


def test_a_withdrawn_phone_is_said(returning: Returning) -> None:
    """What it recorded is taken in and marked, never counted."""
    returning.practises(1)
    device = returning.phone.device.device
    with returning.house.practice.store.write(returning.house.db):
        devices.revoke(returning.house.db, device, 1)
    assert "This phone was withdrawn" in returning.sees(returning.frames())
    returning.takes_in(returning.frames())
    assert [one.late for one in records.of_device(returning.house.db, device)] == [True]


def _flipped(payload: str, at: int) -> str:
    frame = bytearray(decode(payload.removeprefix("WB:")))
    frame[at] ^= 1
    return "WB:" + encode(bytes(frame))


@pytest.mark.parametrize(("harm", "sentence"), [
    (lambda one: _flipped(one, 40), "its seal is not right"),
    (lambda one: one[: len(one) // 2], "cut off"),
    (lambda one: _flipped(one, 5), "does not know"),
    (lambda one: "WB:" + encode(bytes([0x30]) + decode(one[3:])[1:]), "of a newer form"),
    (lambda one: "a shopping list", "no code of a log"),
])
def test_each_harm_has_its_own_sentence(returning: Returning, harm: Any, sentence: str) -> None:
    """Changed, cut, foreign, newer or no code at all: nothing is taken from it, and what is right beside it is."""
    returning.practises(9)
    payload = returning.frames(returning.phone.log[:3])[0]
    said = returning.sees([harm(payload)])
    assert sentence in said
    assert "Take it in" not in said
    said = returning.takes_in([harm(payload), *returning.frames(returning.phone.log[3:6])])
    assert sentence in said
    assert returning.stored() == returning.phone.log[3:6]


def test_only_lists_of_texts_are_looked_at(returning: Returning) -> None:
    """Anything else is refused; so is more than any log holds."""
    for wrong in (None, "WB:", [1], {"a": "b"}):
        assert returning.sends("preview", wrong).status_code == 400
    assert returning.sends("take-in", ["x"] * 1001).status_code == 413


def test_the_page_alone_may_use_the_camera_and_webassembly(returning: Returning) -> None:
    """The reader's permissions stand on its own page; every other page keeps the strict policy."""
    page = returning.browser.get("/clinic/returns")
    assert "script-src 'self' 'wasm-unsafe-eval';" in page.headers["Content-Security-Policy"]
    assert "camera=(self)" in page.headers["Permissions-Policy"]
    for path in ("/clinic/", "/clinic/sign-in", f"/clinic/clients/{returning.phone.device.client_id}", "/join"):
        other = returning.browser.get(path)
        assert "wasm-unsafe-eval" not in other.headers["Content-Security-Policy"]
        assert "camera=()" in other.headers["Permissions-Policy"]


def test_administrators_see_no_log(returning: Returning) -> None:
    """Reading logs is clinical work."""
    for path in ("/clinic/returns", "/clinic/clients/1/paper"):
        assert returning.house.browser("rui").get(path).status_code == 403


@pytest.mark.parametrize(("present", "gaps"), [
    ([], ()), ([1, 2, 3], ()), ([3], ((1, 2),)), ([1, 4, 5, 9], ((2, 3), (6, 8)))])
def test_missing_numbers(present: list[int], gaps: tuple[tuple[int, int], ...]) -> None:
    """Numbers count from 1; above the highest nothing is known to be missing."""
    assert missing_numbers(present) == gaps
