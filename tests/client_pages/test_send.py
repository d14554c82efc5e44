"""Showing the log: what is chosen, how sharp a code is, typed digits, the age of what is unsent, how long it stays."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.client_pages.phone_modules import evaluate
from webapp.formats.log_record import chain, content_hash, digest
from webapp.returns import typed_receipt

FOLDER = Path(__file__).resolve().parents[1]
HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
NOW_MS = 1_795_000_000_000
NOW_MIN = 29_925_190
KEY = bytes(range(32))
ROOT = f"await crypto.subtle.importKey('raw', Uint8Array.from({list(KEY)}), 'HKDF', false, ['deriveKey'])"


def age(age_ms: int, unsent: int = 1) -> Any:
    state = {"unsent": unsent, "oldest_unsent_ms": NOW_MS - age_ms}
    return evaluate("unsent_age", "m.unsentAge(state, now)", state=state, now=NOW_MS)


@pytest.mark.parametrize(
    ("age_ms", "loudness", "days"),
    [
        (0, "new", 0),
        (DAY_MS - 1, "new", 0),
        (DAY_MS, "day", 1),
        (3 * DAY_MS - 1, "day", 2),
        (3 * DAY_MS, "code", 3),
        (5 * DAY_MS - 1, "code", 4),
        (5 * DAY_MS, "alarm", 5),
        (40 * DAY_MS, "alarm", 40),
        (-DAY_MS, "new", 0),
    ],
)
def test_an_unsent_record_is_told_of_louder_with_its_age(age_ms: int, loudness: str, days: int) -> None:
    """After a day; after three with the code; two days before a browser may clear it. A clock set back is no age."""
    assert age(age_ms) == {"loudness": loudness, "days": days}


def test_nothing_is_told_where_all_is_home() -> None:
    """However old the log is."""
    assert age(40 * DAY_MS, unsent=0)["loudness"] == "none"


def test_the_phone_works_out_the_digits_of_the_clinic() -> None:
    """The shared vectors, each with the device's own key."""
    for vector in json.loads((FOLDER / "vectors/typed_receipt.json").read_text(encoding="utf-8")):
        key = list(bytes.fromhex(vector["device_key"]))
        root = f"await crypto.subtle.importKey('raw', Uint8Array.from({key}), 'HKDF', false, ['deriveKey'])"
        shown = evaluate("receipt_digits", f"await m.digitsFor({root}, through, digest)",
                         through=vector["through"], digest=vector["digest"])  # fmt: skip
        assert shown == vector["digits"]


HASHES = [content_hash(str(n).encode()) for n in range(1, 9)]
FIND = ("(await m.receiptFor({root}, hashes.map((hex, n) => ({{ seq: n + 1, hash: Uint8Array.from(hex) }})),"
        " confirmed, typed))?.through")


def reached(through: int, confirmed: int) -> Any:
    typed = typed_receipt(KEY, through, digest(chain(HASHES[:through])).hex())
    return evaluate("receipt_digits", FIND.format(root=ROOT), hashes=[list(one) for one in HASHES],
                    confirmed=confirmed, typed=typed)  # fmt: skip


@pytest.mark.parametrize("through", [3, 4, 8])
def test_typed_digits_name_the_last_record_that_arrived(through: int) -> None:
    """The one that a receipt covers already, any unsent one, the last."""
    assert reached(through, confirmed=3) == through


def test_digits_of_an_older_log_are_no_receipt() -> None:
    """What was confirmed before is not confirmed again, nor is anything after it."""
    assert reached(2, confirmed=3) is None


@pytest.mark.parametrize(
    ("text", "digits"),
    [
        ("123456", "123456"), (" 123 456 ", "123456"), ("123-456", "123456"),
        ("12345", ""), ("1234567", ""), ("12345a", ""),
    ],
)
def test_digits_may_be_typed_with_spaces(text: str, digits: str) -> None:
    """Six digits and nothing else."""
    assert evaluate("receipt_digits", "m.readDigits(text)", text=text) == digits


def test_the_third_wrong_entry_costs_a_minute() -> None:
    """The two before cost nothing; after the minute there are three again; a clock set back never makes it longer."""
    script = """(() => {
      let tries = null; const waits = [];
      for (let n = 0; n < 3; n += 1) { tries = m.afterWrong(tries, now); waits.push(m.waitMs(tries, now)); }
      return [...waits, m.waitMs(tries, now + 59000), m.waitMs(tries, now + 60000), m.waitMs(tries, now - 9e9),
        m.waitMs(m.afterWrong(tries, now + 60000), now + 60000)]; })()"""
    assert evaluate("receipt_digits", script, now=NOW_MS) == [0, 0, 60000, 1000, 0, 60000, 0]


LOGS = st.lists(st.tuples(st.integers(0, 60), st.booleans(), st.booleans()), min_size=1, max_size=12)


@settings(max_examples=25, deadline=None)
@given(LOGS)
def test_only_a_received_record_of_30_days_ever_goes(log: list[tuple[int, bool, bool]]) -> None:
    """And never one after a record that stays."""
    kept = [{"seq": n, "received_ms": NOW_MS - days * DAY_MS if is_received else 0, "bytes": [] if is_erased else [1]}
            for n, (days, is_received, is_erased) in enumerate(log, 1)]  # fmt: skip
    goes = evaluate("record_keeping", "m.oldOnes(kept, now)", kept=kept, now=NOW_MS)
    may_go = [is_received and days >= 30 for days, is_received, _ in log]
    first_that_stays = may_go.index(False) if False in may_go else len(log)
    assert goes == [n for n, (_, _, is_erased) in enumerate(log, 1) if n <= first_that_stays and not is_erased]


@pytest.mark.parametrize(("which", "seqs"), [("unsent", [2, 4]), ("two_weeks", [2, 3, 4]), ("all", [1, 2, 3, 4])])
def test_what_is_shown_is_chosen(which: str, seqs: list[int]) -> None:
    """What is not home, the last two weeks and what is not home, or everything."""
    days_ago_received = [(20, 1), (20, 0), (13, 1), (0, 0)]
    log = [{"seq": n, "received_ms": received, "record": {"at_min": NOW_MIN - days * 1440}}
           for n, (days, received) in enumerate(days_ago_received, 1)]  # fmt: skip
    shown = "m.chosen(log, which, now).map((one) => one.seq)"
    assert evaluate("code_frames", shown, log=log, which=which, now=NOW_MIN) == seqs


@pytest.mark.parametrize(("size", "room_px", "module_px"), [(77, 720, 8), (77, 1080, 12), (57, 720, 11), (177, 100, 1)])
def test_a_module_is_a_whole_number_of_pixels(size: int, room_px: int, module_px: int) -> None:
    """As many as the room allows with four modules of white all round."""
    assert evaluate("code_writer", "m.moduleSize(size, room)", size=size, room=room_px) == module_px
