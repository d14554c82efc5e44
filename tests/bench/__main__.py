"""Runs the benchmarks: each tests/bench/bench_*.py has a `run()` that prints ratios, which hold on other machines too.

`python -m tests.bench` runs all, `python -m tests.bench timetable packs` only bench_timetable and bench_packs.
"""

from __future__ import annotations

import sys
import time
from importlib import import_module
from pathlib import Path

FOLDER = Path(__file__).resolve().parent


def main(names: list[str]) -> int:
    """Runs the named benchmarks, or all of them; says which name is unknown."""
    known = sorted(file.stem.removeprefix("bench_") for file in FOLDER.glob("bench_*.py"))
    if unknown := [name for name in names if name not in known]:
        print(f"No benchmark called {', '.join(unknown)}; there are: {', '.join(known)}", file=sys.stderr)
        return 2
    for name in names or known:
        print(f"== {name}", flush=True)
        began = time.perf_counter()
        import_module(f"tests.bench.bench_{name}").run()
        print(f"   ({time.perf_counter() - began:.0f} s)", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
