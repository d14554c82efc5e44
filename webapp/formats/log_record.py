"""wattlebird.record/1: one entry of the log. Its canonical bytes are its content; nothing is ever written anew.

Canonical bytes are UTF-8 JSON with sorted keys and no spaces, of whole numbers, texts, lists and objects only. Unknown
kinds, and unknown fields of a known kind, are kept.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from types import MappingProxyType
from typing import NamedTuple

from webapp.formats.json_text import parse_json
from webapp.formats.reading import ReadingError, shown
from webapp.stimulation.problem import Problem

FORMAT = "wattlebird.record/1"
MOST_BYTES = 65_536
MOST_WHOLE = 2**53 - 1
NOTE_BYTES = 280
PLACES = 16
_COUNT = 1_000_000


class Field(NamedTuple):
    """A field: its type, its range, and the value that says *not answered*.

    Types: `int`; `ints` (a list of them, `most_entries` long at most); `text` (`hi` is its length in UTF-8 bytes);
    `hex` (`lo` to `hi` digits); `object`.
    """

    type: str
    lo: int
    hi: int
    not_answered: int | None = None
    most_entries: int = 0


COMMON: Mapping[str, Field] = MappingProxyType(
    {
        "device": Field("hex", 16, 16),
        "seq": Field("int", 1, MOST_WHOLE),
        "at_min": Field("int", 0, 200_000_000),
        "utc_q": Field("int", -48, 56),
    }
)
_VERSION = Field("int", 1, _COUNT)
_SKIN = Field("int", 0, 5, 9)
_SKIN_EACH = Field("ints", 0, 5, 9, PLACES)
_SCALE = Field("int", 0, 10, 11)
_NOTE = Field("text", 0, NOTE_BYTES)
_BY = Field("int", 0, 2, 3)
FIELDS: Mapping[str, Mapping[str, Field]] = MappingProxyType(
    {
        "session": MappingProxyType(
            {
                "plan": _VERSION,
                "version": _VERSION,
                "exercise": Field("int", 1, 4),
                "planned_s": Field("int", 0, 100_000),
                "cued_s": Field("int", 0, 100_000),
                "ended": Field("int", 1, 8, 0),
                "pauses_n": Field("int", 0, 9999),
                "contractions_n": Field("ints", 0, 100_000, None, 2),
                "strength_half_ma": Field("ints", 0, 400, -1, 2),
                "strength_level": Field("ints", 0, 1000, -1, 2),
                "skin_before": _SKIN_EACH,
                "skin_after": _SKIN_EACH,
                "pain_before_n": _SCALE,
                "pain_after_n": _SCALE,
                "effort_n": _SCALE,
                "help": Field("int", 0, 2, 3),
                "steps_skipped": Field("ints", 1, 99, None, 99),
                "taps_n": Field("int", 0, 9999),
                "period_ppm": Field("int", -100_000, 100_000, 1_000_000),
                "answered_by": _BY,
                "note": _NOTE,
            }
        ),
        "skin_later": MappingProxyType(
            {"session_seq": Field("int", 1, MOST_WHOLE), "when": Field("int", 1, 2), "skin": _SKIN_EACH}
        ),
        "not_today": MappingProxyType({"exercise": Field("int", 0, 4), "why": Field("int", 1, 7), "note": _NOTE}),
        "finding": MappingProxyType(
            {
                "exercise": Field("int", 0, 4),
                "what": Field("int", 1, 3),
                "place_n": Field("int", 0, PLACES - 1, 99),
                "skin": _SKIN,
                "pain_n": _SCALE,
                "note": _NOTE,
            }
        ),
        "changed": MappingProxyType({"what": Field("int", 1, 3), "version": Field("int", 0, _COUNT), "by": _BY}),
        "pack_taken": MappingProxyType({"version": _VERSION, "pack": Field("hex", 1, 64)}),
        "correction": MappingProxyType({"corrects_seq": Field("int", 1, MOST_WHOLE), "fields": Field("object", 0, 60)}),
    }
)
# fields that a record of an older phone, or a diary, does not have; where one is there, it is in its range
OPTIONAL: Mapping[str, Mapping[str, Field]] = MappingProxyType(
    {
        "session": MappingProxyType(
            {
                "longest_step": Field("int", 1, 99),
                "longest_step_s": Field("int", 0, 100_000),
                "set_up_s": Field("int", 0, 100_000),
            }
        )
    }
)
# of these a session has exactly one
STRENGTHS = ("strength_half_ma", "strength_level")
_NAMES = frozenset(("format", "kind", *COMMON))


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A record as it came: its fields, what in it is not known here, and its very bytes with their SHA-256."""

    device: str
    seq: int
    kind: str
    at_min: int
    utc_q: int
    fields: Mapping[str, object]
    unknown: tuple[str, ...]
    content: bytes
    content_hash: bytes

    @property
    def is_known(self) -> bool:
        """Whether its kind is known here."""
        return self.kind in FIELDS


def canonical(record: Mapping[str, object]) -> bytes:
    """Writes the canonical bytes; raises ReadingError where a value is none that a record may hold."""
    problems = list(_plain_problems("", record))
    if problems:
        raise ReadingError(problems)
    return json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode("utf-8")


def content_hash(content: bytes) -> bytes:
    """Gives the SHA-256 of the bytes: what says that two records are the same."""
    return sha256(content).digest()


def _problem(path: str, key: str, **params: object) -> Problem:
    return Problem(path=path, key=key, params=params)


