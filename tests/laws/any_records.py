"""Seeded records of every kind that a log may hold: usual and utmost values, unknown kinds, unknown fields, odd texts.

A seed draws hundreds of records in no time, which drawing each value by itself does not.
"""

from __future__ import annotations

import random
from typing import Any

from webapp.formats.log_record import COMMON, FIELDS, FORMAT, MOST_WHOLE, OPTIONAL, STRENGTHS, Field

DEVICE = "5a17e0c4b2963f81"
_LETTERS = (*["aehst ,.", 'abc"\\/\n\t\x7f', "äöß€ñ", "🙂👍🏽"] * 4, "\0\x01\u2028\ufeff")
_NAMES = ("mood_n", "format2", "", "a b", "ü", "__proto__", "kinds", "z" * 50)


def any_log(seed: int, records: int) -> list[dict[str, Any]]:
    """Draws records of one device with rising seqs."""
    choose = random.Random(seed)
    seq = choose.choice([1, 1, 500])
    log: list[dict[str, Any]] = []
    for _ in range(records):
        log.append(_record(choose, seq))
        seq += choose.choice([1, 1, 1, 1, 2, 7])
    # a number that the table cannot hold makes a record go as its own text, which takes long: one of many
    if choose.random() < 0.1:
        log[-1]["seq"] = MOST_WHOLE
    return log


def _record(choose: random.Random, seq: int) -> dict[str, Any]:
    kind = "weather" if choose.random() < 0.02 else choose.choice([*FIELDS, "session"])
    fields = {**COMMON, **FIELDS.get(kind, {})}
    if kind == "session":
        fields.pop(choose.choice(STRENGTHS))
    usual = choose.random() < 0.7
    drawn = {name: _value(choose, field, usual) for name, field in fields.items()}
    further = (
        {choose.choice(_NAMES): _anything(choose, choose.choice([0, 0, 0, 2]))}
        if kind == "weather" or choose.random() < 0.03
        else {}
    )
    may_be = {name: _value(choose, field, usual) for name, field in OPTIONAL.get(kind, {}).items()}
    there = choose.choice([(), tuple(may_be), tuple(may_be), tuple(may_be)[1:]])
    optional = {name: may_be[name] for name in there}
    return {**further, **optional, **drawn, "format": FORMAT, "device": DEVICE, "kind": kind, "seq": seq}


def _value(choose: random.Random, field: Field, usual: bool) -> Any:
    if field.type == "int":
        return _whole(choose, field, usual)
    if field.type == "ints":
        most = min(field.most_entries, 4) if usual else field.most_entries
        return [_whole(choose, field, usual) for _ in range(choose.randint(0, most))]
    if field.type == "text":
        return _text(choose, field.hi) if choose.random() < 0.1 else ""
    if field.type == "hex":
        return "".join(choose.choice("0123456789abcdef") for _ in range(choose.randint(field.lo, field.hi)))
    return {_text(choose, 9): _anything(choose, 1) for _ in range(choose.randint(0, 2))}


def _whole(choose: random.Random, field: Field, usual: bool) -> int:
    if field.not_answered is not None and choose.random() < 0.1:
        return field.not_answered
    if usual or (field.hi == MOST_WHOLE and choose.random() < 0.9):
        return min(field.hi, field.lo + choose.randint(0, 20))
    return choose.choice([field.lo, field.hi, choose.randint(field.lo, field.hi)])


def _text(choose: random.Random, most_bytes: int) -> str:
    letters = choose.choice(_LETTERS)
    text = "".join(choose.choice(letters) for _ in range(choose.choice([1, 5, 9, 20] * 3 + [most_bytes])))
    return text.encode()[:most_bytes].decode(errors="ignore")


def _anything(choose: random.Random, levels: int) -> Any:
    way = choose.randint(0, 3 if levels else 1)
    if way == 0:
        return choose.choice([0, -1, 7, MOST_WHOLE, -MOST_WHOLE])
    if way == 1:
        return _text(choose, choose.choice([9] * 12 + [2000]))
    inside = [_anything(choose, levels - 1) for _ in range(choose.randint(0, 3))]
    return inside if way == 2 else {_text(choose, 9): one for one in inside}
