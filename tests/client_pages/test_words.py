"""The words of the client's pages: short, plain, ours, and every one of them from the catalogue."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib.resources import files

import pytest

from tests.client_pages.invented_plan import invented_plan
from tests.client_pages.reading import flesch_kincaid, grade, lines, syllables, words
from webapp.client.packing import pack_environment
from webapp.client.pages import page_paths, render_pages
from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.issuing import compile_plan, cue_sheet
from webapp.translations import catalogue, translator

PLAN = invented_plan()
PATHS = page_paths(PLAN)
HARDEST_GRADE = 6.0
MOST_WORDS = 20
LONG = 3
NEVER = re.compile(
    r"\b(please|sorry|oops|invalid|valid|forbidden|e\.g|i\.e|etc|app|stimulat\w*|electrode\w*)\b|%", re.IGNORECASE
)
CONTRACTED = re.compile(r"\w(n[’']t|[’'](re|ll|ve|d|m))\b|\b(it|that|there|what)[’']s\b", re.IGNORECASE)
SPELLED = re.compile(r"\b(one|two|three|four|five|six|seven|eight|nine|ten|zero|twice)\b", re.IGNORECASE)


@cache
def pages(language: str = "en") -> dict[str, str]:
    t = translator(language)
    sheets = [write_cue_sheet(cue_sheet(each, {}, translator("en"))) for each in PLAN["exercises"]]
    return render_pages(pack_environment(t, language), PLAN, compile_plan(PLAN), t, cue_sheets=sheets)


def own_texts() -> dict[str, str]:
    """Gives what a client reads: the texts of the pages, and every text that scripts show."""
    areas: tuple[str, ...] = ()
    for name in ("client.toml", "client_send.toml"):
        source = files("webapp.translations") / "en" / name
        areas += tuple(f"client.{area}." for area in tomllib.loads(source.read_text(encoding="utf-8"))["client"])
    return {key: text for key, text in catalogue("en").items() if key.startswith((*areas, "phone."))}


def allowed_long_words() -> set[str]:
    return set((files("webapp.translations") / "en" / "long_words.txt").read_text(encoding="utf-8").split())


def test_the_grade_is_worked_out_as_published() -> None:
    """The vector of the reference: 100 words, 12 sentences, 130 syllables are grade 3.00."""
    assert flesch_kincaid(100, 12, 130) == pytest.approx(3.00, abs=0.005)


@pytest.mark.parametrize("path", PATHS)
def test_a_page_reads_at_grade_6_or_below(path: str) -> None:
    """Everything on the page counts, the plan's own words and the help sheet included."""
    assert grade(pages()[path]) <= HARDEST_GRADE


@pytest.mark.parametrize("path", PATHS)
def test_sentences_are_short(path: str) -> None:
    """No sentence has more than 20 words."""
    for line in lines(pages()[path]):
        for sentence in re.split(r"[.?!]", line):
            assert len(words(sentence)) <= MOST_WORDS, sentence


def test_words_of_three_syllables_are_in_the_committed_list() -> None:
    """A long word is used on purpose or not at all, and a word that is not used leaves the list."""
    used = {word.lower() for text in own_texts().values() for word in words(re.sub(r"\{\w+\}", " ", text))
            if syllables(word) >= LONG}
    assert used == allowed_long_words()


def test_no_hard_words_no_contractions_no_percentages_and_numerals() -> None:
    """What a client reads says it plainly."""
    for key, text in own_texts().items():
        for rule in (NEVER, CONTRACTED, SPELLED):
            assert not rule.search(text), f"{key}: {text}"


@pytest.mark.parametrize("path", PATHS)
def test_a_title_is_neutral(path: str) -> None:
    """A title names the app and the page, never the person, the code or the task."""
    title = re.search(r"<title>(.*?)</title>", pages()[path])
    assert title
    assert title[1].startswith("Wattlebird · ")
    assert "SL-07" not in title[1]


