"""Making and serving a practice from the console, as a person at a terminal does."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from tests.ports import free_port
from tests.waiting import until

COMMAND = [sys.executable, "-m", "webapp.cli"]
PASSWORD = "green kettle under nine stairs\n"


def run(*words: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run([*COMMAND, *words], input=typed, capture_output=True, text=True, timeout=120, check=False)


def add_ines(folder: Path, typed: str = PASSWORD) -> subprocess.CompletedProcess[str]:
    return run("add-therapist", "ines", "--name", "Ines Wallaroo", "--role", "lead", "--data", str(folder), typed=typed)


def test_serve_says_all_that_is_missing(tmp_path: Path) -> None:
    """Without a key, a first user and a public address nothing is served; each gets a line with how it is made."""
    refused = run("serve", "--data", str(tmp_path), "--public-url", "http://clinic.example")
    lines = refused.stderr.strip().splitlines()
    assert refused.returncode == 2
    assert len(lines) == 3
    assert f"wattlebird secret --data {tmp_path}" in lines[0]
    assert "wattlebird add-therapist NAME --role lead" in lines[1]
    assert "--public-url https://" in lines[2]


def test_secret_is_made_once_and_for_its_owner(tmp_path: Path) -> None:
    """The key is long, readable by its owner alone, and never overwritten."""
    assert run("secret", "--data", str(tmp_path)).returncode == 0
    file = tmp_path / "secret_key"
    made = file.read_text()
    assert len(made.strip()) == 64
    assert file.stat().st_mode & 0o077 == 0
    again = run("secret", "--data", str(tmp_path))
    assert again.returncode == 2
    assert "is there already" in again.stderr
    assert file.read_text() == made


@pytest.mark.parametrize(("typed", "reason"), [
    ("short\n", "at least 15"), ("passwordpassword\n", "too easy"), ("\n", "at least 15"),
])
def test_weak_password_adds_nobody(tmp_path: Path, typed: str, reason: str) -> None:
    """A weak password is refused in one line, and nobody is added."""
    refused = add_ines(tmp_path, typed)
    assert refused.returncode == 2
    assert reason in refused.stderr
    assert "Traceback" not in refused.stderr
    assert add_ines(tmp_path).returncode == 0


def test_name_is_taken_once(tmp_path: Path) -> None:
    """The same sign-in name is not given twice."""
    assert add_ines(tmp_path).returncode == 0
    again = add_ines(tmp_path)
    assert again.returncode == 2
    assert "taken" in again.stderr


def test_practice_is_served_until_told_to_end(tmp_path: Path) -> None:
    """With a key and a person the sign-in page comes up on the port asked for; SIGTERM ends it in order."""
    run("secret", "--data", str(tmp_path))
    add_ines(tmp_path)
    port = free_port()
    serving = subprocess.Popen([*COMMAND, "serve", "--data", str(tmp_path), "--port", str(port)],
                               stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        until(lambda: _shows_sign_in(port) or serving.poll() is not None, within_s=60)
        assert serving.poll() is None
        serving.send_signal(signal.SIGTERM)
        said, _ = serving.communicate(timeout=60)
    finally:
        serving.kill()
    assert serving.returncode == 0
    assert f"http://127.0.0.1:{port}" in said


def test_taken_port_is_said(tmp_path: Path) -> None:
    """A port that somebody else has is named in one line."""
    run("secret", "--data", str(tmp_path))
    add_ines(tmp_path)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        refused = run("serve", "--data", str(tmp_path), "--port", str(taken.getsockname()[1]))
    assert refused.returncode == 2
    assert "Cannot listen" in refused.stderr
    assert "Traceback" not in refused.stderr


def test_wrong_settings_file_is_named(tmp_path: Path) -> None:
    """A settings file with an unknown name, or one that is no TOML, gets one line."""
    for content in ("coluor = 1\n", "public_url = \n"):
        (tmp_path / "settings.toml").write_text(content)
        refused = run("serve", "--data", str(tmp_path))
        assert refused.returncode == 2
        assert refused.stderr.startswith("The settings cannot be used:")
        assert "Traceback" not in refused.stderr


def _shows_sign_in(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/clinic/", timeout=5) as page:
            return b"Sign in" in page.read()
    except (urllib.error.URLError, ConnectionError, TimeoutError):
        return False
