"""A hundred thousand rightly sealed hostile bodies, and on from there: read or refused in bounded time and memory."""

from __future__ import annotations

import resource
import time
from typing import Any

from tests.trust.hostile_codes import hostile_body, what_comes_of

MOST_S = 5.0  # of this process's own time, for one body
MOST_GROWTH_KIB = 200_000


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Reads on from the seed that was last; `bodies` counts, `longest_s` is the worst so far."""
    ends, found = time.monotonic() + minutes * 60, list[str]()
    hostile_body(0)
    memory_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    while time.monotonic() < ends:
        seed = int(state.get("bodies", 0))
        body, begun = hostile_body(seed), time.process_time()
        if wrong := what_comes_of(body):
            found.append(f"seed {seed}: {wrong}")
        took_s = time.process_time() - begun
        state["longest_s"] = max(took_s, float(state.get("longest_s", 0)))
        if took_s > MOST_S:
            found.append(f"seed {seed}: took {took_s:.1f} s")
        state["bodies"] = seed + 1
    grown_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - memory_kib
    if grown_kib > MOST_GROWTH_KIB:
        found.append(f"memory grew by {grown_kib} KiB")
    print(f"  {state['bodies']} bodies so far, the longest {state['longest_s']:.2f} s, memory grew by {grown_kib} KiB"
          " (wanted: 100,000)")
    return found
