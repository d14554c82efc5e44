"""README.md and DEVELOPERS.md name what there is, and nothing that there is not."""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.tree import LEFT_BEHIND, ROOT
from webapp.settings import Settings

LENGTHS = {"README.md": 150, "DEVELOPERS.md": 250}


def documents() -> str:
    """Reads both documents as one text."""
    return "\n".join((ROOT / name).read_text() for name in LENGTHS)


def named(word: str) -> bool:
    """Tells whether a document names a word in code style, alone or in a longer command or path."""
    spans = re.findall(r"```.*?```|`[^`\n]+`", documents(), re.S)
    return any(re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", span) for span in spans)


def make_targets() -> set[str]:
    """Lists the commands of the Makefile."""
    lines = re.findall(r"^\.PHONY:(.*)$", (ROOT / "Makefile").read_text(), re.M)
    return {name for line in lines for name in line.split()}


def console_commands() -> set[str]:
    """Asks the console command which subcommands it has."""
    command = [sys.executable, "-m", "webapp.cli", "--help"]
    ran = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    [choices] = re.findall(r"\{([\w,-]+)\}", ran.stdout)[:1]
    return set(choices.split(","))


def folders() -> set[str]:
    """Lists the folders of the first two levels, as the map names them."""
    found = set()
    for folder in (path for path in ROOT.iterdir() if path.is_dir() and path.name not in LEFT_BEHIND):
        found.add(folder.name)
        if folder.name in {"webapp", "static", "templates", "tests"}:
            found |= {path.name for path in folder.iterdir() if path.is_dir() and path.name not in LEFT_BEHIND}
    return {name for name in found if name == ".ci" or not name.startswith(".")}


@pytest.mark.parametrize(("name", "most"), LENGTHS.items())
def test_document_is_short_enough_to_be_read(name: str, most: int) -> None:
    """The README is read in five minutes, the map in ten."""
    assert len((ROOT / name).read_text().splitlines()) <= most


def test_every_make_command_is_named() -> None:
    """Each make command is in a document, as `make …`."""
    assert {target for target in make_targets() if not named(f"make {target}")} <= {"setup-tests"}


def test_every_console_command_is_named() -> None:
    """Each subcommand is in a document, as `wattlebird …`."""
    assert not {command for command in console_commands() if not named(f"wattlebird {command}")}


def test_every_setting_is_named() -> None:
    """Each setting and each environment variable is in a document."""
    variables = set(re.findall(r"\bWATTLEBIRD_[A-Z_]*[A-Z]\b", (ROOT / "webapp" / "settings.py").read_text()))
    fields = {field.name for field in dataclasses.fields(Settings)}
    assert not {name for name in fields | variables if not named(name)}


def test_every_folder_is_named() -> None:
    """Each folder of the first two levels is on the map."""
    assert not {name for name in folders() if not re.search(rf"(?<![\w-]){re.escape(name)}/", documents())}


def test_documents_name_no_command_that_is_not_there() -> None:
    """Every `make …` and `wattlebird …` in the documents exists."""
    code = " ; ".join(re.findall(r"```.*?```|`[^`\n]+`", documents(), re.S))
    made = set(re.findall(r"\bmake (?:[A-Z]+=\S+ )*([a-z][a-z-]*)", code))
    run = set(re.findall(r"(?<![\w/.])wattlebird ([a-z][a-z-]*)", code))
    assert made <= make_targets()
    assert run <= console_commands()


def test_links_and_pictures_lead_somewhere() -> None:
    """Each relative link and picture in the documents is a file of the checkout."""
    for name in LENGTHS:
        for target in re.findall(r"\]\(([^)#\s]+)", (ROOT / name).read_text()):
            assert "://" in target or (ROOT / Path(target)).exists(), f"{name}: {target}"
