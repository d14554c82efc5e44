"""How long a returned log is, beside JSON + deflate on the same logs, and how many symbols it takes."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable, Sequence
from functools import cache
from statistics import median
from typing import Any

from tests.bench.mixed_log import mixed_log
from tests.bench.study_table import FIELDS, study_records
from tests.bench.synthetic_log import DEVICE, Log, session_log, timed
from tests.bench.train_return_table import train
from webapp.formats.return_code import ENVELOPE_BYTES, ReturnTable
from webapp.returned_code import ONE_SYMBOL, SMALLER, encode_frames, return_table

SESSIONS = (28, 84, 168)
SEEDS = range(20)
# what is asked for with the study's fields, as one sealed frame: median of 20 seeds
ASKED = dict(zip(SESSIONS, (215, 540, 1010), strict=True))
_KEY = bytes(32)


@cache
def study_coding() -> ReturnTable:
    """Learns the study's fields from other seeds, with the primer of the real table."""
    logs = (study_records(60 if seed % 2 else 20, seed)[0] for seed in range(1000, 1080))
    return ReturnTable({**FIELDS, "primer": return_table().table["primer"], "start": train(FIELDS, logs)})


def deflated(log: Log) -> int:
    """Gives the length of JSON with one-letter keys, deflated and sealed in the same envelope."""
    names = sorted({name for record in log for name in record} - {"device", "format"})
    letters = {name: chr(ord("A") + n) for n, name in enumerate(names)}
    short = [{letters[name]: record[name] for name in record if name in letters} for record in log]
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    text = json.dumps(short, separators=(",", ":"), ensure_ascii=False).encode()
    return len(packer.compress(text) + packer.flush()) + ENVELOPE_BYTES


def _spread(values: Sequence[float]) -> str:
    rising = sorted(values)
    return f"{median(rising):6.0f} (p95 {rising[-2]:.0f})"


def _sent(logs: Sequence[Log], max_version: int, table: ReturnTable | None) -> str:
    frames = [encode_frames(log, _KEY, DEVICE, max_version=max_version, table=table) for log in logs]
    sums = median(sum(len(frame.payload) * 2 / 3 for frame in one) for one in frames)
    counts = sorted(len(one) for one in frames)
    return f"{median(counts):.0f} (p95 {counts[-2]}), {sums:.0f} bytes"


def _print_sizes(title: str, draw: Callable[[int, int], Log], table: ReturnTable | None, notes: dict[int, str]) -> None:
    coding = table or return_table()
    print(f"{title}: bytes as one sealed frame; JSON + deflate in the same envelope; frames as sent")
    for sessions in SESSIONS:
        logs = [draw(sessions, seed) for seed in SEEDS]
        sizes = [len(coding.encode_body(log)[0]) + ENVELOPE_BYTES for log in logs]
        packed = [deflated(log) for log in logs]
        sent = [f"v{most}: {_sent(logs, most, table)}" for most in (ONE_SYMBOL, SMALLER)]
        part = median(size / other for size, other in zip(sizes, packed, strict=True))
        beside = f"deflate {_spread(packed)}, ratio {part:.2f}; {'; '.join(sent)}"
        print(f"  {sessions:4} sessions {_spread(sizes)} {notes.get(sessions, '')}; {beside}")


def _oracle_notes() -> dict[int, str]:
    """Gives what is asked with our fields: the study's figure, and what the oracle pays for the fields that differ."""
    notes: dict[int, str] = {}
    for sessions in SESSIONS:
        apart: list[float] = []
        for seed in SEEDS:
            _, kept, further = session_log(sessions, seed)
            apart.append((kept + further - study_records(sessions, seed)[1]) / 8)
        notes[sessions] = f"asked {ASKED[sessions] + median(apart):.0f}"
    return notes


def run() -> None:
    """Prints the sizes for the study's fields, for ours, and for logs of every kind."""

    def study(sessions: int, seed: int) -> list[dict[str, Any]]:
        return study_records(sessions, seed)[0]

    def ours(sessions: int, seed: int) -> list[dict[str, Any]]:
        return session_log(sessions, seed)[0]

    _print_sizes("the study's fields", study, study_coding(), {n: f"asked {most}" for n, most in ASKED.items()})
    _print_sizes("sessions of wattlebird.record/1", ours, None, _oracle_notes())
    _print_sizes("the same with the times of set-up", lambda n, seed: timed(ours(n, seed), seed), None, {})
    _print_sizes("every kind of record", mixed_log, None, {})
