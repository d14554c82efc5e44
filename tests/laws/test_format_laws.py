"""Laws of the formats: what is written is read back; canonical bytes are one; no input breaks the reader."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.laws.drawn import records, settings
from webapp.formats.json_text import canonical_bytes, parse_json
from webapp.formats.log_record import canonical, chain, chain_next, content_hash, read_record
from webapp.formats.plan_json import read_settings, write_settings
from webapp.formats.reading import ReadingError
from webapp.formats.stimulator_json import read_stimulator
from webapp.stimulation.plan import Settings
from webapp.stimulation.problem import Problem

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
)
PLAN = {
    "format": "wattlebird.plan/1", "drive": "cycled", "frequency_hz": 35, "pulse_width_us": 300, "session_min": 20,
    "hold_s": 5, "rest_s": 10, "channels": [{"intensity_ma": 24, "pad_cm2": 25}],
}  # fmt: skip


def refused(read: Callable[[Any], object], value: object) -> tuple[Problem, ...] | None:
    """Gives the problems of what is refused, None for what is read; any other error goes through."""
    try:
        read(value)
    except ReadingError as error:
        return error.problems
    return None


@given(settings())
def test_settings_survive_writing_and_reading(drawn: Settings) -> None:
    """And canonical bytes stay the same."""
    written = canonical_bytes(write_settings(drawn))
    again = read_settings(parse_json(written))
    assert again == drawn
    assert canonical_bytes(write_settings(again)) == written


@given(st.sampled_from([*PLAN, "ramp_up_s", "delay_s", "ramps", "relation", "recovery_ratio", "mood"]), JSON)
def test_any_value_in_any_field_is_read_or_named(field: str, value: Any) -> None:
    """One problem at least names the field, as one line of printable text."""
    problems = refused(read_settings, {**PLAN, field: value})
    assert all(problem.path.startswith(field) for problem in problems or ())
    assert all(str(problem).isprintable() for problem in problems or ())
    assert problems is None or problems


@given(JSON)
def test_any_json_is_read_or_refused(value: Any) -> None:
    """Never another error."""
    for read in (read_settings, read_stimulator):
        assert refused(read, value)


@given(st.binary(max_size=200) | st.text().map(str.encode))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    """As JSON and as a record."""
    assert refused(read_record, data)
    assert refused(parse_json, data) is None or refused(parse_json, data)


@given(records(), st.randoms())
def test_record_has_one_canonical_form(drawn: dict[str, Any], random: Any) -> None:
    """Whatever the order of its fields; and reading it changes nothing."""
    shuffled = list(drawn.items())
    random.shuffle(shuffled)
    content = canonical(drawn)
    assert canonical(dict(shuffled)) == content
    assert json.loads(content) == drawn
    record = read_record(content)
    assert (record.content, record.content_hash) == (content, content_hash(content))
    assert (
        canonical(
            {**{name: drawn[name] for name in ("format", "kind", "device", "seq", "at_min", "utc_q")}, **record.fields}
        )
        == content
    )


@given(st.lists(st.binary(min_size=32, max_size=32), max_size=8), st.integers(0, 8))
def test_chain_may_be_taken_up_anywhere(hashes: list[bytes], at: int) -> None:
    """A chain over all is the chain over the first, gone on with."""
    value = chain(hashes[:at])
    for one in hashes[at:]:
        value = chain_next(value, one)
    assert value == chain(hashes) == chain(hashes[at:], chain(hashes[:at]))
