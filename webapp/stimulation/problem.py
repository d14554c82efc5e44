"""What is wrong with something that was written: a path, a key of the text catalogue, and its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

# The console's sentences; the pages take the same ones from the catalogue by `problem.<key>` (a test compares the two).
TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "number": "Expected a number from {least} to {most} in `{path}`, got {value}.",
        "tenths": "Expected a number from {least} to {most} in steps of 0.1 in `{path}`, got {value}.",
        "whole_number": "Expected a whole number from {least} to {most} in `{path}`, got {value}.",
        "choice": "Expected one of {allowed} in `{path}`, got {value}.",
        "flag": "Expected true or false in `{path}`, got {value}.",
        "text": "Expected a text of {least} to {most} characters in `{path}`, got {value}.",
        "one_line": "Expected a text without control characters in `{path}`, got {value}.",
        "bytes": "Expected a text of at most {most} bytes in `{path}`, got {value}.",
        "hex": "Expected {least} to {most} hex digits (0-9, a-f) in `{path}`, got {value}.",
        "date": "Expected a date such as 2026-11-24 in `{path}`, got {value}.",
        "day_order": "Expected a day not before {least} in `{path}`, got {value}.",
        "list": "Expected a list of {least} to {most} entries in `{path}`, got {value}.",
        "object": "Expected an object in `{path}`, got {value}.",
        "unknown_field": "Expected only the fields {allowed}, got the unknown field `{path}` ({value}).",
        "exactly_one": "Expected exactly one of {allowed} in `{path}`, got {value}.",
        "only_with": "Expected `{path}` only where {allowed}, got {value}.",
        "twice": "Expected each of {allowed} once in `{path}`, got {value} twice.",
        "order": "Expected numbers that do not fall in `{path}`, got {value}.",
        "as_channels": "Expected {most} of them, one for each channel, in `{path}`, got {value}.",
        "level_or_ma": "Expected a ceiling in the same measure as the strength ({allowed}) in `{path}`, got {value}.",
        "range_order": "Expected `{path}` not below the minimum {least}, got {value}.",
        "not_utf8": "Expected text in UTF-8, got a byte that is not, at position {value}.",
        "not_json": "Expected JSON, got something else at line {line}, column {column}.",
        "too_deep": "Expected JSON of at most {most} levels, got more.",
        "too_big": "Expected at most {most} bytes, got more.",
        "field_twice": "Expected each field once, got {value} twice in one object.",
        "not_canonical": "Expected canonical JSON (keys sorted, no spaces, whole numbers), got other bytes.",
        "plain_values": "Expected only whole numbers, texts, lists and objects in `{path}`, got {value}.",
        "timing_flat_top": "Expected a hold above {above} s in `{path}` (the ramps take {above} s of it), got {value}.",
        "timing_off": "Expected a rest of at least {least} s in `{path}` (the ramp down is part of it), got {value}.",
        "timing_contraction": "Expected a contraction of at least {least} s from `{path}`, got one of {value} s.",
        "timing_cycle": "Expected a cycle of at least {least} s from `{path}`, got one of {value} s.",
        "timing_delay_shift": "Expected a delay of at most {most} s in `{path}` (channel 2 ends in the same cycle), "
        "got {value}.",
        "timing_delay_shorten": "Expected a delay under {below} s in `{path}` (channel 2 needs a flat top), "
        "got {value}.",
        "timing_within_rest": "Expected a rest of at least {least} s in `{path}` (channel 2 works inside it), "
        "got {value}.",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong; its text in the catalogue is `problem.<key>`, with `path` and `params`."""

    path: str
    key: str
    params: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        text = TEXTS[self.key].format(path=self.path or "the file", **self.params)
        return "".join(letter if letter.isprintable() else "\ufffd" for letter in text)


class PlanError(ValueError):
    """Settings whose timing is impossible; carries every problem."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(" ".join(str(problem) for problem in problems))
        self.problems = problems