@pytest.mark.parametrize("path", PATHS)
def test_a_page_is_plain(path: str) -> None:
    """No script or style in the page, one main heading at least, Help in its place, links to a page or the calendar."""
    page = pages()[path]
    assert not re.search(r"<script(?![^>]*\bsrc=)|\sstyle=|\son\w+=|javascript:", page)
    assert page.count("<h1") >= 1
    assert page.count('class="help-link"') == 1
    for target in re.findall(r'<a\b[^>]*\bhref="([^"]*)"', page):
        assert target.startswith("tel:") or target in {*PATHS, "data/practice.ics"}, target
    for source in re.findall(r'\bsrc="([^"]*)"', page):
        assert source.startswith("static/")


def test_pages_are_a_pure_function_of_the_plan() -> None:
    """Rendered again, they have the same bytes."""
    first = dict(pages())
    pages.cache_clear()
    assert pages() == first


@pytest.mark.parametrize("path", PATHS)
def test_no_text_is_forgotten(path: str) -> None:
    """In the tests' language every text is marked but for the plan's own words."""
    own = " ".join(str(value).strip(".") for value in _leaves(PLAN))
    for line in lines(pages("qps")[path]):
        for part in re.split(r"⟦.*?⟧", line):
            for rest in filter(words, re.split(r"[.:] ", part)):
                assert rest.strip(" :.,·?⟦⟧✓") in own, f"{path}: {line}"


def _leaves(value: object) -> list[object]:
    if isinstance(value, dict):
        return [leaf for each in value.values() for leaf in _leaves(each)]
    if isinstance(value, list):
        return [leaf for each in value for leaf in _leaves(each)]
    return [value]


def test_moving_a_pad_elsewhere_is_never_advised() -> None:
    """Only a plan that shows a second place speaks of one, and leaves it to the therapist."""
    assert "second place" in pages()["no-practice"]
    for path in PATHS:
        assert not re.search(r"(move|put|place) (the|it|a) ?(pad)? ?(elsewhere|somewhere)", pages()[path])
    without = {**PLAN, "exercises": [{**e, "channels": [{**c, "second_place": ""} for c in e["channels"]]}
                                     for e in PLAN["exercises"]]}
    t = translator("en")
    rendered = render_pages(pack_environment(t, "en"), without, compile_plan(without), t)
    assert "second place" not in rendered["no-practice"]


def test_with_lost_feeling_nobody_is_told_to_turn_up_until_they_feel_it() -> None:
    """The muscle is watched instead."""
    assert "see the muscle working" in pages()["turn-up-2"]
    assert "until you feel" not in " ".join(pages().values())
    assert "Only while you feel" not in pages()["turn-up-2"]
    assert "Never turn up to find a feeling" in pages()["turn-up-2"]


@pytest.mark.parametrize("number", [1, 2, 3])
def test_the_units_own_stop_is_on_every_page_where_it_may_be_on(number: int) -> None:
    """In its own words, as the clinic described it."""
    for name in ("zero", "turn-up", "timer", "lost", "end"):
        assert "Press the big round button 1 time." in pages()[f"{name}-{number}"]
    for name in ("zero", "turn-up", "timer"):
        assert "Your unit is still on" in pages()[f"{name}-{number}"]


def test_unit_off_and_unit_on_at_zero_cannot_be_skipped() -> None:
    """Each is the first step of its page; the others may be left out, which the record says."""
    first = {"set-up-1": "Check that the unit is off.", "zero-1": "Turn the unit on. All strengths stay at 0."}
    for name, text in first.items():
        steps = re.findall(r'<section class="step".*?</section>', pages()[name], re.DOTALL)
        assert [text in step for step in steps][:2] == [True, False]
        assert "data-skip" not in steps[0]
    assert "data-skip" in pages()["set-up-1"]


def test_each_channel_is_turned_up_to_its_own_movement() -> None:
    """Of two that work in turn, closing is not described by the words for opening; one alone has the plan’s words."""
    step = r'data-step="channel" data-channel="{}".*?</section>'
    opening, closing = (re.findall(step.format(n), pages()["turn-up-1"], re.DOTALL)[0] for n in (1, 2))
    assert ("fingers open" in opening, "fingers open" in closing) == (True, False)
    assert "The fingers close round the thing you hold." in closing
    assert "The foot lifts and does not turn." in pages()["turn-up-2"]
