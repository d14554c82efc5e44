"""A phone whose store was gone, and records that were carried over: what the therapist is shown."""

from __future__ import annotations

from dataclasses import replace

from tests.exchange.invented_phone import InventedPhone, add_phone
from tests.therapist.house import House
from webapp.client_log import emptied
from webapp.practice.session import Entry, read_log
from webapp.storage import devices
from webapp.storage.devices import Device

DAY_MS = 86_400_000


def phone_of(house: House) -> InventedPhone:
    return add_phone(house.practice.store, "SL-07")


def one_more(house: House, like: Device, name: str, days_later: int, **changed: object) -> Device:
    """Lets another phone of the same client in."""
    device = replace(like, device=name * 16, handle=name * 16, made_ms=like.made_ms + days_later * DAY_MS,
                     **changed)  # type: ignore[arg-type]
    with house.practice.store.write(house.db):
        devices.add(house.db, device)
    return device


def test_a_phone_that_said_which_it_was_is_a_gap_on_the_review(house: House) -> None:
    """With the day until which its log is here; what came after that and was not sent is lost."""
    before = phone_of(house).device
    one_more(house, before, "a", 3, replaces=before.device)
    page = house.browser("otto").get(f"/clinic/clients/{before.client_id}").text
    assert "Its store was gone when it was let in anew on" in page
    assert "(now aaaa)" in page
    assert page.count("had not sent is lost") == 1


def test_one_that_fell_silent_may_have_been_emptied(house: House) -> None:
    """Another of its kind came in by the same sheet, and it was not heard of since. Not said of two in use."""
    one = replace(phone_of(house).device, link_id=1, kind="Android")
    now = replace(one, device="b" * 16, made_ms=one.made_ms + DAY_MS)
    assert {name: (it.now.device, it.is_sure) for name, it in emptied([one, now]).items()} == {
        one.device: ("b" * 16, False)}
    for other in (replace(now, kind="iPad"), replace(now, link_id=2)):
        assert emptied([one, other]) == {}
    assert emptied([replace(one, seen_ms=now.made_ms + 1), now]) == {}
    assert emptied([replace(one, revoked_ms=1), now]) == {}


def test_a_record_that_was_carried_over_counts_once() -> None:
    """Where the first store is put back again, both are here; else the carried one stands for itself."""
    first = Entry(device="a", seq=4, kind="session", at_min=9, utc_q=0, fields={"cued_s": 60})
    carried = Entry(device="b", seq=1, kind="session", at_min=9, utc_q=0, fields={"cued_s": 60, "moved_from": ["a", 4]})
    odd = replace(carried, seq=2, fields={"moved_from": ["a"]})
    assert [one.entry for one in read_log([first, carried]).sessions] == [first]
    assert [one.entry for one in read_log([carried]).sessions] == [carried]
    assert [one.entry for one in read_log([first, odd]).sessions] == [first, odd]
