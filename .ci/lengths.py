"""Reports what has grown long, as something to think about: it never fails."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MOST_LINES = {"webapp/**/*.py": 300, "static/**/*.js": 200}
MOST_FUNCTION_LINES = 30


def own_files(pattern: str) -> Iterator[Path]:
    """Lists the files of a pattern without the vendored ones."""
    return (file for file in sorted(ROOT.glob(pattern)) if "vendor" not in file.parts)


def long_files() -> Iterator[str]:
    """Names each file that would better be split by noun."""
    for pattern, most in MOST_LINES.items():
        for file in own_files(pattern):
            lines = len(file.read_text(encoding="utf-8").splitlines())
            if lines > most:
                yield f"{file.relative_to(ROOT)}: {lines} lines (aim: {most})"


def long_functions() -> Iterator[str]:
    """Names each function that does more than can be seen at once."""
    for file in own_files("webapp/**/*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lines = (node.end_lineno or node.lineno) - node.lineno + 1
                if lines > MOST_FUNCTION_LINES:
                    yield f"{file.relative_to(ROOT)}:{node.lineno}: {node.name} has {lines} lines (aim: 5 to 20)"


if __name__ == "__main__":
    for line in (*long_files(), *long_functions()):
        print(line)
