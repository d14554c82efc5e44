"""The console commands about a whole practice, run as a person runs them."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

from tests.ports import free_port

ROOT = Path(__file__).resolve().parents[2]


def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "webapp.cli", *map(str, arguments)], cwd=ROOT, capture_output=True,
                          text=True, timeout=120, check=False)


def start(folder: Path, port: int) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, "-m", "webapp.cli", "demo", "--data", str(folder), "--port", str(port)],
                            cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)


def told(serving: subprocess.Popen[str]) -> str:
    """Reads what the demo says until it is open."""
    assert serving.stdout
    said = ""
    for line in serving.stdout:
        said += line
        if "Ctrl-C" in line:
            return said
    raise AssertionError(said)


def test_demo_says_where_as_whom_and_with_which_link(demo_folder: Path) -> None:
    """A second start is open within a moment: address, sign-in, a client's link; it ends cleanly when it is told to."""
    port = free_port()
    with start(demo_folder, port) as serving:
        see_it_open(serving, port)
        serving.send_signal(signal.SIGTERM)
    assert serving.returncode == 0


def see_it_open(serving: subprocess.Popen[str], port: int) -> None:
    """Reads what the demo says and asks for its sign-in page; ends it where it is not as it should be."""
    try:
        said = told(serving)
        address = f"http://127.0.0.1:{port}"
        assert f"{address}/clinic/" in said
        assert "imke" in said
        assert re.search(rf"{address}/join#[a-z2-7]{{32}}\n", said)
        with urllib.request.urlopen(f"{address}/clinic/sign-in") as answer:
            assert answer.status == 200
    except BaseException:
        serving.kill()
        raise


def test_demo_names_a_port_that_is_taken(demo_folder: Path) -> None:
    """One clear line with another port to try, no traceback."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        ended = run("demo", "--data", demo_folder, "--port", str(port))
    assert ended.returncode == 2
    assert f"--port {port + 1}" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_demo_leaves_a_foreign_folder_alone(tmp_path: Path) -> None:
    """A folder with anything else in it is refused, with --fresh too."""
    (tmp_path / "letter.txt").write_text("mine")
    for more in ((), ("--fresh",)):
        ended = run("demo", "--data", tmp_path, *more)
        assert (ended.returncode, "--data" in ended.stderr) == (2, True)
    assert [found.name for found in tmp_path.iterdir()] == ["letter.txt"]


def test_backup_restore_and_doctor_in_a_row(demo_folder: Path, tmp_path: Path) -> None:
    """A backup is made, put back elsewhere and examined; each says what it did."""
    copy, elsewhere = tmp_path / "copy.db", tmp_path / "elsewhere"
    made = run("backup", copy, "--data", demo_folder)
    assert made.returncode == 0
    assert re.search(r"SHA-256 [0-9a-f]{64}", made.stdout)
    assert run("backup", copy, "--data", demo_folder).returncode == 2
    assert run("restore", copy, "--data", demo_folder).returncode == 2
    back = run("restore", copy, "--data", elsewhere)
    assert back.returncode == 0
    assert "sign in again" in back.stdout
    well = run("doctor", "--data", elsewhere)
    assert well.returncode == 0
    assert "The database is whole." in well.stdout
    wrong = run("doctor", "--data", tmp_path / "nothing")
    assert wrong.returncode == 1
    assert "no practice here" in wrong.stdout
