"""Waits for what must become true, and says what did not."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable


def until(holds: Callable[[], object], within_s: float = 30, every_s: float = 0.05) -> None:
    """Asks again and again until something holds; fails when it does not within a generous time."""
    pause = threading.Event()
    ends = time.monotonic() + within_s
    while not holds():
        if time.monotonic() > ends:
            raise AssertionError(f"did not become true within {within_s:g} s: {holds}")
        pause.wait(every_s)
