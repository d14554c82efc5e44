"""The log record in both languages: same table, same bytes, same hashes, same refusals."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.vectors.laying_over import load
from webapp.formats.log_record import (
    COMMON,
    FIELDS,
    OPTIONAL,
    canonical,
    chain,
    content_hash,
    digest,
    read_record,
    record_problems,
)
from webapp.formats.reading import ReadingError

VECTORS = load("records")
VALID = [pytest.param(case, id=case["name"]) for case in VECTORS["valid"]]
INVALID = [pytest.param(case, id=case["name"]) for case in VECTORS["invalid"]]


def changed(case: dict[str, Any]) -> dict[str, Any]:
    """Lays a change over the first valid record."""
    whole = dict(VECTORS["valid"][0]["record"]) | case["change"]
    return {name: value for name, value in whole.items() if value is not None}


@pytest.fixture(scope="module")
def phone(node: Path, root: Path) -> dict[str, Any]:
    """What the phone's module makes of the vectors."""
    module = (root / "tests/formats/log_record.test.js").as_uri()
    script = f"""import {{report}} from {json.dumps(module)};
        let text = ""; for await (const part of process.stdin) text += part;
        console.log(JSON.stringify(await report(JSON.parse(text))));"""
    command = [str(node), "--input-type=module", "--eval", script]
    done = subprocess.run(command, input=json.dumps(VECTORS).encode(), capture_output=True, check=True)
    told: dict[str, Any] = json.loads(done.stdout)
    return told


@pytest.mark.parametrize("case", VALID)
def test_canonical_bytes_and_hash_are_those_of_the_vectors(case: dict[str, Any]) -> None:
    """Sorted, without spaces, UTF-8."""
    content = canonical(case["record"])
    assert content.decode() == case["canonical"]
    assert content_hash(content).hex() == case["sha256"]
    record = read_record(content)
    assert (record.content, record.seq, record.kind) == (content, case["record"]["seq"], case["record"]["kind"])


def test_chain_and_digest_are_those_of_the_vectors() -> None:
    """c0 is 32 zero bytes; the digest is the first 8 bytes."""
    chained = chain(bytes.fromhex(case["sha256"]) for case in VECTORS["valid"])
    assert (chained.hex(), digest(chained).hex()) == (VECTORS["chain"], VECTORS["digest"])
    assert chain([]) == bytes(32)


@pytest.mark.parametrize("case", INVALID)
def test_invalid_record_is_refused_with_its_field(case: dict[str, Any]) -> None:
    """The problem names the field."""
    with pytest.raises(ReadingError) as caught:
        read_record(canonical(changed(case)))
    assert {p.path.partition("[")[0] for p in caught.value.problems} == {case["path"]}


def test_unknown_kinds_and_fields_are_kept() -> None:
    """What a newer phone sends is not lost."""
    by_name = {case["name"]: read_record(case["canonical"].encode()) for case in VECTORS["valid"]}
    weather = by_name["an unknown kind, kept"]
    assert not weather.is_known
    assert weather.fields["sky"] == {"a": "grey", "b": [1, [2, {}]]}
    mood = by_name["an unknown field of a known kind, kept"]
    assert (mood.is_known, mood.unknown, mood.fields["mood_n"]) == (True, ("mood_n",), 4)


def test_a_session_may_say_how_long_its_set_up_took() -> None:
    """The fields are known, and a session of an older phone does not lack them."""
    older = VECTORS["valid"][0]
    assert read_record(older["canonical"].encode()).unknown == ()
    timed = {**older["record"], "longest_step": 3, "longest_step_s": 95, "set_up_s": 310}
    assert read_record(canonical(timed)).unknown == ()


@pytest.mark.parametrize(
    "other",
    [
        lambda text: text.replace('":', '": ', 1),
        lambda text: text + "\n",
        lambda text: "\ufeff" + text,
        lambda text: "{" + text[1:-1].split(",", 1)[1] + "," + text[1:-1].split(",", 1)[0] + "}",
        lambda text: text.replace("29916000", "29916000.0"),
        lambda text: text.replace('"note":""', '"note":"\\u0041"'),
    ],
    ids=["a space", "a line end", "a byte order mark", "another order", "a decimal point", "an escape too many"],
)
def test_bytes_that_are_not_canonical_are_refused(other: Any) -> None:
    """Or else one record would have two hashes."""
    with pytest.raises(ReadingError):
        read_record(other(VECTORS["valid"][0]["canonical"]).encode())


def test_phone_has_the_same_table(phone: dict[str, Any]) -> None:
    """Kind by kind, field by field."""
    assert phone["fields"] == {k: {n: f._asdict() for n, f in fields.items()} for k, fields in FIELDS.items()}
    assert phone["optional"] == {k: {n: f._asdict() for n, f in fields.items()} for k, fields in OPTIONAL.items()}
    assert phone["common"] == {name: field._asdict() for name, field in COMMON.items()}


def test_phone_makes_the_same_bytes_hashes_and_chain(phone: dict[str, Any]) -> None:
    """Byte for byte."""
    assert phone["canonical"] == [case["canonical"] for case in VECTORS["valid"]]
    assert phone["sha256"] == [case["sha256"] for case in VECTORS["valid"]]
    assert (phone["chain"], phone["digest"]) == (VECTORS["chain"], VECTORS["digest"])


def test_phone_finds_the_same_problems(phone: dict[str, Any]) -> None:
    """None in the valid ones, the same field in the others."""
    assert phone["valid_problems"] == [record_problems(case["record"]) for case in VECTORS["valid"]]
    assert phone["invalid_problems"] == [[case["path"]] for case in VECTORS["invalid"]]


def test_phone_refuses_values_that_a_record_never_holds(phone: dict[str, Any]) -> None:
    """Fractions, true, null, what is no text."""
    assert phone["refused"] == ["half", "large", "true", "null", "nothing", "lone", "not_a_number"]


@pytest.mark.parametrize("value", [0.5, 2**53, True, None, "\ud800", float("nan")])
def test_values_that_a_record_never_holds_are_refused(value: object) -> None:
    """The same ones as on the phone."""
    with pytest.raises(ReadingError):
        canonical({"kind": "weather", "value": value})
