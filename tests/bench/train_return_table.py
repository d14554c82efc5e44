"""Learns the starting chances of a return table from seeded logs: `python -m tests.bench.train_return_table`.

For each name of a decision the sequences of many logs are looked at: their common chance, and how far the logs differ
from it (a beta-binomial fit). A chance that all logs share starts with weight and moves slowly; one that differs from
client to client starts light. The seeds are none that the benchmark measures with.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from math import lgamma
from pathlib import Path
from typing import Any

from tests.bench.mixed_log import mixed_log
from tests.bench.synthetic_log import Log, session_log
from webapp.formats.arithmetic import Encoder
from webapp.formats.decisions import LEAST, MOST, Decisions
from webapp.formats.record_coding import RecordCoding
from webapp.formats.text_model import TextModel
from webapp.settings import static_folder

_WEIGHTS = (0.7, 1.5, 3, 6, 10, 16, 25, 40, 60)
_FEWEST_LOGS = 10
_LINE = 118
Counts = tuple[int, int]


class _Counting(Decisions):
    """Counts the ones and all decisions by name."""

    def __init__(self) -> None:
        super().__init__(Encoder(), {})
        self.counts: dict[str, list[int]] = defaultdict(lambda: [0, 0])

    def bit(self, name: str, value: int) -> int:
        count = self.counts[name]
        count[0] += value
        count[1] += 1
        return super().bit(name, value)


def _counted(log: Log, fields: Mapping[str, Any]) -> Mapping[str, list[int]]:
    counting = _Counting()
    coding = RecordCoding(Encoder(), {**fields, "start": {}}, TextModel(), counting)
    for record in log:
        without_note = {**record, "note": ""} if "note" in record else record
        coding.code({name: value for name, value in without_note.items() if name not in ("format", "device")})
    return counting.counts


def _fit(counts: Sequence[Counts]) -> list[int]:
    ones, made = (sum(column) for column in zip(*counts, strict=True))
    chance = (ones + 0.3) / (made + 0.6)
    weight = max(_WEIGHTS, key=lambda weight: _likelihood(counts, chance * weight, (1 - chance) * weight))
    return [min(max(round(chance * 65_536), LEAST), MOST), round(weight)]


def _likelihood(counts: Sequence[Counts], alpha: float, beta: float) -> float:
    each = (lgamma(one + alpha) + lgamma(n - one + beta) - lgamma(n + alpha + beta) for one, n in counts)
    return sum(each) + len(counts) * (lgamma(alpha + beta) - lgamma(alpha) - lgamma(beta))


def train(fields: Mapping[str, Any], logs: Iterable[Log]) -> dict[str, list[int]]:
    """Gives the starting chance and weight of each name that several logs made use of."""
    found: dict[str, list[Counts]] = defaultdict(list)
    for log in logs:
        for name, (ones, made) in _counted(log, fields).items():
            found[name].append((ones, made))
    return {name: _fit(counts) for name, counts in sorted(found.items()) if len(counts) >= _FEWEST_LOGS}


def training_logs() -> Iterable[Log]:
    """Draws the logs to learn from: half plain sessions, half of every kind, short ones and long ones."""
    for seed in range(1000, 1160):
        yield session_log(60 if seed % 2 else 20, seed)[0]
        yield mixed_log(60 if seed % 2 else 20, seed + 5000)


def written(table: Mapping[str, Any]) -> str:
    """Writes the table with one line for each slot, note and starting chance."""
    return _lines(table, 0) + "\n"


def _lines(value: object, depth: int) -> str:
    inside, close = " " * (depth + 1), "\n" + " " * depth
    flat = json.dumps(value, ensure_ascii=False)
    if len(flat) + depth <= _LINE or not isinstance(value, (dict, list)):
        return flat
    if isinstance(value, list):
        return "[\n" + ",\n".join(inside + _lines(one, depth + 1) for one in value) + close + "]"
    pairs = (f"{inside}{json.dumps(name)}: {_lines(one, depth + 1)}" for name, one in value.items())
    return "{\n" + ",\n".join(pairs) + close + "}"


def main() -> None:
    """Writes the starting chances into the table."""
    file: Path = static_folder() / "formats" / "return_table.json"
    table = json.loads(file.read_text(encoding="utf-8"))
    table["start"] = train(table, training_logs())
    file.write_text(written(table), encoding="utf-8")
    print(f"{len(table['start'])} starting chances, {file.stat().st_size} bytes")


if __name__ == "__main__":
    main()
