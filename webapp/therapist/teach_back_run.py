"""A teach-back under way: what was marked so far goes on where a step is changed or a phone is let in between."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from flask import session

RUN = "teach_back_run"
OF_A_STEP = re.compile(r"(mark|words)([1-9]\d?)")
CARRIED = ("where", "unit", "decision", "note")


def keep_run(client_id: int, n: int, typed: Mapping[str, str], at: int) -> None:
    """Keeps what was typed for the page's next showing, which begins at step `at` (0: none in particular)."""
    session[RUN] = {"of": [client_id, n], "typed": dict(typed), "at": at}


def taken_run(client_id: int, n: int) -> tuple[dict[str, str], int]:
    """Gives what was kept, once."""
    kept: dict[str, Any] | None = session.get(RUN)
    if kept is None or kept["of"] != [client_id, n]:
        return {}, 0
    del session[RUN]
    return dict(kept["typed"]), int(kept["at"])


def run_of(typed: Mapping[str, str], step: int = 0, made: int = 1) -> dict[str, str]:
    """Picks what a teach-back under way holds; where `step` became `made` steps, those are to be marked anew."""
    kept = {name: typed[name] for name in CARRIED if name in typed}
    kept |= {name: value for name, value in typed.items() if name.startswith("mark_")}  # what is done with the unit on
    for name, value in typed.items():
        if found := OF_A_STEP.fullmatch(name):
            kind, k = found[1], int(found[2])
            if k != step:
                kept[f"{kind}{k + made - 1 if step and k > step else k}"] = value
    return kept
