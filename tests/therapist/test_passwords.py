"""Which passwords are too easy to guess."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp import passwords

OWN_WORDS = ("ines", "Ines Wallaroo", "Saltmarsh Lane Rehab")


@pytest.mark.parametrize("chosen", [
    "passwordpassword", "P@ssw0rdP@ssw0rd", "123456789012345", "qwertyuiopasdfgh", "aaaaaaaaaaaaaaaaaa",
    "abcabcabcabcabcabc", "ineswallaroo2026", "Saltmarsh Lane 1", "wattlebird2026!!", "therapisttherapist",
    "summerwinter2026",
])
def test_common_passwords_are_refused(chosen: str) -> None:
    """Common words, rows of keys, repeats and the clinic's own words are refused."""
    assert passwords.weakness(chosen, OWN_WORDS) == "too_common"


@pytest.mark.parametrize("chosen", [
    "green kettle under nine stairs", "correct horse battery staple", "Xk3!vhwzRm9?pTq", "ein kleiner blauer Traktor",
    "the summer dragon ate my cheese", "дождь идёт над рекой", "漢" * 3 + "字仮名交文読書算盤花鳥風月",
])
def test_good_passwords_pass(chosen: str) -> None:
    """Words that have nothing to do with each other pass, in any script, and so does a random row."""
    assert passwords.weakness(chosen, OWN_WORDS) is None


def test_length_decides_at_fifteen() -> None:
    """Fourteen characters are too short, fifteen are enough, 64 and more are allowed."""
    assert passwords.weakness("plum vex jog 14") is None
    assert passwords.weakness("plum vex jog 1") == "too_short"
    assert passwords.weakness("plum vex jog wry kite mud " * 2 + "a different ending of many words") is None
    assert passwords.weakness("x7" * 200) == "too_long"


@given(st.text(max_size=300), st.lists(st.text(max_size=30), max_size=3))
def test_any_text_gets_an_answer(chosen: str, own: list[str]) -> None:
    """Whatever is typed, the answer is a known one."""
    assert passwords.weakness(chosen, own) in {None, "too_short", "too_long", "too_common"}
