"""What really comes out of a browser: a private sound server, Chromium playing into it, and the recording.

Chromium is started here and joined over its debugging port, because the test tool's own start mutes it and pretends
that every page is visible. Sound server, recorder and browser run with real-time priority where the machine allows it;
without it a busy machine, not the page, decides when a sound comes. The threads that make sound come before those of
pages, as on phones: with one priority for both a page that keeps busy takes turns with its own sound, which runs dry.
Where it ran dry all the same, the sound server's log says so, and the recording says nothing of the page.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.browser.phone import WHOLE_CHROMIUM
from tests.waiting import until

RATE_HZ = 48_000
TAIL_S = 0.6  # what has been played may still be on its way
SERVER_PRIORITY, RECORDER_PRIORITY, SOUND_PRIORITY, PAGE_PRIORITY = 20, 15, 13, 10
SOUND_PROCESS, SOUND_THREAD = b"AudioService", "AudioOutput"  # as Chromium names them
RAN_DRY = "Implicit underrun"  # as the sound server says it: it wanted more than the browser had given it
CHROMIUM_ARGUMENTS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=document-user-activation-required",
    "--remote-debugging-port=0",
)


class RanDryError(AssertionError):
    """The machine kept the browser's sound from coming in time: the recording has gaps that no page made."""


def _threads(pid: int) -> Iterator[tuple[int, str]]:
    """Lists the threads of a process with their names."""
    for task in Path("/proc").glob(f"{pid}/task/*"):
        with contextlib.suppress(OSError):
            yield int(task.name), (task / "comm").read_text()


def _prefer(threads: Iterable[int], priority: int) -> bool:
    """Gives threads real-time priority; False where that is refused."""
    try:
        for thread in threads:
            with contextlib.suppress(ProcessLookupError):
                os.sched_setscheduler(thread, os.SCHED_RR, os.sched_param(priority))
    except (PermissionError, AttributeError):
        return False
    return True


def _make_realtime(pid: int, priority: int) -> bool:
    return _prefer([thread for thread, _ in _threads(pid)], priority)


def _start(command: list[str], env: dict[str, str], log: Path) -> subprocess.Popen[bytes]:
    with log.open("ab") as errors:
        return subprocess.Popen(command, env=env, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=errors)


