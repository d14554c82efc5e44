"""How hard a page is to read: its words as a client sees them, their syllables, the grade."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pyphen  # type: ignore[import-untyped]

BLOCKS = {"p", "h1", "h2", "li", "button", "dt", "dd", "legend", "label", "summary", "div", "title", "ol", "ul"}
SILENT = {"script", "style", "svg", "head", "template"}
WORD = re.compile(r"[A-Za-zÀ-ÿ][A-Za-zÀ-ÿ’'-]*")
SYLLABLES = pyphen.Pyphen(lang="en_GB", left=1, right=1)


class _Lines(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = [""]
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in SILENT
        if tag in BLOCKS:
            self.lines.append("")

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in SILENT
        if tag in BLOCKS:
            self.lines.append("")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.lines[-1] += data


def lines(page: str) -> list[str]:
    """Gives the texts of a page, block by block."""
    parser = _Lines()
    parser.feed(page)
    return [text for line in parser.lines if (text := " ".join(line.split()))]


def words(text: str) -> list[str]:
    return WORD.findall(text)


def syllables(word: str) -> int:
    """Counts the syllables of a word: by its hyphenation or its groups of vowels, whichever are more.

    Hyphenation alone finds too few ("everything" has no place to break), which would flatter a page.
    """
    parts = filter(None, re.split(r"[-’']", word.lower()))
    return sum(max(len(SYLLABLES.positions(part)) + 1, vowel_groups(part)) for part in parts)


def vowel_groups(word: str) -> int:
    """Counts vowels that stand together as one, without a silent e at the end."""
    spoken = re.sub(r"(?<=[^aeiouyl])e$|(?<=[^aeiouytd])e(?=s$|d$)|(?<=[aeiouy]l)e$", "", word)
    return max(1, len(re.findall(r"[aeiouyàéîöû]+", spoken)))


def grade(page: str) -> float:
    """Flesch–Kincaid: 0.39 × words ÷ sentences + 11.8 × syllables ÷ words − 15.59 (1975, from memory)."""
    sentences = [part for line in lines(page) for part in re.split(r"[.?!:]+", line) if words(part)]
    found = [word for sentence in sentences for word in words(sentence)]
    return flesch_kincaid(len(found), len(sentences), sum(map(syllables, found)))


def flesch_kincaid(word_count: int, sentence_count: int, syllable_count: int) -> float:
    return 0.39 * word_count / sentence_count + 11.8 * syllable_count / word_count - 15.59
