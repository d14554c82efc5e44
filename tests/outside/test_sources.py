"""Every rule, range and text names where it comes from, or says common practice or from memory; nothing dangles."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase

import pytest

from tests.tree import ROOT
from webapp.drawing.views import VIEWS
from webapp.guidance.sources import sources
from webapp.guidance.text_sources import patterns, sources_of, texts_with_sources
from webapp.practice import skin
from webapp.prescribing.placing import REGION_SOURCES
from webapp.translations import catalogue

KEYS = texts_with_sources(catalogue("en"))
NAMED = re.compile(r"""["\[ ](S\d+[ab]?)["\]]""")  # "S10" in a table, [S46] in a comment
HONEST = ("seen", "look-up", "abstract", "from memory", "common practice", "derived", "arithmetic", "as the clinic",
          "as found", "run through", "measured")


def test_a_text_that_tells_somebody_what_to_do_has_a_source() -> None:
    """Cautions, stop rules, skin, set-up, movements, what a threshold rests on; one that is named and resolves."""
    assert len(KEYS) > 300
    assert [key for key in KEYS if not sources_of(key)] == []


def test_the_texts_looked_at_are_there_and_no_pattern_is_left_over() -> None:
    """What a client must never do is among them; a pattern that fits no text any more is taken out."""
    assert {"client.cautions.c_1", "client.rules.off_1", "step.skin", "looks_right.open_hand"} <= set(KEYS)
    assert [pattern for pattern in patterns() if not any(fnmatchcase(key, pattern) for key in KEYS)] == []


def test_a_text_without_a_source_is_an_error() -> None:
    """As a limit without one is."""
    with pytest.raises(LookupError):
        sources_of("client.name.today")


def test_each_source_says_how_far_it_was_seen() -> None:
    """A title, and in plain words whether it was seen, looked up, worked out, or is from memory."""
    assert all(one.title for one in sources().values())
    told = {one.id: one.how_confirmed for one in sources().values()}
    assert {id_: how for id_, how in told.items() if not any(word in how for word in HONEST)} == {}


def test_every_id_that_is_named_anywhere_resolves() -> None:
    """In code, comments and tables alike; of the rules of the skin, of goals and of regions where no pad belongs."""
    files = [file for kind in ("*.py", "*.toml") for file in (ROOT / "webapp").rglob(kind)
             if file.name != "sources.toml"]
    named = {id_ for file in files for id_ in NAMED.findall(file.read_text(encoding="utf-8"))}
    assert len(named) > 20
    assert named - sources().keys() == set()
    assert set(skin.SOURCES) <= sources().keys()
    regions = {one.key for view in VIEWS.values() for one in view.forbidden}
    assert {REGION_SOURCES.get(key, "practice_memory") for key in regions} <= sources().keys()
