"""The real server as a process of its own, which tests start, stop and kill."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from multiprocessing.process import BaseProcess
from pathlib import Path

from tests.browser.serve_clinic import main as serve
from tests.forks import FORKS
from tests.waiting import until

ROOT = Path(__file__).resolve().parents[2]


class ClinicServer:
    """One server on the loopback address over a data folder; `public_url` is what links and cookies go by."""

    def __init__(self, data_dir: Path, port: int, public_url: str = "") -> None:
        self.data_dir, self.port = data_dir, port
        self.public_url = public_url or f"http://127.0.0.1:{port}"
        self._process: BaseProcess | subprocess.Popen[bytes] | None = None

    def starts(self) -> None:
        """Starts the server and waits until it answers."""
        self._process = self._begins()
        until(self._answers_or_ended, within_s=60)
        assert self._runs(), self.log()

    def _begins(self) -> BaseProcess | subprocess.Popen[bytes]:
        return self._starts_anew() if (self.data_dir / "release").is_file() else self._is_forked()

    def _is_forked(self) -> BaseProcess:
        process = FORKS.Process(target=serve, args=(self.data_dir, self.port, self.public_url))
        process.start()
        return process

    def _starts_anew(self) -> subprocess.Popen[bytes]:
        """For another release: what is imported already has read the release it belongs to."""
        command = [sys.executable, "-m", "tests.browser.serve_clinic", str(self.data_dir), str(self.port)]
        return subprocess.Popen([*command, self.public_url], cwd=ROOT, stdin=subprocess.DEVNULL)

    def _answers_or_ended(self) -> bool:
        return self.answers() or not self._runs()

    def _runs(self) -> bool:
        if isinstance(self._process, subprocess.Popen):
            return self._process.poll() is None
        return self._process is not None and self._process.is_alive()

    def _ends(self, how: signal.Signals) -> None:
        if not self._process or not self._process.pid or not self._runs():
            return
        os.kill(self._process.pid, how)
        if isinstance(self._process, subprocess.Popen):
            self._process.wait(20)
        else:
            self._process.join(20)
        assert not self._runs(), self.log()

    def answers(self) -> bool:
        """Tells whether somebody listens at the address."""
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/join", timeout=5) as answer:
                return int(answer.status) == 200
        except urllib.error.HTTPError:
            return True
        except OSError:
            return False

    def stops(self) -> None:
        """Stops the server as a shutdown would."""
        self._ends(signal.SIGTERM)

    def is_killed(self) -> None:
        """Ends the server as a power cut would end it."""
        self._ends(signal.SIGKILL)

    def log(self) -> str:
        """Reads what the server said."""
        return (self.data_dir / "server.log").read_text(encoding="utf-8", errors="replace")