def _plain_problems(path: str, value: object) -> Iterable[Problem]:
    if isinstance(value, Mapping):
        for name, one in value.items():
            if _has_surrogate(str(name)):
                yield _problem(path, "plain_values", value=shown(name))
            yield from _plain_problems(f"{path}.{name}" if path else str(name), one)
    elif isinstance(value, (list, tuple)):
        for n, one in enumerate(value):
            yield from _plain_problems(f"{path}[{n}]", one)
    elif isinstance(value, str):
        if _has_surrogate(value):
            yield _problem(path, "plain_values", value=shown(value))
    elif isinstance(value, bool) or not isinstance(value, int) or abs(value) > MOST_WHOLE:
        yield _problem(path, "plain_values", value=shown(value))


def _has_surrogate(text: str) -> bool:
    return any("\ud800" <= letter <= "\udfff" for letter in text)


def _whole_problem(path: str, value: object, field: Field) -> Iterable[Problem]:
    if type(value) is int and (field.lo <= value <= field.hi or value == field.not_answered):
        return
    least = field.lo if field.not_answered is None else f"{field.not_answered} (not answered) or {field.lo}"
    yield _problem(path, "whole_number", least=least, most=field.hi, value=shown(value))


def _list_problems(path: str, value: object, field: Field) -> Iterable[Problem]:
    if not isinstance(value, list) or len(value) > field.most_entries:
        yield _problem(path, "list", least=0, most=field.most_entries, value=shown(value))
        return
    for n, one in enumerate(value):
        yield from _whole_problem(f"{path}[{n}]", one, field)


def _field_problems(path: str, value: object, field: Field) -> Iterable[Problem]:
    if field.type == "int":
        yield from _whole_problem(path, value, field)
    elif field.type == "ints":
        yield from _list_problems(path, value, field)
    elif field.type == "text":
        if not isinstance(value, str) or len(value.encode("utf-8", "replace")) > field.hi:
            yield _problem(path, "bytes", most=field.hi, value=shown(value))
    elif field.type == "hex":
        if not isinstance(value, str) or not re.fullmatch(f"[0-9a-f]{{{field.lo},{field.hi}}}", value):
            yield _problem(path, "hex", least=field.lo, most=field.hi, value=shown(value))
    elif not isinstance(value, dict):
        yield _problem(path, "object", value=shown(value))


def record_problems(record: object) -> list[Problem]:
    """Gives everything that is wrong with a record's fields."""
    if not isinstance(record, dict):
        return [_problem("", "object", value=shown(record))]
    problems = list(_plain_problems("", record))
    if record.get("format") != FORMAT:
        problems.append(_problem("format", "choice", allowed=FORMAT, value=_shown_of(record, "format")))
    kind = record.get("kind")
    if not isinstance(kind, str) or not 1 <= len(kind) <= 40:
        problems.append(_problem("kind", "text", least=1, most=40, value=_shown_of(record, "kind")))
    wanted = {**COMMON, **FIELDS.get(kind if isinstance(kind, str) else "", {})}
    if kind == "session":
        problems += _strength_problems(record, wanted)
    may_be = OPTIONAL.get(kind if isinstance(kind, str) else "", {})
    wanted.update({name: field for name, field in may_be.items() if name in record})
    for name, field in wanted.items():
        found = _field_problems(name, record[name], field) if name in record else [_missing(name, field)]
        problems.extend(found)
    return problems


def _missing(name: str, field: Field) -> Problem:
    keys = {"int": "whole_number", "ints": "list", "text": "bytes", "hex": "hex", "object": "object"}
    most = field.most_entries if field.type == "ints" else field.hi
    return _problem(name, keys[field.type], least=field.lo, most=most, value="nothing")


def _shown_of(record: Mapping[str, object], name: str) -> str:
    return shown(record[name]) if name in record else "nothing"


def _strength_problems(record: Mapping[str, object], wanted: dict[str, Field]) -> list[Problem]:
    """Takes the strength that is not there out of what is wanted."""
    present = [name for name in STRENGTHS if name in record]
    for name in STRENGTHS:
        if name not in record:
            wanted.pop(name)
    if len(present) == 1:
        return []
    value = "both" if present else "neither"
    return [_problem("", "exactly_one", allowed=", ".join(STRENGTHS), value=value)]


def read_record(content: bytes) -> Record:
    """Reads a record from its canonical bytes; raises ReadingError with every problem."""
    value = parse_json(content, MOST_BYTES)
    problems = record_problems(value)
    if problems or not isinstance(value, dict):
        raise ReadingError(problems)
    if canonical(value) != content:
        raise ReadingError([_problem("", "not_canonical")])
    known = _NAMES | FIELDS.get(value["kind"], {}).keys() | OPTIONAL.get(value["kind"], {}).keys()
    return Record(
        device=value["device"],
        seq=value["seq"],
        kind=value["kind"],
        at_min=value["at_min"],
        utc_q=value["utc_q"],
        fields=MappingProxyType({name: one for name, one in value.items() if name not in _NAMES}),
        unknown=tuple(sorted(value.keys() - known)),
        content=content,
        content_hash=content_hash(content),
    )


def chain_next(chain: bytes, hash_: bytes) -> bytes:
    """Adds one record to the chain: SHA-256(chain ‖ hash)."""
    return sha256(chain + hash_).digest()


def chain(hashes: Iterable[bytes], start: bytes = bytes(32)) -> bytes:
    """Chains content hashes in the order of their seq; of none it is 32 zero bytes."""
    value = start
    for one in hashes:
        value = chain_next(value, one)
    return value


def digest(chained: bytes) -> bytes:
    """Gives the first 8 bytes of a chain, which a receipt carries."""
    return chained[:8]
