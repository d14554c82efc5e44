"""The texts of problems on the console and on the pages are the same."""

from __future__ import annotations

from webapp.stimulation.problem import TEXTS
from webapp.translations import catalogue


def test_catalogue_has_the_console_texts() -> None:
    """`problem.<key>` for each of them, and no other."""
    found = {key.removeprefix("problem."): text for key, text in catalogue("en").items() if key.startswith("problem.")}
    assert {key: found.get(key) for key in TEXTS} == dict(TEXTS)
