"""The study's fields in the language of the return table: what the published figures are compared with."""

from __future__ import annotations

from typing import Any

from tests.bench.synthetic_log import DEVICE, Log, study_log

FIELDS: dict[str, Any] = {
    "record": "study",
    "head": {"seq": 0, "at_min": 28_930_000, "plan": 1, "version": 1, "utc_q": 0},
    "kinds": [
        {
            "kind": "s",
            "time": "habit",
            "head": ["plan", "version", "utc_q"],
            "slots": [
                {"field": "end", "code": "symbol", "bits": 1},
                {"field": "full", "code": "steady", "unit": 5},
                {"field": "min", "code": "number", "from": "full", "context": [{"now": "end"}]},
                {"field": "pauses", "code": "number"},
                {"field": "reps", "code": "rate", "of": "min", "context": [{"now": "end"}]},
                {"field": "int", "list": "channels", "code": "number", "from": "last", "first": 50,
                 "context": ["index", "moved"]},
                {"field": "pre", "list": "places", "code": "symbol", "bits": 2,
                 "context": [{"last": "grade", "most": 6}]},
                {"field": "grade", "list": "places", "code": "symbol", "bits": 3,
                 "context": [{"last": "grade", "most": 1}, "index"]},
                {"field": "itch", "list": "places", "code": "symbol", "bits": 1,
                 "context": [{"now": "grade", "most": 1}]},
                {"field": "ppain", "list": "places", "code": "symbol", "bits": 1,
                 "context": [{"now": "grade", "most": 2}]},
                {"field": "fade", "list": "places", "code": "number", "context": [{"now": "grade", "most": 2}]},
                {"field": "pain0", "code": "number", "from": "drift", "first": 4, "not_answered": 11},
                {"field": "pain1", "code": "number", "from": "pain0", "not_answered": 11},
                {"field": "effort", "code": "number", "from": "drift", "first": 4, "not_answered": 11},
                {"field": "help", "code": "symbol", "bits": 2, "context": [{"last": "help"}]},
                {"field": "skip", "code": "set"},
                {"field": "note", "code": "text"},
            ],
        }
    ],
}  # fmt: skip


_KEPT = ("seq", "min", "end", "pauses", "reps", "int", "pre", "pain0", "pain1", "effort", "help", "note")


def study_records(sessions: int, seed: int) -> tuple[Log, float]:
    """Draws a log in these fields; gives it with the oracle's bits."""
    drawn, bits, _ = study_log(sessions, seed)
    log: Log = []
    full = 0
    for one in drawn:
        full = full if one["end"] and full else one["min"]
        log.append(_fields(one, full))
    return log, sum(bits.values())


def _fields(one: dict[str, Any], full: int) -> dict[str, Any]:
    kept = {name: one[name] for name in _KEPT}
    grade, itch, pain, fade = (list(column) for column in zip(*one["post"], strict=True))
    head = {"format": "study", "device": DEVICE, "kind": "s", "plan": one["app"], "version": one["planv"]}
    return {
        **head,
        **kept,
        "utc_q": one["tz"],
        "at_min": one["start"],
        "full": full,
        "grade": grade,
        "itch": itch,
        "ppain": pain,
        "fade": [minutes // 5 for minutes in fade],
        "skip": [n for n in range(16) if one["skip"] >> n & 1],
    }
