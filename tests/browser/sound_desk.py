"""The bare sound page on a server of its own, with real tones and clips and cue sheets made to measure."""

from __future__ import annotations

import contextlib
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from functools import partial, wraps
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ParamSpec

import numpy as np
from playwright.sync_api import BrowserContext, Page

from tests.browser.cue_detector import Heard, listen
from tests.browser.recorder import RATE_HZ, RanDryError, Recording, SoundServer
from tests.speech.sounds import Samples, read_wav
from tests.waiting import until
from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.formats.plan_json import read_settings
from webapp.speech.clips import RATE_HZ as CLIP_RATE_HZ
from webapp.speech.clips import Clip, clip_id, render_clip
from webapp.speech.tones import TONE_NAMES, render_tone
from webapp.stimulation.cue_sheet import Wording, compile_cues

ROOT = Path(__file__).resolve().parents[2]
WORDS = {
    "rise": "Starting: reach",
    "hold": "Keep it open",
    "ease": "Letting go",
    "rest": "Rest now",
    "finished": "All done",
}
MOST_TAKES = 3
Given = ParamSpec("Given")


def recorded_again(test: Callable[Given, None]) -> Callable[Given, None]:
    """Repeats what the machine spoilt; it fails where no take was whole. What a page does is never excused."""

    @wraps(test)
    def takes(*args: Given.args, **named: Given.kwargs) -> None:
        for take in range(1, MOST_TAKES + 1):
            try:
                test(*args, **named)
            except RanDryError as spoilt:
                sys.stdout.write(f"\ntake {take} of {test.__name__}: {spoilt}\n")
                if take == MOST_TAKES:
                    raise
            else:
                return

    return takes


def make_sounds(cache: Path) -> dict[str, Clip]:
    """Renders the five tones and the clip of each phase."""
    clips = [render_tone(name) for name in TONE_NAMES] + [render_clip(text, "en", cache) for text in WORDS.values()]
    return {clip.id: clip for clip in clips}


