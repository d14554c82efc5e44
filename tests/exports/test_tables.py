"""Sessions as CSV: one row each, read back by another reader, and nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io

import pytest

from tests.exports.invented_practice import NOTE, InventedPractice
from tests.exports.test_fhir import facts_of
from tests.practice.invented import MONDAY, exercise, plan, session
from webapp.exports.tables import COLUMNS, sessions_csv
from webapp.practice.session import read_session


def rows(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_each_session_is_one_row_with_the_numbers_of_the_review(practice: InventedPractice) -> None:
    """As many rows as sessions; minutes add up to what the review shows."""
    facts = facts_of(practice)
    found = rows(sessions_csv(facts.sessions, facts.versions, words=True))
    assert len(found) == len(facts.sessions)
    assert sum(float(row["cued_min"]) for row in found) == pytest.approx(facts.summary.total.cued_s / 60)
    assert sum(row["counts"] == "yes" for row in found) == facts.summary.total.done_n + facts.summary.total.extra_n
    assert [row["note"] for row in found if row["note"]] == [f"'{NOTE}"]
    assert found[4]["skin_after"] == "unchanged|bumps"


def test_notes_stay_at_home_without_the_clients_say(practice: InventedPractice) -> None:
    """No column for notes, and no note."""
    facts = facts_of(practice)
    content = sessions_csv(facts.sessions, facts.versions, words=False)
    assert tuple(rows(content)[0]) == COLUMNS
    assert "hurt a little" not in content.decode()


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_text_is_run_as_a_formula(start: str) -> None:
    """A note or a title that a spreadsheet would run is marked as text (OWASP, CSV injection)."""
    typed = f'{start}cmd|"/c calc"!A1,\n2'
    versions = [plan(exercises=(exercise(title=typed),))]
    [found] = rows(sessions_csv([read_session(session(1, MONDAY, note=typed))], versions, words=True))
    assert (found["note"], found["title"]) == (f"'{typed}", f"'{typed}")


def test_the_step_that_took_longest_is_named_by_its_words() -> None:
    """With its seconds and those of all steps; an older phone says nothing of it."""
    versions = [plan(exercises=(exercise(steps=("Wash", "Pads on")),))]
    timed = session(1, MONDAY, longest_step=2, longest_step_s=95, set_up_s=310)
    logged = [read_session(timed), read_session(session(2, MONDAY))]
    assert [(row["longest_step"], row["longest_step_s"], row["set_up_s"])
            for row in rows(sessions_csv(logged, versions, words=False))] == [("Pads on", "95", "310"), ("", "", "")]


def test_lines_end_with_crlf_and_the_encoding_is_said() -> None:
    """RFC 4180, with a mark that tells spreadsheets of UTF-8."""
    content = sessions_csv([], [], words=False)
    assert content.startswith(b"\xef\xbb\xbfday,time,")
    assert content.endswith(b"\r\n")
