"""How surely and how fast the reading page reads a loop of codes, from filmed frames, in a real Chromium.

Simulated lenses (tests/browser/camera.py): no moiré, no hunting for focus, no real phone; expect worse in a clinic.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from random import Random
from statistics import median

from playwright.sync_api import Playwright, sync_playwright

from tests.browser.camera import DARK, FAIR, GOOD, POOR, Sight, loop_of, write_stream
from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import add_lead
from tests.browser.returning import OfflinePhone, ReadingDesk
from tests.client.invented_clinic import make_clinic
from tests.ports import free_port

LOGS = (28, 84)  # sessions: two weeks and six, twice a day
VERSIONS = (15, 10)
SIZES = ((1280, 720), (1920, 1080))
MISSED = replace(FAIR, name="missed")  # two of five showings of a code are not seen at all
SIGHTS = (GOOD, FAIR, POOR, DARK, replace(FAIR, name="far", share=0.3), MISSED)
MISSED_SHARE, ROUNDS = 0.4, 6
TRIALS = 2
GIVEN_S, SOON_S = 30.0, 10.0
# a page's clock starts with its opening: loading the reader is in the time
SINCE = """(wanted) => new Promise((done) => {
  const place = document.querySelector('[data-count]');
  const look = () => {
    const read = JSON.parse(sessionStorage.getItem('wattlebird-read') ?? '[]').length;
    if (read >= wanted.n) done(performance.now() / 1000);
    else if (performance.now() > wanted.ms) done(null);
    else setTimeout(look, 20);
  };
  new MutationObserver(look).observe(place, { childList: true, characterData: true, subtree: true });
  const start = document.querySelector('[data-start]');
  if (!start.hidden) start.click();
  look();
})"""


def run() -> None:
    """Prints, for each lens and size, the share of loops read whole within 10 s and the time that it took."""
    print(f"{TRIALS * len(LOGS)} loops a cell (28 and 84 sessions, 400 ms a code, filmed at 10 frames a second)")
    print("times are from opening the page")
    print("lens   picture    largest code   whole within 10 s   median s   slowest s")
    with tempfile.TemporaryDirectory() as folder, _served(Path(folder)) as (tool, server):
        for size in SIZES:
            for sight in SIGHTS:
                for version in VERSIONS:
                    times = list(_trials(tool, server, replace(sight, size=size), version))
                    _print(sight.name, size, version, times)


def _print(name: str, size: tuple[int, int], version: int, times: list[float | None]) -> None:
    read = sorted(one for one in times if one is not None)
    soon = sum(one <= SOON_S for one in read)
    spread = f"{median(read):8.1f}   {read[-1]:9.1f}" if read else "   never read"
    print(f"{name:6} {size[0]}x{size[1]:<5} version {version:<6} {soon:>8} of {len(times)}      {spread}", flush=True)


def _trials(tool: Playwright, server: ClinicServer, sight: Sight, version: int) -> Iterator[float | None]:
    for sessions in LOGS:
        for trial in range(TRIALS):
            phone = OfflinePhone(server.data_dir, sessions, seed=100 * sessions + trial)
            payloads = phone.payloads(version)
            shown = _with_misses(payloads, trial) if sight.name == MISSED.name else payloads
            stream = write_stream(server.data_dir / "camera.y4m", loop_of(shown, sight, seed=trial))
            yield _seconds_to_read(tool, server, stream, len(payloads))


def _with_misses(payloads: Sequence[str], seed: int) -> list[str | None]:
    """Shows the loop some times over, as a lens sees it that misses codes by chance."""
    chance = Random(seed)
    return [None if chance.random() < MISSED_SHARE else one for _ in range(ROUNDS) for one in payloads]


def _seconds_to_read(tool: Playwright, server: ClinicServer, stream: Path, codes_n: int) -> float | None:
    desk = ReadingDesk(tool, server, stream)
    try:
        desk.reads_a_log()
        found: float | None = desk.page.evaluate(SINCE, {"n": codes_n, "ms": GIVEN_S * 1000})
        return found
    finally:
        desk.closes()


@contextmanager
def _served(folder: Path) -> Iterator[tuple[Playwright, ClinicServer]]:
    make_clinic(folder, "http://127.0.0.1:1", time.time_ns() // 1_000_000)
    add_lead(folder)
    server = ClinicServer(folder, free_port())
    server.starts()
    try:
        with sync_playwright() as tool:
            yield tool, server
    finally:
        server.stops()
