"""The laws of the whole exchange over 20,000 stories of 50 steps, and on from there."""

from __future__ import annotations

import re
import time
from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.trust.test_exchange_laws import Exchange

STEPS, EACH = 50, 100
WORTH_TELLING = re.compile(r"state\.(?!what_is)|reproduce_failure")


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Tells new stories until the time is over; `stories` counts them over all parts."""
    ends, found = time.monotonic() + minutes * 60, list[str]()
    while time.monotonic() < ends:
        try:
            run_state_machine_as_test(Exchange, settings=settings(
                max_examples=EACH, stateful_step_count=STEPS, deadline=None, database=None, derandomize=False,
                phases=[Phase.generate], print_blob=True, suppress_health_check=list(HealthCheck)))
        except Exception as error:
            told = " | ".join(note for note in getattr(error, "__notes__", []) if WORTH_TELLING.search(note))
            found.append(f"{type(error).__name__} {error}: {told}")
        state["stories"] = int(state.get("stories", 0)) + EACH
    print(f"  {state['stories']} stories of up to {STEPS} steps so far (wanted: 20,000)")
    return found
