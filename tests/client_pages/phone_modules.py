"""Runs the phone's own modules in Node.js: a test gives an expression, and gets its value."""

from __future__ import annotations

import json
import subprocess
from typing import Any

from tests.conftest import NODE, ROOT


def evaluate(module: str, expression: str, **given: Any) -> Any:
    """Evaluates an expression over `m`, a module of static/parts, and over what is given by name."""
    names = "".join(f"const {name} = {json.dumps(value)};" for name, value in given.items())
    address = (ROOT / "static" / "parts" / f"{module}.js").as_uri()
    code = f"import * as m from {json.dumps(address)}; {names} console.log(JSON.stringify({expression}) ?? 'null')"
    command = [str(NODE), "--input-type=module", "-e", code]
    run = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)
