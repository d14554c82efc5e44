"""Puts templates and static files, vendored modules included, inside the package of a wheel."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CustomBuildHook(BuildHookInterface[Any]):
    """Completes a wheel; an editable install reads the folders beside the package instead."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Adds the folders, and stops with what to do when a vendored file is missing."""
        if version == "editable":
            return
        root = Path(self.root)
        vendor = root / "static" / "vendor"
        listing = vendor / "files.json"
        names = json.loads(listing.read_text()) if listing.is_file() else ["files.json"]
        missing = [name for name in names if not (vendor / name).is_file()]
        if missing:
            raise RuntimeError(f"static/vendor lacks {', '.join(missing)}: run 'make vendor' first")
        if self.target_name == "wheel":
            for folder in ("templates", "static"):
                build_data["force_include"][str(root / folder)] = f"webapp/{folder}"