def sheet(*, cycles: int, steps_ms: tuple[int, int, int, int], said: Mapping[str, int] | None = None) -> dict[str, Any]:
    """Makes a cue sheet of equal cycles; ``steps_ms`` are how long rise, hold, ease and rest last."""
    said = {"rise": 2, "hold": 2, "ease": 2, "rest": 2, "finished": 2} | dict(said or {})
    phases = ("rise", "hold", "ease", "rest")
    cues: list[list[int]] = []
    at_ms = 0
    for cycle in range(1, cycles + 1):
        for number, (phase, lasts_ms) in enumerate(zip(phases, steps_ms, strict=True)):
            cues.append([at_ms, number, at_ms + lasts_ms, cycle, said[phase], cycle - (number < 3), 0, at_ms // 2, 0])
            at_ms += lasts_ms
    cues.append([at_ms, 4, at_ms, cycles, said["finished"], cycles, 0, at_ms // 2, 0])
    phrases = [
        {"tone": phase, "channels": [1], "phase": phase, "text": text, "clip": clip_id(text), "seconds": True}
        for phase, text in WORDS.items()
    ]
    return {
        "format": "wattlebird.cue_sheet/1",
        "exercise": 1,
        "drive": "cycled",
        "session_ms": at_ms,
        "cycle_ms": sum(steps_ms),
        "first_rise_ms": 0,
        "at_end": "cut",
        "may_run_on_ms": 0,
        "channels": [{"channel": 1, "contractions": cycles, "on_ms": at_ms // 2, "hill": []}],
        "phrases": phrases,
        "cues": cues,
    }


def plan_sheet(
    *, minutes: int, steps_s: tuple[float, float, float, float], sounds: Mapping[str, Clip]
) -> dict[str, Any]:
    """Compiles the cue sheet of a plan of one channel whose ramp up, hold, ramp down and rest last ``steps_s``."""
    rise_s, hold_s, ease_s, rest_s = steps_s
    settings = read_settings(
        {
            "format": "wattlebird.plan/1",
            "drive": "cycled",
            "frequency_hz": 35,
            "pulse_width_us": 300,
            "session_min": minutes,
            "ramp_up_s": rise_s,
            "hold_s": hold_s,
            "ramp_down_s": ease_s,
            "rest_s": rest_s,
            "channels": [{"intensity_ma": 20, "pad_cm2": 25.0}],
        }
    )
    wording = Wording(rise=WORDS["rise"], hold=WORDS["hold"], ease=WORDS["ease"], rest=WORDS["rest"], ready=None)
    clip_ms = {clip.text: clip.dur_ms for clip in sounds.values() if clip.text}
    return write_cue_sheet(compile_cues(settings, 1, (wording,), clip_ms, words={"finished": WORDS["finished"]}))


def expected_sounds(cue_sheet: Mapping[str, Any], sounds: Mapping[str, Clip]) -> list[tuple[float, str]]:
    """Says what should be heard and when (ms): the tone at the cue, the clip 120 ms after the tone."""
    found: list[tuple[float, str]] = []
    for at_ms, number, _, _, said, *_ in cue_sheet["cues"]:
        phrase = cue_sheet["phrases"][number]
        if said >= 1:
            found.append((at_ms, phrase["tone"]))
        if said == 2:
            found.append((at_ms + sounds[phrase["tone"]].dur_ms + 120, phrase["clip"]))
    return found


class _Handler(SimpleHTTPRequestHandler):
    sounds: Mapping[str, Clip] = {}

    def do_GET(self) -> None:
        name = self.path.removeprefix("/sounds/").removesuffix(".wav")
        if name not in self.sounds:
            super().do_GET()
            return
        content = self.sounds[name].wav
        self.send_response(200)
        self.send_header("Content-Type", "audio/wav")
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 (the base class names it)
        """Keeps quiet."""


@contextlib.contextmanager
def sound_desk(sounds: Mapping[str, Clip]) -> Iterator[str]:
    """Serves the checkout's modules, the page and the sounds; gives the page's address."""
    handler = type("Handler", (_Handler,), {"sounds": sounds})
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(handler, directory=str(ROOT)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/tests/browser/sound_page/index.html"
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)


def sound_list(sounds: Mapping[str, Clip]) -> list[dict[str, object]]:
    """Lists the sounds as a pack's manifest does."""
    return [{"id": one.id, "url": f"/sounds/{one.id}.wav", "onset_ms": one.onset_ms} for one in sounds.values()]


class Desk:
    """The bare page in a browser that plays into the recorder."""

    def __init__(self, page: Page, server: SoundServer, templates: Mapping[str, Samples]) -> None:
        self.page = page
        self.server = server
        self._templates = templates

    def ask(self, js: str, value: object = None) -> Any:
        """Evaluates an expression with the page's ``sound`` and the value ``v``."""
        return self.page.evaluate(f"v => {{ const s = window.sound, p = s.player(); return ({js}); }}", value)

    def wait(self, js: str, within_s: float) -> None:
        """Waits until an expression holds."""
        until(lambda: bool(self.ask(js)), within_s)

    def start(self, cue_sheet: dict[str, Any], *, voice: str = "both", in_ms: int = 500) -> float:
        return float(self.ask("s.start(v[0], v[1], v[2])", [cue_sheet, voice, in_ms]))

    def heard(self, recording: Recording) -> list[Heard]:
        return listen(recording.samples, RATE_HZ, self._templates, CLIP_RATE_HZ)


@contextlib.contextmanager
def open_desk(context: BrowserContext, server: SoundServer, sounds: Mapping[str, Clip]) -> Iterator[Desk]:
    """Opens the page, unlocks its sound by a tap and loads the sounds."""
    templates = {name: read_wav(clip.wav)[0] for name, clip in sounds.items()}
    with sound_desk(sounds) as address:
        page = context.new_page()
        page.goto(address)
        page.wait_for_function("window.sound")
        page.click("#unlock")
        page.wait_for_function("window.sound.isUnlocked() === true")
        opened = Desk(page, server, templates)
        assert opened.ask("s.load(v)", sound_list(sounds))["failed"] == []
        yield opened
        page.close()


def names(heard: list[Heard]) -> list[str]:
    return [one.name for one in heard]


def report(what: str, late_ms: Samples, recording: Recording) -> None:
    """Writes what was measured, for the log of a run."""
    size = np.abs(late_ms)
    sys.stdout.write(
        f"\n{what}: n={len(size)} mean {size.mean():.1f} median {np.median(size):.1f} p95 {np.percentile(size, 95):.1f}"
        f" max {size.max():.1f} ms (load {recording.load[0]:.1f}, real-time priority {recording.realtime})\n"
    )