def _end(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(10)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(10)


@dataclass(slots=True, kw_only=True)
class Recording:
    """What was heard: mono samples at ``RATE_HZ``; ``began_s`` is the first's wall clock, within about 0.1 s."""

    samples: npt.NDArray[np.float64]
    began_s: float
    load: tuple[float, float]
    realtime: bool
    ran_dry: int


class Recorder:
    """Reads the monitor of the sink from a pipe and notes when the bytes came; `ran_dry` counts the gaps in all."""

    def __init__(self, env: dict[str, str], ran_dry: Callable[[], int]) -> None:
        self._process = subprocess.Popen(
            [
                "parec",
                "-d",
                "cue.monitor",
                "--format=s16le",
                f"--rate={RATE_HZ}",
                "--channels=1",
                "--latency-msec=50",
                "--raw",
            ],
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        self.realtime = _make_realtime(self._process.pid, RECORDER_PRIORITY)
        self._ran_dry = ran_dry
        self._ran_dry_before = ran_dry()
        self._parts: list[bytes] = []
        self._bytes = 0
        self._began_s = float("inf")
        self._load = os.getloadavg()[0]
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()
        # an idle sink renders ahead: the first bytes may be two seconds late
        until(lambda: self._bytes > 0, 10)

    def _read(self) -> None:
        assert self._process.stdout is not None
        pipe = self._process.stdout.fileno()
        while part := os.read(pipe, 1 << 16):
            self._parts.append(part)
            self._bytes += len(part)
            self._began_s = min(self._began_s, time.time() - self._bytes / 2 / RATE_HZ)

    def seconds(self) -> float:
        """Returns how much has been recorded."""
        return self._bytes / 2 / RATE_HZ

    def finish(self) -> Recording:
        """Ends the recording."""
        if self._process.poll() is None:
            until_s = self.seconds() + TAIL_S
            until(lambda: self.seconds() > until_s, 10)
            _end(self._process)
        self._thread.join(10)
        if self._process.stdout is not None:
            self._process.stdout.close()
        pcm = np.frombuffer(b"".join(self._parts)[: self._bytes // 2 * 2], dtype="<i2")
        return Recording(
            samples=pcm.astype(np.float64) / 32768,
            began_s=self._began_s,
            load=(self._load, os.getloadavg()[0]),
            realtime=self.realtime,
            ran_dry=self._ran_dry() - self._ran_dry_before,
        )

    def finish_whole(self) -> Recording:
        """Ends a recording that should have no gap; raises RanDryError where the machine made one."""
        recording = self.finish()
        if recording.ran_dry:
            raise RanDryError(f"the sound ran dry {recording.ran_dry} times (load {recording.load[0]:.1f})")
        return recording


class SoundServer:
    """A private PulseAudio with one silent sink, ``cue``."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        socket = folder / "sock"
        for name in ("run", "home"):
            (folder / name).mkdir(mode=0o700)
        self.env = {
            **{name: value for name, value in os.environ.items() if not name.startswith("PULSE_")},
            "HOME": str(folder / "home"),
            "XDG_RUNTIME_DIR": str(folder / "run"),
            "PULSE_RUNTIME_PATH": str(folder / "run"),
        }
        command = ["pulseaudio", "-n", "--high-priority=no", "--realtime=no", "--daemonize=no", "--exit-idle-time=-1"]
        command += ["--disallow-exit", "--use-pid-file=no", "--log-target=stderr", "--log-level=debug"]
        command += ["-L", f"module-native-protocol-unix socket={socket} auth-anonymous=1"]
        command += ["-L", f"module-null-sink sink_name=cue rate={RATE_HZ} channels=2 format=s16le"]
        self._process = _start(command, self.env, folder / "pulse.log")
        self.env |= {"PULSE_SERVER": f"unix:{socket}", "PULSE_SINK": "cue"}
        until(self._answers, 15)
        # after the start: it resets its own priority
        self.realtime = _make_realtime(self._process.pid, SERVER_PRIORITY)

    def _answers(self) -> bool:
        assert self._process.poll() is None, (self._folder / "pulse.log").read_text()
        asked = subprocess.run(["pactl", "info"], env=self.env, capture_output=True, check=False)
        return asked.returncode == 0

    def _ran_dry(self) -> int:
        return (self._folder / "pulse.log").read_text(errors="replace").count(RAN_DRY)

    @contextlib.contextmanager
    def recording(self) -> Iterator[Recorder]:
        """Records while the block runs; `finish` inside it gives the recording."""
        recorder = Recorder(self.env, self._ran_dry)
        try:
            yield recorder
        finally:
            recorder.finish()

    def close(self) -> None:
        """Ends the server."""
        _end(self._process)


class SoundingChromium:
    """A Chromium that plays into a sound server and really hides hidden pages; join it at ``address``."""

    def __init__(self, folder: Path, env: dict[str, str]) -> None:
        profile = folder / "profile"
        self._process = _start(
            [
                _chromium(),
                *CHROMIUM_ARGUMENTS,
                f"--user-data-dir={profile}",
                "about:blank",
            ],
            env,
            folder / "chromium.log",
        )
        self._port_file = profile / "DevToolsActivePort"
        until(self._answers, 30)
        self.address = f"http://127.0.0.1:{self._port()}"

    def _port(self) -> int:
        return int(self._port_file.read_text().splitlines()[0])

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self._port()}/json/version", timeout=1) as answer:
                return "webSocketDebuggerUrl" in json.load(answer)
        except (OSError, ValueError, IndexError):
            return False

    def make_realtime(self) -> None:
        """Gives the browser real-time priority, and more of it to what makes sound than to pages."""
        for pid in self._family():
            _make_realtime(pid, SOUND_PRIORITY if self._is_sound(pid) else PAGE_PRIORITY)
        _prefer(self._sound_threads(), SOUND_PRIORITY)

    def makes_sound(self) -> bool:
        """Tells whether a page has begun to; what makes it can be given a priority then."""
        return self._sound_threads() != []

    def _sound_threads(self) -> list[int]:
        return [one for pid in self._family() for one, name in _threads(pid) if name.startswith(SOUND_THREAD)]

    @staticmethod
    def _is_sound(pid: int) -> bool:
        try:
            return SOUND_PROCESS in Path(f"/proc/{pid}/cmdline").read_bytes()
        except OSError:
            return False

    def _family(self) -> list[int]:
        """The browser's process and all its descendants."""
        parents: dict[int, int] = {}
        for stat in Path("/proc").glob("[0-9]*/stat"):
            with contextlib.suppress(OSError):
                fields = stat.read_text().rpartition(")")[2].split()
                parents[int(stat.parent.name)] = int(fields[1])
        family = [self._process.pid]
        for pid in family:
            family += [child for child, parent in parents.items() if parent == pid]
        return family

    def close(self) -> None:
        """Ends the browser."""
        _end(self._process)


def _chromium() -> str:
    if WHOLE_CHROMIUM:
        return WHOLE_CHROMIUM
    raise FileNotFoundError("no Chromium on this machine: the tests' set-up installs it")


@contextlib.contextmanager
def sounding_browser() -> Iterator[tuple[SoundServer, SoundingChromium]]:
    """Gives a sound server and a Chromium that plays into it, and ends both."""
    with (
        tempfile.TemporaryDirectory(prefix="sound-", ignore_cleanup_errors=True) as name,
        contextlib.ExitStack() as ending,
    ):
        server = SoundServer(Path(name))
        ending.callback(server.close)
        chromium = SoundingChromium(Path(name), server.env)
        ending.callback(chromium.close)
        yield server, chromium
