"""Runs an expression over one JavaScript module in Node.js and gives its value."""

from __future__ import annotations

import json
import subprocess
from typing import Any

from tests.conftest import NODE, ROOT


def node_value(module: str, expression: str, **given: Any) -> Any:
    """Evaluates an expression over `m`, the module at a path in the checkout, and over what is given by name."""
    names = "".join(f"const {name} = {json.dumps(value)};" for name, value in given.items())
    address = (ROOT / module).as_uri()
    code = f"import * as m from {json.dumps(address)}; {names} console.log(JSON.stringify({expression}) ?? 'null')"
    run = subprocess.run(
        [NODE, "--input-type=module"], input=code, capture_output=True, text=True, timeout=280, check=False
    )
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)
