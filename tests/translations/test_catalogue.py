"""The key catalogue: complete, the same in every language, and nothing beside it."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from string import Formatter

import pytest

from webapp.errors import REFUSALS
from webapp.settings import PACKAGE, template_folder
from webapp.translations import LANGUAGES, PSEUDO, catalogue, own_texts, pseudo, read_texts, translator

ATTRIBUTES = re.compile(r"\{%-? (?:block \w*attributes|macro _described).*?\{%-? end(?:block|macro)", re.DOTALL)
JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
KEY_USED = re.compile(
    r"\b(?:t|tn|texts\(\)|refuse)\(\s*(?:\"[a-z_]+\",\s*)?[\"']([a-z_]+(?:\.[a-z0-9_]+)+)[\"']\s*[,)]")
SAID_ALOUD = {"alt", "title", "placeholder", "aria-label", "aria-description", "aria-roledescription", "label"}
MARK = re.compile(r"⟦[^⟦⟧]*⟧")


def placeholders(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def templates() -> list[Path]:
    found = sorted(template_folder().rglob("*.html"))
    assert len(found) > 20
    return found


class Literals(HTMLParser):
    """Collects what a template says by itself: text and spoken attributes with letters in them."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        if re.search(r"[^\W\d_]", data):
            self.found.append(data.strip())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in SAID_ALOUD and tag != "meta" and re.search(r"[^\W\d_]", value or ""):
                self.found.append(f"{name}={value}")


@pytest.mark.parametrize("template", templates(), ids=lambda path: path.relative_to(template_folder()).as_posix())
def test_template_holds_no_text_of_its_own(template: Path) -> None:
    """Every word of a page comes from the catalogue."""
    literals = Literals()
    literals.feed(JINJA.sub("", ATTRIBUTES.sub("{% ", template.read_text(encoding="utf-8"))))
    assert literals.found == []


def test_every_key_that_is_named_is_there() -> None:
    """Each key that a template or a Python file names stands in the catalogue."""
    texts = catalogue("en")
    named = {(key, file.name) for file in [*templates(), *sorted(PACKAGE.rglob("*.py"))]
             for key in KEY_USED.findall(file.read_text(encoding="utf-8"))}
    assert len(named) > 200
    assert {(key, file) for key, file in named if key not in texts and f"{key}.other" not in texts} == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_languages_share_keys_and_placeholders(language: str) -> None:
    """Every language has every key, with the same placeholders."""
    english, other = catalogue("en"), catalogue(language)
    assert english.keys() == other.keys()
    for key, text in english.items():
        assert placeholders(text) == placeholders(other[key]), key


OTHERS = [language for language in LANGUAGES if language != "en"]
CLIENT_FILES = ("client.toml", "client_scripts.toml", "client_send.toml", "cues.toml", "drawing.toml", "equipment.toml",
                "sheet.toml")
CLIENT_KEYS = ("client.", "phone.", "cue.", "client_setting.", "value.", "change.", "wording.", "channel_name.",
               "looks_right.", "step.", "slot.", "day.", "month.", "date.full", "sheet.", "need.", "drawing.",
               "landmark.")  # fmt: skip
OF_THE_PAGE_AROUND = {"sheet.print", "sheet.print_hint", "sheet.back_to_plan", "need.back"}  # the therapist's
PAD_PLACE = re.compile(r"placement\.\w+\.(title|pad_\d)")


def for_clients() -> set[str]:
    """Names what clients read or hear: pages, scripts, cues, set-up steps, changes, the words of a new plan."""
    folder = PACKAGE / "translations" / "en"
    written = {key for name in CLIENT_FILES for key in read_texts((folder / name).read_text(encoding="utf-8"))}
    placed = {key for key in catalogue("en") if PAD_PLACE.fullmatch(key)}
    return {key for key in written if key.startswith(CLIENT_KEYS)} - OF_THE_PAGE_AROUND | placed


@pytest.mark.parametrize("language", OTHERS)
def test_clients_read_and_hear_their_own_language(language: str) -> None:
    """Every text of theirs is there, none that English has not; therapists' pages stay English."""
    own = own_texts(language)
    assert for_clients() - own.keys() == set()
    assert own.keys() - catalogue("en").keys() == set()
    assert {key for key in own if key.startswith("cue.") and own[key] == catalogue("en")[key]} == set()


@pytest.mark.parametrize("language", OTHERS)
def test_spoken_texts_are_short_enough(language: str) -> None:
    """What is said has at most 80 characters, and so has a usual task in the sentence of a switch."""
    own = own_texts(language)
    longest = max((text for key, text in own.items() if key.startswith("wording.")), key=len)
    for key, text in own.items():
        if key.startswith(("cue.", "wording.")):
            assert len(text.replace("{text}", longest)) <= 80, key


def test_every_refusal_says_what_and_what_to_do() -> None:
    """Each code of a refusal has its sentence and its advice."""
    texts = catalogue("en")
    for code in REFUSALS:
        assert texts[f"error.{code}"]
        assert texts[f"error.{code}.do"]


def test_no_text_is_empty() -> None:
    """A text says something."""
    for key, text in catalogue("en").items():
        assert text.strip(), key


def test_number_picks_the_form() -> None:
    """One is one, everything else is other."""
    t = translator("en")
    assert t("stimulator.channels_n", n=1) == "1 channel"
    assert t("stimulator.channels_n", n=2) == "2 channels"
    assert t("stimulator.channels_n", n=0) == "0 channels"


def test_pseudo_language_marks_every_text() -> None:
    """The tests' language marks each text whole and keeps its placeholders."""
    english, marked = catalogue("en"), catalogue(PSEUDO)
    assert english.keys() == marked.keys()
    for key, text in marked.items():
        assert MARK.fullmatch(text), key
        assert placeholders(text) == placeholders(english[key]), key


def test_pseudo_keeps_what_stands_in_braces() -> None:
    """Names of placeholders are not accented."""
    assert pseudo("Save {name} again") == "⟦Sàvé {name} àgàîn⟧"
