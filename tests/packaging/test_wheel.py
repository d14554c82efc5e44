"""A wheel built from the checkout, installed in an empty environment somewhere else, runs there whole."""

from __future__ import annotations

import contextlib
import http.client
import os
import re
import socket
import subprocess
import sys
import venv
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ports import free_port

# the wheel is tried away from the checkout and without any of its variables
CLEAN = {key: value for key, value in os.environ.items() if not key.startswith(("WATTLEBIRD_", "PYTHON"))}


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Builds the wheel as `make wheel` does."""
    folder = tmp_path_factory.mktemp("dist")
    options = ["--quiet", "--disable-pip-version-check", "--no-deps", "--no-build-isolation"]
    subprocess.run([sys.executable, "-m", "pip", "wheel", *options, "-w", str(folder), str(root)], check=True)
    [built] = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def python(root: Path, wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Installs the wheel and the pinned packages, nothing else, in an empty environment elsewhere."""
    folder = tmp_path_factory.mktemp("elsewhere") / "venv"
    venv.create(folder)
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    # the pip that is here installs there: unpacking another one takes seconds
    pip = [sys.executable, "-m", "pip", "--python", str(python), "install"]
    pip += ["--quiet", "--disable-pip-version-check", "--no-compile"]
    pinned = ["--only-binary", ":all:", "--require-hashes", "-r", str(root / "requirements.txt")]
    subprocess.run([*pip, *pinned], check=True, env=CLEAN, cwd=folder)
    subprocess.run([*pip, "--no-deps", str(wheel)], check=True, env=CLEAN, cwd=folder)
    return python


def names_below(folder: Path) -> set[str]:
    """Lists a folder's files as they are named inside the wheel."""
    return {file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file()}


def test_wheel_holds_templates_static_files_and_vendored_modules(root: Path, wheel: Path) -> None:
    """Nothing that a page needs stays behind, and no test or secret comes along."""
    inside = set(zipfile.ZipFile(wheel).namelist())
    assert {f"webapp/templates/{name}" for name in names_below(root / "templates")} <= inside
    assert {f"webapp/static/{name}" for name in names_below(root / "static")} <= inside
    assert {"webapp/static/vendor/lean-qr.mjs", "webapp/static/vendor/atkinson-hyperlegible-next.woff2"} <= inside
    texts = {f"webapp/{name}" for name in names_below(root / "webapp") if name.endswith((".toml", ".json"))}
    assert texts <= inside
    assert not [name for name in inside if name.startswith(("tests/", "instance/")) or name.endswith(".db")]


@pytest.fixture(scope="module")
def demo(python: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """Runs the installed console command's demo until it answers; gives its port."""
    port = free_port()
    folder = tmp_path_factory.mktemp("data")
    command = python.with_name("wattlebird.exe" if os.name == "nt" else "wattlebird")
    environment = CLEAN | {"WATTLEBIRD_DATA": str(folder / "clinic")}
    with (folder / "out.txt").open("wb") as out:
        process = subprocess.Popen(
            [str(command), "demo", "--port", str(port)], cwd=folder, env=environment,
            stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT,
        )
        try:
            assert answers(process, port), (folder / "out.txt").read_text()
            yield port
        finally:
            process.terminate()
            process.wait(30)


def answers(process: subprocess.Popen[bytes], port: int) -> bool:
    """Waits until the server takes a connection, or has ended."""
    while process.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
        except OSError:
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(0.2)
        else:
            return True
    return False


def fetch(port: int, path: str) -> tuple[int, str, bytes]:
    """Gets a page: its status, its type and its bytes."""
    with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as connection:
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.headers.get_content_type(), answer.read()


def test_installed_wheel_serves_pages_and_their_files(demo: int, python: Path) -> None:
    """Every file that the sign-in page and its style sheets name is there, and comes from the installed package."""
    where = subprocess.run(
        [str(python), "-c", "import webapp.app as app; print(app.__file__)"],
        check=True, capture_output=True, text=True, env=CLEAN, cwd=python.parent,
    ).stdout
    assert "site-packages" in where
    status, kind, page = fetch(demo, "/clinic/sign-in")
    assert (status, kind) == (200, "text/html")
    linked = re.findall(r'(?:href|src)="(/static/[^"#?]+)', page.decode())
    assert linked
    for path in [*linked, "/static/vendor/lean-qr.mjs", "/static/vendor/atkinson-hyperlegible-next.woff2"]:
        assert fetch(demo, path)[0] == 200, path
