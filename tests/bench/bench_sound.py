"""Sound: what a clip costs, what the cache saves, how far off its time a cue is heard on a page that is held up."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import sync_playwright
from scipy.signal import butter, sosfilt  # type: ignore[import-untyped]

from tests.browser.cue_detector import errors_ms, listen
from tests.browser.recorder import RATE_HZ, sounding_browser
from tests.browser.sound_desk import Desk, expected_sounds, make_sounds, names, open_desk, plan_sheet
from webapp.speech.clips import RATE_HZ as CLIP_RATE_HZ
from webapp.speech.clips import Clip, render_clip

PHRASES = [
    f"{verb} {thing}"
    for verb in ("Reach for", "Open round", "Let go of", "Rest by")
    for thing in ("the cup", "the jar", "the door")
]
PLAIN_TIMER_MS = 1000


def _clips(cache: Path) -> None:
    render_clip("The engine is loaded now", "en", cache)
    began = time.perf_counter()
    clips = [render_clip(text, "en", cache) for text in PHRASES]
    rendered = time.perf_counter() - began
    began = time.perf_counter()
    for text in PHRASES:
        render_clip(text, "en", cache)
    cached = time.perf_counter() - began
    spoken = sum(clip.dur_ms for clip in clips) / 1000
    size = sum(len(clip.wav) for clip in clips) / len(clips) / 1000
    print(
        f"clips: {rendered / spoken:.3f} of their length to render ({1000 * rendered / len(clips):.0f} ms each), "
        f"{rendered / cached:.0f} times that of the cache; {size:.0f} kB each"
    )


def _ninety_minutes(desk: Desk, sounds: dict[str, Clip]) -> None:
    cue_sheet = plan_sheet(minutes=90, steps_s=(1, 4, 2.5, 3.5), sounds=sounds)
    began = time.perf_counter()
    rendered = desk.ask("s.render(v, 60000, 8000)", cue_sheet)
    took = time.perf_counter() - began
    print(f"90 minutes rendered offline: {len(rendered)} sounds, {5400 / took:.0f} times real time")


def _held_up(desk: Desk, sounds: dict[str, Clip]) -> None:
    cue_sheet = plan_sheet(minutes=1, steps_s=(2.5, 2.5, 2.5, 2.5), sounds=sounds)
    expected = expected_sounds(cue_sheet, sounds)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        timers = desk.ask(f"[s.startPlainTimer({PLAIN_TIMER_MS}), s.holdUp(600, 1370)]")
        desk.wait("s.log.ends === 1", 80)
        desk.page.evaluate("timers => timers.forEach(clearInterval)", timers)
        recording = recorder.finish()
    heard = desk.heard(recording)
    high = sosfilt(butter(6, 4500, "high", fs=RATE_HZ, output="sos"), recording.samples)
    beep = np.cos(2 * np.pi * 5000 * np.arange(2400) / CLIP_RATE_HZ)
    beeps = np.array([one.at_s * 1000 for one in listen(high, RATE_HZ, {"beep": beep}, CLIP_RATE_HZ)])
    plain = np.abs((beeps - beeps[0] + PLAIN_TIMER_MS / 2) % PLAIN_TIMER_MS - PLAIN_TIMER_MS / 2)
    complete = names(heard) == [name for _, name in expected]
    late = np.abs(errors_ms(heard, [at_ms for at_ms, _ in expected])) if complete else np.array([np.inf])
    print(
        f"a minute, page held up for 600 ms each 1.4 s: {len(heard)} of {len(expected)} sounds, in order: {complete}; "
        f"median {np.median(late):.1f}, p95 {np.percentile(late, 95):.1f}, max {late.max():.1f} ms off; a plain timer "
        f"p95 {np.percentile(plain, 95):.0f} ms, {np.percentile(plain, 95) / max(np.percentile(late, 95), 1):.0f} times"
    )
    print(f"(load {recording.load[0]:.1f}, real-time priority {recording.realtime})")


def run() -> None:
    """Prints the figures."""
    with tempfile.TemporaryDirectory() as folder:
        cache = Path(folder)
        _clips(cache)
        sounds = make_sounds(cache)
    with sounding_browser() as (server, chromium), sync_playwright() as tool:
        browser = tool.chromium.connect_over_cdp(chromium.address, no_defaults=True)
        with open_desk(browser.contexts[0], server, sounds) as desk:
            chromium.make_realtime()
            _ninety_minutes(desk, sounds)
            _held_up(desk, sounds)
        browser.close()
