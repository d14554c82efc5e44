"""The pins: every package by version and checksum, no address anywhere."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

REQUIREMENTS = ("requirements.txt", "requirements-test.txt", "requirements-bench.txt")


@pytest.mark.parametrize("name", [*REQUIREMENTS, "package-lock.json", "package.json", ".npmrc", "pyproject.toml"])
def test_no_lock_or_manifest_holds_an_address(root: Path, name: str) -> None:
    """A lock file names versions and checksums, never a host."""
    text = (root / name).read_text()
    assert "://" not in text
    assert not re.search(r"\bindex-url|\bregistry\s*=", text)


@pytest.mark.parametrize("name", REQUIREMENTS)
def test_every_python_package_is_pinned_and_hashed(root: Path, name: str) -> None:
    """Each requirement has one exact version and at least one SHA-256."""
    entries = (root / name).read_text().replace("\\\n", " ").splitlines()
    assert len(entries) > 10
    for entry in entries:
        assert re.match(r"[a-z0-9.-]+==[\w.+]+ ( *; .+? )? *--hash=sha256:[0-9a-f]{64}", entry), entry


def test_each_file_of_requirements_holds_the_one_before(root: Path) -> None:
    """What is tested and measured is what runs: the files pin the same versions."""
    runtime, test, bench = (set(re.findall(r"^\S+==\S+", (root / name).read_text(), re.M)) for name in REQUIREMENTS)
    assert runtime < test < bench


def test_every_npm_package_is_hashed(root: Path) -> None:
    """npm installs a package without a checksum and says nothing, so none may lack it."""
    packages = json.loads((root / "package-lock.json").read_text())["packages"]
    for name, entry in packages.items():
        assert not name or entry["integrity"].startswith("sha512-"), name
    wanted = json.loads((root / "package.json").read_text())
    for name, version in (wanted["dependencies"] | wanted["devDependencies"]).items():
        assert packages[f"node_modules/{name}"]["version"] == version
