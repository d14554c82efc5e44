"""A long recording of what a browser plays, with the recorder's own clock measured against this machine's."""

from __future__ import annotations

import contextlib
import os
import subprocess
import threading
import time
from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt

from tests.browser.recorder import RATE_HZ
from tests.waiting import until

Times = npt.NDArray[np.float64]
Pcm = npt.NDArray[np.int16]
PRIORITY = 15
CHUNK_S, WINDOW_S = 30, 0.002
LOUD = 0.12  # of full scale, as the page plays its bursts
APART_S = 0.2
TAIL_S = 2.5


class Tape:
    """Reads the monitor of a sink, and notes when how much had come; the line through that is the recorder's clock."""

    def __init__(self, env: Mapping[str, str], sink: str = "cue") -> None:
        command = ["parec", "-d", f"{sink}.monitor", "--format=s16le", f"--rate={RATE_HZ}", "--channels=1", "--raw"]
        self._process = subprocess.Popen(
            [*command, "--latency-msec=50"], env=dict(env), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL)  # fmt: skip
        with contextlib.suppress(PermissionError, AttributeError):
            os.sched_setscheduler(self._process.pid, os.SCHED_RR, os.sched_param(PRIORITY))
        self._parts: list[bytes] = []
        self._came: list[tuple[float, float]] = []  # monotonic seconds, seconds of sound
        self._bytes = 0
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()
        until(lambda: self._bytes > 0, 15)

    def _read(self) -> None:
        assert self._process.stdout is not None
        while part := os.read(self._process.stdout.fileno(), 1 << 16):
            self._parts.append(part)
            self._bytes += len(part)
            self._came.append((time.monotonic(), self._bytes / 2 / RATE_HZ))

    def runs_out(self) -> None:
        """Waits for what has been played and is still on its way."""
        until_bytes = self._bytes + int(TAIL_S * 2 * RATE_HZ)
        until(lambda: self._bytes > until_bytes, 20)

    def end(self) -> None:
        """Ends the recording."""
        self._process.terminate()
        self._process.wait(10)
        self._thread.join(10)

    def pcm(self) -> Pcm:
        """Gives what was recorded."""
        return np.frombuffer(b"".join(self._parts)[: self._bytes // 2 * 2], dtype="<i2")

    def clock(self) -> tuple[float, float]:
        """Fits monotonic time = first + second × time on the tape, without the beginning, which comes in a rush."""
        came = np.array(self._came)
        steady = came[came[:, 1] > came[0, 1] + 3]
        second, first = np.polyfit(steady[:, 1], steady[:, 0], 1)
        return float(first), float(second)


def onsets_s(pcm: Pcm, hz: float) -> Times:
    """Finds when bursts of one pitch begin, on the tape's clock.

    A boxcar of 2 ms round the pitch is blind to all others that are whole multiples of 500 Hz away from it.
    """
    found = [_in_chunk(pcm, start, hz) for start in range(0, len(pcm), CHUNK_S * RATE_HZ)]
    return _once(np.concatenate(found) if found else np.zeros(0))


def _in_chunk(pcm: Pcm, start: int, hz: float) -> Times:
    window = int(RATE_HZ * WINDOW_S)
    part = pcm[start : start + CHUNK_S * RATE_HZ + RATE_HZ].astype(np.float64) / 32768
    turned = part * np.exp(-2j * np.pi * hz * np.arange(len(part)) / RATE_HZ)
    summed = np.concatenate([[0], np.cumsum(turned)])
    envelope = np.abs(summed[window:] - summed[:-window]) / window * 2
    high = envelope > LOUD / 2
    up = np.flatnonzero(high[1:] & ~high[:-1]) + 1
    return np.asarray((start + up + window / 2) / RATE_HZ)


def _once(times: Times) -> Times:
    """Keeps the first of what chunks that overlap, or a burst's own edge, found twice."""
    kept: list[float] = []
    for at in np.sort(times):
        if not kept or at - kept[-1] > APART_S:
            kept.append(float(at))
    return np.array(kept)


@contextlib.contextmanager
def taping(env: Mapping[str, str], sink: str = "cue") -> Iterator[Tape]:
    """Records while the block runs."""
    tape = Tape(env, sink)
    try:
        yield tape
    finally:
        tape.end()
