"""Installs the pinned packages of a requirements file and the project itself, and says how far it is.

Every file is checked against its committed SHA-256 and nothing is compiled. Runs with any Python ≥ 3.11 that has pip.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PIP = [sys.executable, "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--progress-bar", "off"]
LOCKED = ["--only-binary", ":all:", "--require-hashes", "-r"]
ARRIVED = re.compile(r"(?:Collecting|Processing|Requirement already satisfied:) (?:\S*/)?([\w.-]+?)(?:==|-)(\d[^-; ]*)")
PROJECT = ["--quiet", "--no-deps", "--no-build-isolation", "-e", str(ROOT)]


def run(arguments: list[str]) -> Iterator[str]:
    """Runs pip, gives each line it prints, and stops with all of them when it fails."""
    said: list[str] = []
    nothing, pipe = subprocess.DEVNULL, subprocess.PIPE
    with subprocess.Popen(
        [*PIP, *arguments], cwd=ROOT, text=True, stdin=nothing, stdout=pipe, stderr=subprocess.STDOUT
    ) as pip:
        for line in pip.stdout or ():
            said.append(line)
            yield line
    if pip.returncode:
        raise SystemExit("".join(said[-40:]) + "Installing failed: see pip's message above")


def main(name: str) -> None:
    """Installs what a requirements file pins, one line for each package, then the project in place."""
    of_n = len(re.findall(r"^[a-z][^ ]*==", (ROOT / name).read_text(), re.M))
    done_n = 0
    print(f"Installing the packages of {name} …", flush=True)
    for line in run([*LOCKED, name]):
        if line.startswith("Ignoring "):  # pinned for another system or Python
            of_n -= 1
        elif found := ARRIVED.match(line):
            done_n += 1
            print(f"  {done_n}/{of_n} {found[1]} {found[2]}", flush=True)
        elif line.startswith("Installing collected packages"):
            print("  all here and checked; unpacking …", flush=True)
    for line in run(PROJECT):
        print(line, end="")


if __name__ == "__main__":
    main(sys.argv[1])
