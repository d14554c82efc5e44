"""Every format reads what its vectors call valid, writes it back to the same, and names each problem of the others."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from tests.vectors.laying_over import cases
from webapp.formats.cue_sheet_json import read_cue_sheet, write_cue_sheet
from webapp.formats.issued_json import read_issued, write_issued
from webapp.formats.json_text import canonical_bytes, parse_json
from webapp.formats.plan_json import read_settings, write_settings
from webapp.formats.reading import ReadingError
from webapp.formats.stimulator_json import read_stimulator, write_stimulator

Read = Callable[[object], Any]
Write = Callable[[Any], dict[str, object]]
FORMATS: dict[str, tuple[Read, Write]] = {
    "plans": (read_settings, write_settings),
    "stimulators": (read_stimulator, write_stimulator),
    "issued": (read_issued, write_issued),
    "cue_sheets": (read_cue_sheet, write_cue_sheet),
}
VALID = [pytest.param(f, d, id=f"{f}: {n}") for f in FORMATS for n, d, _ in cases(f, "valid")]
IMPOSSIBLE = [pytest.param(d, id=n) for n, d, _ in cases("plans", "impossible")]
INVALID = [pytest.param(f, d, c["problems"], id=f"{f}: {n}") for f in FORMATS for n, d, c in cases(f, "invalid")]


@pytest.mark.parametrize(("name", "document"), VALID)
def test_valid_document_survives_reading_and_writing(name: str, document: Any) -> None:
    """read(write(read(x))) is read(x), and canonical bytes stay the same."""
    read, write = FORMATS[name]
    value = read(document)
    written = canonical_bytes(write(value))
    assert read(parse_json(written)) == value
    assert canonical_bytes(write(read(parse_json(written)))) == written


@pytest.mark.parametrize(("name", "document"), VALID)
def test_writing_keeps_every_field_that_was_there(name: str, document: Any) -> None:
    """What a person wrote is in what is written."""
    read, write = FORMATS[name]
    written = json.loads(canonical_bytes(write(read(document))))
    for field, value in document.items():
        if not isinstance(value, (list, dict)):
            assert written[field] == value


@pytest.mark.parametrize(("name", "document", "problems"), INVALID)
def test_invalid_document_gets_every_problem_with_its_path(name: str, document: Any, problems: list[list[str]]) -> None:
    """All problems at once, each with path and key, each one clear line."""
    read, _ = FORMATS[name]
    with pytest.raises(ReadingError) as caught:
        read(document)
    assert sorted([p.path, p.key] for p in caught.value.problems) == sorted(problems)
    for problem in caught.value.problems:
        assert str(problem).startswith("Expected")
        assert "\n" not in str(problem)


@pytest.mark.parametrize("document", IMPOSSIBLE)
def test_impossible_timing_is_no_fault_of_the_file(document: Any) -> None:
    """The timing is judged by the timetable, so that `check` can speak of it."""
    assert read_settings(document).drive == "cycled"
