"""How far off its time a cue is heard, session-long: recorded from a real browser, beside two plain timers.

An hour in full: 30 minutes in front, 12 with the page held up at random for 300 ms, 12 with its tab hidden. The setting
WATTLEBIRD_BENCH_MINUTES makes it shorter (10 is enough to see a fault). The results, dated, lie in instance/bench/.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import BrowserContext, Page, sync_playwright

from tests.bench.tape import Tape, Times, onsets_s, taping
from tests.browser.recorder import SoundingChromium, SoundServer, sounding_browser
from tests.browser.sound_desk import sound_desk
from tests.waiting import until

FULL_MINUTES = 54.0
PARTS = {"in front": 30.0, "held up for 300 ms at random": 12.0, "tab hidden": 12.0}
EVERY_MS, APART_MS, IN_MS = 2000, 600, 3000
HZ = {"player": 3000, "interval": 4000, "chain": 5000}
P99_MS, WORST_MS, GROWN_MS, JUDGED_BELOW_LOAD = 5.0, 40.0, 20.0, 1.0
RESULTS = Path(__file__).resolve().parents[2] / "instance" / "bench" / "sound_time.txt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """How one way of keeping time did: each onset's error, the constant part taken out; what is missing or double."""

    late_ms: Times
    missing: int
    double: int

    def grown_ms(self) -> float:
        """Gives how much later the last sixth is than the first."""
        sixth = max(1, len(self.late_ms) // 6)
        return float(np.median(self.late_ms[-sixth:]) - np.median(self.late_ms[:sixth]))

    def words(self) -> str:
        size = np.abs(self.late_ms)
        p50, p99 = np.percentile(size, [50, 99])
        return (
            f"median {p50:.2f}, p99 {p99:.2f}, worst {size.max():.1f} ms off; grown by {self.grown_ms():+.1f} ms; "
            f"{self.missing} missing, {self.double} double of {len(size) + self.missing}"
        )


def kept_time(heard_s: Times, zero_s: float, count: int) -> Kept:
    """Compares what was heard, in seconds of this machine's clock, with a grid that begins at `zero_s`."""
    every_s = EVERY_MS / 1000
    rough = heard_s - zero_s
    rough = rough - np.median(rough - every_s * np.round(rough / every_s))
    places = np.round(rough / every_s).astype(int)
    late_ms = (rough - every_s * places) * 1000
    inside = (places >= 0) & (places < count)
    different = np.unique(places[inside])
    return Kept(late_ms=late_ms[inside], missing=count - len(different), double=int(inside.sum()) - len(different))


def page_clock(page: Page) -> float:
    """Gives this machine's clock minus the page's, in seconds; of several readings the quickest."""
    readings = []
    for _ in range(20):
        before = time.monotonic()
        page_s = float(page.evaluate("performance.now()")) / 1000
        after = time.monotonic()
        readings.append((after - before, (before + after) / 2 - page_s))
    return min(readings)[1]


def measure(tape: Tape, zero_s: float, count: int) -> dict[str, Kept]:
    """Finds each way's bursts on the tape and puts them on this machine's clock: the recorder's drift is out."""
    first, second = tape.clock()
    pcm = tape.pcm()
    starts = {"player": 0.0, "interval": APART_MS / 1000, "chain": 2 * APART_MS / 1000}
    return {
        way: kept_time(first + second * onsets_s(pcm, hz), zero_s + starts[way], count) for way, hz in HZ.items()
    }


class TimingPage:
    """The page with the three ways, in a browser that plays into the recorder."""

    def __init__(self, context: BrowserContext, server: SoundServer, chromium: SoundingChromium, address: str) -> None:
        self.context, self.server, self.chromium = context, server, chromium
        self.address = address.replace("tests/browser/sound_page", "tests/bench/timing_page")

    def run(
        self, minutes: float, *, block_ms: int = 0, hidden: bool = False
    ) -> tuple[dict[str, Kept], list[str], float]:
        """Runs all three for a while; gives how they did, what stalls were told, and the highest load."""
        page, count = self.context.new_page(), int(minutes * 60_000 / EVERY_MS)
        page.goto(self.address)
        page.wait_for_function("window.timing")
        run = {"everyMs": EVERY_MS, "count": count, "hz": HZ, "apartMs": APART_MS, "inMs": IN_MS, "blockMs": block_ms}
        page.evaluate("run => { window.timing.run = run; }", run)
        with taping(self.server.env) as tape:
            page.click("#start")
            until(self.chromium.makes_sound, 20)
            self.chromium.make_realtime()
            zero_s = float(page.evaluate("window.timing.zeroMs")) / 1000 + page_clock(page)
            with self._in_front_of(page, hidden):
                load = _load_until(page, minutes)
            tape.runs_out()
            stalls = list(page.evaluate("window.timing.stalls"))
        page.close()
        return measure(tape, zero_s, count), stalls, load

    @contextmanager
    def _in_front_of(self, page: Page, hidden: bool) -> Iterator[None]:
        front = self.context.new_page() if hidden else None
        if front:
            front.bring_to_front()
            page.wait_for_function("document.visibilityState === 'hidden'", polling=100)
        yield
        if front:
            front.close()


def _load_until(page: Page, minutes: float) -> float:
    loads = [os.getloadavg()[0]]

    def ended() -> bool:
        loads.append(os.getloadavg()[0])
        return bool(page.evaluate("window.timing.ended"))

    until(ended, minutes * 60 + 60, every_s=5)
    return max(loads)


def verdict(player: Kept, load: float) -> list[str]:
    """Says what was not kept; times are judged on a quiet machine only, cues always."""
    wrong = []
    if player.missing or player.double:
        wrong.append("cues missing or double")
    if abs(player.grown_ms()) > GROWN_MS:
        wrong.append(f"grown by more than {GROWN_MS:g} ms")
    size = np.abs(player.late_ms)
    if load < JUDGED_BELOW_LOAD and (np.percentile(size, 99) > P99_MS or size.max() > WORST_MS):
        wrong.append(f"p99 above {P99_MS:g} ms or worst above {WORST_MS:g} ms")
    return wrong


def report(part: str, minutes: float, kept: Mapping[str, Kept], stalls: list[str], load: float) -> list[str]:
    """Writes what one part showed, and gives what was wrong."""
    wrong = verdict(kept["player"], load) + ([f"false alarms: {', '.join(stalls)}"] if stalls else [])
    times = "times judged" if load < JUDGED_BELOW_LOAD else "times not judged"
    head = f"{datetime.now(UTC):%Y-%m-%d %H:%M} {part}, {minutes:g} min, load up to {load:.1f} ({times})"
    lines = [f"{head}: {'; '.join(wrong) or 'as it should be'}"]
    lines += [f"  {way}: {one.words()}" for way, one in kept.items()]
    _write("\n".join(lines))
    return wrong


def _write(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()
    RESULTS.parent.mkdir(parents=True, exist_ok=True)
    with RESULTS.open("a") as file:
        file.write(text + "\n")


def run() -> None:
    """Prints the figures, and fails where a cue was missing, double or later and later."""
    share = float(os.environ.get("WATTLEBIRD_BENCH_MINUTES", FULL_MINUTES)) / FULL_MINUTES
    how: dict[str, dict[str, Any]] = {"held up for 300 ms at random": {"block_ms": 300}, "tab hidden": {"hidden": True}}
    wrong: list[str] = []
    with sounding_browser() as (server, chromium), sync_playwright() as tool, sound_desk({}) as address:
        browser = tool.chromium.connect_over_cdp(chromium.address, no_defaults=True)
        timing = TimingPage(browser.contexts[0], server, chromium, address)
        for part, minutes in PARTS.items():
            lasts = minutes * share
            wrong += report(part, lasts, *timing.run(lasts, **how.get(part, {})))
        browser.close()
    if wrong:
        raise SystemExit("sound_time: " + "; ".join(wrong))
