"""The one door: repeated, reordered, conflicting and odd records."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.exchange.invented_phone import NOW_MS, InventedPhone, add_phone, not_today
from webapp.formats.log_record import content_hash
from webapp.intake import Receipt, Run, take_in
from webapp.storage import records
from webapp.storage.database import Store
from webapp.storage.devices import Device


def sends(store: Store, device: Device, contents: list[bytes], name: str = "a" * 16, highest: int | None = None,
          kept_from: int = 0, erased: Sequence[tuple[int, str]] = ()) -> Receipt:
    db = store.connect()
    with store.write(db):
        receipt = take_in(db, device, contents, "sync", name, NOW_MS, highest, kept_from, erased)
    db.close()
    return receipt


def stored(store: Store, device: Device) -> list[records.StoredRecord]:
    db = store.connect()
    found = records.of_device(db, device.device)
    db.close()
    return found


def test_a_record_sent_twice_is_there_once(store: Store, phone: InventedPhone) -> None:
    """The second sending says *already here* and gets the same receipt."""
    record = phone.writes("once")
    first, second = sends(store, phone.device, [record]), sends(store, phone.device, [record])
    assert (first.new, second.new, second.already) == (1, 0, 1)
    assert (first.through, first.digest) == (second.through, second.digest) == (1, phone.digest(1))
    assert [one.content for one in stored(store, phone.device)] == [record]


def test_the_receipt_stops_before_a_gap(store: Store, phone: InventedPhone) -> None:
    """Records 1, 2 and 4 are confirmed through 2; when 3 comes, through 4."""
    log = [phone.writes() for _ in range(4)]
    assert sends(store, phone.device, [log[0], log[1], log[3]]).through == 2
    receipt = sends(store, phone.device, [log[2]])
    assert (receipt.through, receipt.digest) == (4, phone.digest(4))


def test_after_a_gap_that_nobody_can_fill_the_rest_is_receipted(store: Store, phone: InventedPhone) -> None:
    """The phone has erased records 1 to 4, a backup that lacks 3 and 4 was put back: 5 to 7 are said to be stored."""
    log = [phone.writes() for _ in range(7)]
    sends(store, phone.device, log[:2])
    receipt = sends(store, phone.device, log[4:], kept_from=5)
    assert (receipt.through, receipt.after) == (2, Run(first=5, through=7, digest=phone.digest_of(log[4:])))
    assert sends(store, phone.device, [], highest=6, kept_from=5).after == Run(
        first=5, through=6, digest=phone.digest_of(log[4:6]))
    assert [sends(store, phone.device, [], kept_from=first).after for first in (0, 1, 3, 8)] == [None] * 4


def test_other_content_under_a_taken_number_is_kept_aside(store: Store, phone: InventedPhone) -> None:
    """Nothing is overwritten, and each of the two senders gets the digest of its own chain."""
    other = InventedPhone(device=phone.device)
    first, second = phone.writes("the one"), other.writes("the other")
    sends(store, phone.device, [first], phone.name)
    aside = sends(store, phone.device, [second], other.name)
    assert aside.aside == 1
    assert [(one.content, one.aside) for one in stored(store, phone.device)] == [(first, False), (second, True)]
    assert other.believes(aside)
    assert phone.believes(sends(store, phone.device, [], phone.name))


def test_two_copies_of_one_store_both_get_home(store: Store, phone: InventedPhone) -> None:
    """A phone put back from a copy has the same name for itself: what it shows to hold decides its digest."""
    shared = phone.writes("before the copy")
    copy = replace(phone, log=list(phone.log))
    sends(store, phone.device, [shared], phone.name)
    sends(store, phone.device, [phone.writes("on the first")], phone.name)
    assert copy.believes(sends(store, phone.device, [copy.writes("on the copy")], copy.name))
    assert phone.believes(sends(store, phone.device, phone.log[1:], phone.name))


def test_a_copy_that_has_erased_its_record_names_it(store: Store, phone: InventedPhone) -> None:
    """Of two contents under one number each copy gets its own digest, though neither can send its record any more."""
    copy = InventedPhone(device=phone.device, name=phone.name)
    phone.writes("on the first")
    copy.writes("on the copy")
    for one in (phone, copy):
        sends(store, phone.device, one.log, phone.name)
    for one in (phone, copy):
        named = [(1, content_hash(one.log[0]).hex()[:16])]
        assert one.believes(sends(store, phone.device, [], phone.name, highest=1, erased=named))
        assert one.believes(sends(store, phone.device, [one.writes("more")], phone.name, highest=2, erased=named))
    never = [(1, "0" * 16), (9, content_hash(phone.log[0]).hex()[:16])]
    told = [sends(store, phone.device, [], "b" * 16, erased=erased).digest for erased in (never, [])]
    assert told[0] == told[1]


def test_a_withdrawn_phones_log_is_taken_in_late(store: Store, phone: InventedPhone) -> None:
    """What it had recorded is stored, marked and receipted."""
    receipt = sends(store, replace(phone.device, revoked_ms=NOW_MS), [phone.writes()])
    assert receipt.through == 1
    assert [one.late for one in stored(store, phone.device)] == [True]


def test_unknown_kinds_and_fields_are_kept_as_they_came(store: Store, phone: InventedPhone) -> None:
    """A later app's record comes home through an older server, byte for byte."""
    record = not_today(phone.device.device, 1, kind="moon", brightness_n=7)
    assert sends(store, phone.device, [record]).new == 1
    assert [(one.kind, one.content) for one in stored(store, phone.device)] == [("moon", record)]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"{",
        b'{"format":"wattlebird.record/1"}',
        b"\xff\xfe",
        b"[" * 5000,
        b"x" * 20_000,
        not_today("0" * 16, 1),
        not_today("f" * 16, 1).replace(b'"seq":1', b'"seq":true'),
        not_today("f" * 16, 1).replace(b'"seq":1', b'"seq":0'),
    ],
)
def test_what_is_no_record_of_this_phone_stays_with_its_sender(
    store: Store, phone: InventedPhone, content: bytes
) -> None:
    """It is counted, its neighbours are taken in, and the receipt does not cover it."""
    receipt = sends(store, replace(phone.device), [content, phone.writes()])
    assert (receipt.unreadable, receipt.new, receipt.through) == (1, 1, 1)


def test_an_error_in_the_middle_of_a_batch_leaves_none_of_it(store: Store, phone: InventedPhone) -> None:
    """A batch is one transaction: whole or not at all."""
    db = store.connect()
    batch = [phone.writes(), phone.writes()]
    unknown = replace(phone.device, client_id=9_999)

    def half_a_batch_fails() -> None:
        with store.write(db):
            take_in(db, phone.device, batch[:1], "sync", "a", NOW_MS)
            take_in(db, unknown, batch[1:], "sync", "a", NOW_MS)

    with pytest.raises(sqlite3.IntegrityError):
        half_a_batch_fails()
    assert stored(store, phone.device) == []


def test_stored_records_can_be_neither_changed_nor_deleted(store: Store, phone: InventedPhone) -> None:
    """The table itself refuses."""
    sends(store, phone.device, [phone.writes()])
    db = store.connect()
    for order in ("UPDATE records SET kind = 'x'", "DELETE FROM records"):
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(order)


def test_phones_of_two_clients_do_not_mix(store: Store, phone: InventedPhone) -> None:
    """A record that names another device is not taken in under this one's seal."""
    other = add_phone(store, "SL-08")
    receipt = sends(store, phone.device, [other.writes()])
    assert (receipt.unreadable, receipt.through) == (1, 0)
    assert stored(store, other.device) == []
