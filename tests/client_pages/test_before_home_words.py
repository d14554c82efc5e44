"""What the screening and the first trial make of the phone's pages: dysreflexia, less feeling, a helper."""

from __future__ import annotations

from typing import Any

import pytest

from tests.client_pages.invented_plan import invented_plan
from webapp.client.packing import pack_environment
from webapp.client.pages import render_pages
from webapp.issuing import compile_plan, dysreflexia_words
from webapp.speech.clips import MOST_CHARACTERS
from webapp.stimulation.cue_sheet import clip_id
from webapp.translations import translator

T = translator("en")


def pages(**changed: Any) -> dict[str, str]:
    plan = invented_plan() | changed
    names = ("help", "skin", "set-up-1", "turn-up-2", "timer-2", "look-2")
    env, compiled = pack_environment(T, "en"), compile_plan(plan)
    return {name: render_pages(env, plan, compiled, T, only=name)[name] for name in names}


def test_what_to_do_on_dysreflexia_is_shown_and_read_aloud() -> None:
    """First on the help page, with the clips in order; each is short enough to be spoken, and made with the pack."""
    page, words = pages()["help"], dysreflexia_words(invented_plan(), T)
    assert page.index("A pounding headache?") < page.index("It stings or prickles")
    assert f'data-read-aloud="{" ".join(map(clip_id, words))}"' in page
    assert words[1] == "Turn the unit off now."
    assert all(len(text) <= MOST_CHARACTERS for text in words)
    assert "A pounding headache?" in pages()["timer-2"]


def test_nobody_else_is_frightened_with_it() -> None:
    """Where it cannot come, no page speaks of it and no clip is made."""
    assert "pounding" not in "".join(pages(dysreflexia=False).values())
    assert dysreflexia_words(invented_plan() | {"dysreflexia": False}, T) == []


@pytest.mark.parametrize(("helper", "words"), [
    ("sometimes", "touch it with your other hand"), ("each_time", "let your helper touch it"),
])  # fmt: skip
def test_skin_that_is_not_felt_is_looked_at_and_touched(helper: str, words: str) -> None:
    """With the other hand or by the helper; no pain is not taken for well."""
    shown = pages(helper=helper)
    for name in ("skin", "look-2"):
        assert words in shown[name].replace("Touch", "touch").replace("Let", "let")
    assert "No pain does not mean that all is well." in shown["turn-up-2"]


def test_half_way_the_unit_is_off_before_a_pad_is_lifted() -> None:
    """Zero, off, then the edge; something new ends the session, else it starts from zero."""
    page = pages()["look-2"]
    order = [page.index(words) for words in ("Turn all strengths to 0", "Now turn the unit off", "lift 1 edge")]
    assert order == sorted(order)
    assert 'data-next="zero-2"' in page
    assert 'data-finished="end-2"' in page
