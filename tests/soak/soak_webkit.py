"""The player in WebKitGTK, recorded, as the nearest thing to an iPhone that a test can have; it is not one."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

from tests.bench.bench_sound_time import APART_MS, EVERY_MS, GROWN_MS, HZ, IN_MS, Kept, measure
from tests.bench.tape import taping
from tests.browser.recorder import SoundServer
from tests.browser.sound_desk import sound_desk
from tests.soak.webdriver import WebKit, is_here, webkit
from tests.waiting import until

LEAST_MINUTES = 0.5
STARTING_MINUTES = 0.3
RUSH_MS = 4000  # a sound server that nobody used runs ahead at first


def run(state: dict[str, Any], minutes: float) -> list[str]:
    """Plays for about the given minutes, in front and behind another tab in turn; `cues` counts over all parts."""
    if not is_here():
        return ["WebKitGTK is not on this machine: `sh .ci/system.sh soak` installs it where there is apt"]
    hidden = bool(state.get("parts", 0) % 2)
    lasts = max(LEAST_MINUTES, minutes - STARTING_MINUTES)
    with tempfile.TemporaryDirectory(prefix="webkit-", ignore_cleanup_errors=True) as name, sound_desk({}) as address:
        server = SoundServer(Path(name))
        try:
            with webkit(Path(name), server.env) as browser:
                kept, stalls, words = _plays(browser, server, address, lasts, hidden)
        finally:
            server.close()
    state["parts"] = int(state.get("parts", 0)) + 1
    state["cues"] = int(state.get("cues", 0)) + len(kept["player"].late_ms)
    print(f"  WebKitGTK, {'behind another tab' if hidden else 'in front'}; {state['cues']} cues so far")
    for way, one in kept.items():
        print(f"    {way}: {one.words()}")
    return _wrong(kept["player"], stalls, words)


def _plays(
    browser: WebKit, server: SoundServer, address: str, minutes: float, hidden: bool
) -> tuple[dict[str, Kept], list[str], int]:
    count = int(minutes * 60_000 / EVERY_MS)
    browser.opens(address.replace("tests/browser/sound_page", "tests/bench/timing_page"))
    until(lambda: browser.says("Boolean(window.timing)"), 30)
    run = {"everyMs": EVERY_MS, "count": count, "hz": HZ, "apartMs": APART_MS, "inMs": IN_MS + RUSH_MS, "blockMs": 0}
    browser.says("window.timing.run = arguments[0]", run)
    with taping(server.env) as tape:
        browser.clicks("#start")
        browser.make_realtime()
        until(lambda: browser.says("window.timing.zeroMs > 0"), 10)
        zero_s = float(browser.says("window.timing.zeroMs")) / 1000 + _page_clock(browser)
        if hidden:
            browser.covers_the_page()
        until(lambda: browser.says("window.timing.ended"), minutes * 60 + 60, every_s=1)
        tape.runs_out()
        told = browser.says("[window.timing.stalls, window.timing.words]")
    return measure(tape, zero_s, count), list(told[0]), int(told[1])


def _page_clock(browser: WebKit) -> float:
    readings = []
    for _ in range(20):
        before = time.monotonic()
        page_s = float(browser.says("performance.now()")) / 1000
        after = time.monotonic()
        readings.append((after - before, (before + after) / 2 - page_s))
    return min(readings)[1]


def _wrong(player: Kept, stalls: list[str], words: int) -> list[str]:
    """Judges what any machine must keep: every cue once, in step to the end, no false alarm."""
    found = [f"{player.missing} cues missing, {player.double} double"] if player.missing or player.double else []
    if abs(player.grown_ms()) > GROWN_MS:
        found.append(f"grown by {player.grown_ms():+.0f} ms")
    if stalls:
        found.append(f"false alarms: {', '.join(stalls)}")
    if words < len(player.late_ms):
        found.append(f"words of {len(player.late_ms) - words} cues never came")
    return found
