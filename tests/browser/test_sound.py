"""Sound as it leaves the browser: every cue, in order, once, where the cue sheet says, whatever happens to the page."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import BrowserContext, Page, Playwright
from scipy.signal import butter, sosfilt  # type: ignore[import-untyped]

from tests.browser.cue_detector import errors_ms, listen
from tests.browser.recorder import SoundingChromium, SoundServer, sounding_browser
from tests.browser.sound_desk import (
    Desk,
    expected_sounds,
    make_sounds,
    names,
    open_desk,
    plan_sheet,
    recorded_again,
    report,
    sheet,
    sound_desk,
    sound_list,
)
from tests.waiting import until
from webapp.speech.clips import RATE_HZ as CLIP_RATE_HZ
from webapp.speech.clips import Clip
from webapp.speech.tones import TONE_NAMES

pytestmark = pytest.mark.browser

TONES_ONLY = dict.fromkeys(TONE_NAMES, 1)
CYCLE_MS = (2500, 2500, 2500, 2500)
STEP_MS = 1500
STEPS_MS = (STEP_MS,) * 4
QUICK_MS = (1200, 1200, 1200, 1200)
TONE_MS = 800  # the longest tone lasts 0.7 s


SHORT = sheet(cycles=1, steps_ms=QUICK_MS, said=TONES_ONLY)


class Untouched:
    """The bare page before anybody has tapped it; what the test tool evaluates counts as a tap, this does not."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self._tool = page.context.new_cdp_session(page)

    def asked(self, js: str) -> Any:
        answer = self._tool.send(
            "Runtime.evaluate",
            {"expression": js, "userGesture": False, "awaitPromise": True, "returnByValue": True},
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")


@pytest.fixture(scope="module")
def sounds(clips: Path) -> dict[str, Clip]:
    return make_sounds(clips)


@pytest.fixture(scope="module")
def rig(browser_tool: Playwright) -> Iterator[tuple[SoundServer, SoundingChromium, BrowserContext]]:
    with sounding_browser() as (server, chromium):
        browser = browser_tool.chromium.connect_over_cdp(chromium.address, no_defaults=True)
        yield server, chromium, browser.contexts[0]
        browser.close()


@pytest.fixture
def desk(rig: tuple[SoundServer, SoundingChromium, BrowserContext], sounds: dict[str, Clip]) -> Iterator[Desk]:
    server, chromium, context = rig
    with open_desk(context, server, sounds) as opened:
        chromium.make_realtime()
        yield opened


def test_ninety_minutes_come_at_their_sample(desk: Desk, sounds: dict[str, Clip]) -> None:
    """Every tone and clip of 90 minutes, rendered through the player's own scheduling, starts at its sample."""
    rate_hz = 8000
    cue_sheet = plan_sheet(minutes=90, steps_s=(1, 4, 2.5, 3.5), sounds=sounds)
    expected = [
        (at_ms * rate_hz // 1000, 1.0 if name in TONE_NAMES else 0.5)
        for at_ms, name in expected_sounds(cue_sheet, sounds)
    ]
    rendered = desk.ask("s.render(v, 60000, 8000)", cue_sheet)
    assert len(rendered) == len(expected) > 2900
    for (place, height), (due, loud) in zip(rendered, expected, strict=True):
        assert abs(place - due) <= 1
        assert height == pytest.approx(loud, abs=0.01)


@recorded_again
def test_a_busy_page_is_heard_on_time(desk: Desk, sounds: dict[str, Clip]) -> None:
    """With the page held up for 600 ms again and again, cues stay in time where a plain timer's beeps are late."""
    beep = np.cos(2 * np.pi * 5000 * np.arange(2400) / CLIP_RATE_HZ)
    cue_sheet = sheet(cycles=3, steps_ms=QUICK_MS, said=TONES_ONLY)
    expected = expected_sounds(cue_sheet, sounds)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        timers = desk.ask("[s.startPlainTimer(1000), s.holdUp(600, 1370)]")
        desk.wait("s.log.ends === 1", 40)
        desk.page.evaluate("timers => timers.forEach(clearInterval)", timers)
        recording = recorder.finish_whole()
    cues = desk.heard(recording)
    high = sosfilt(butter(6, 3500, "high", fs=48_000, output="sos"), recording.samples)  # the tones lie below 3.5 kHz
    beeps = listen(high, 48_000, {"beep": beep}, CLIP_RATE_HZ)
    assert names(cues) == [name for _, name in expected]
    late_ms = errors_ms(cues, [at_ms for at_ms, _ in expected])
    first = beeps[0].at_s * 1000
    plain_ms = np.array(
        [min((one.at_s * 1000 - first) % 1000, 1000 - (one.at_s * 1000 - first) % 1000) for one in beeps]
    )
    report("held up, player", late_ms, recording)
    report("held up, plain timer", plain_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    # on the average: of 13 cues one alone would decide the 95th percentile
    assert plain_ms.mean() > 4 * np.abs(late_ms).mean()


@recorded_again
def test_a_moved_zero_moves_what_is_to_come(desk: Desk, sounds: dict[str, Clip]) -> None:
    """After a shift of 700 ms each later cue comes 700 ms later, and none is lost or heard twice."""
    cue_sheet = sheet(cycles=2, steps_ms=STEPS_MS, said=TONES_ONLY)
    expected = expected_sounds(cue_sheet, sounds)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        desk.wait("p.positionMs() > 3400", 15)
        desk.ask("p.shift(700)")
        desk.wait("p.positionMs() > 7900", 15)
        desk.ask("p.shift(-800)")
        desk.wait("s.log.ends === 1", 30)
        recording = recorder.finish_whole()
    heard = desk.heard(recording)
    assert names(heard) == [name for _, name in expected]
    moved = [at_ms + (700 if at_ms > 3400 else 0) - (800 if at_ms > 7900 else 0) for at_ms, _ in expected]
    late_ms = errors_ms(heard, moved)
    report("moved", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    assert np.abs(late_ms).max() < 300


@recorded_again
def test_a_pause_is_silent_and_comes_back_in_step(desk: Desk, sounds: dict[str, Clip]) -> None:
    """Cues of a paused stretch are not heard, then or later; the rest is where it would have been."""
    cue_sheet = sheet(cycles=2, steps_ms=STEPS_MS, said=TONES_ONLY)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        desk.wait("p.positionMs() > 3400", 15)
        desk.ask("p.pause()")
        assert desk.ask("p.state") == "paused"
        desk.wait("p.positionMs() > 6800", 15)
        desk.ask("p.resume()")
        desk.wait("s.log.ends === 1", 30)
        recording = recorder.finish_whole()
    expected = [(at_ms, name) for at_ms, name in expected_sounds(cue_sheet, sounds) if not 3400 < at_ms < 6800]
    heard = desk.heard(recording)
    assert names(heard) == [name for _, name in expected]
    late_ms = errors_ms(heard, [at_ms for at_ms, _ in expected])
    report("paused", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    assert [index for index, _, _ in desk.ask("s.log.words")] == [0, 1, 2, 4, 5, 6, 7, 8]
    assert desk.ask("p.cuedMs()") == pytest.approx(8600, abs=500)


def test_a_frozen_page_skips_what_it_missed(desk: Desk, sounds: dict[str, Clip]) -> None:
    """A page frozen for three seconds tells so, plays no missed cue afterwards, and goes on in step."""
    cue_sheet = sheet(cycles=2, steps_ms=STEPS_MS, said=TONES_ONLY)
    tool = desk.page.context.new_cdp_session(desk.page)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        desk.wait("p.positionMs() > 3400", 15)
        tool.send("Page.setWebLifecycleState", {"state": "frozen"})
        before = recorder.seconds()
        until(lambda: recorder.seconds() > before + 3.4, 15)
        tool.send("Page.setWebLifecycleState", {"state": "active"})
        desk.wait("s.log.ends === 1", 30)
        recording = recorder.finish()
    heard = desk.heard(recording)
    asleep = desk.ask("s.log.stalls")
    assert [reason for reason, _, _ in asleep] == ["asleep"]
    assert len(desk.ask("s.log.backs")) == 1
    assert asleep[0][1] == pytest.approx(3400, abs=900)
    expected = [(at_ms, name) for at_ms, name in expected_sounds(cue_sheet, sounds) if not 3400 < at_ms < 6800]
    assert names(heard) == [name for _, name in expected]
    late_ms = errors_ms(heard, [at_ms for at_ms, _ in expected])
    report("frozen", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50


def test_silence_is_told_within_two_seconds_and_ends(desk: Desk, sounds: dict[str, Clip]) -> None:
    """A suspended context is told within two seconds, the words go on, and sound comes back in step afterwards."""
    cue_sheet = sheet(cycles=2, steps_ms=STEPS_MS, said=TONES_ONLY)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        desk.wait("p.positionMs() > 3400", 15)
        asked = desk.ask("(() => { void s.context.suspend(); return performance.now(); })()")
        desk.wait("s.log.stalls.length === 1", 3)
        reason, _, told = desk.ask("s.log.stalls")[0]
        assert reason == "suspended"
        assert told - asked < 2000
        assert desk.ask("p.state") == "stalled"
        desk.wait("p.positionMs() > 6800", 15)
        desk.page.click("#unlock")
        desk.wait("s.log.backs.length === 1", 3)
        zero = desk.ask("performance.now() - p.positionMs()")
        went_ms, came_ms = asked - zero, desk.ask("s.log.backs[0]") - zero  # a busy machine presses late
        desk.wait("s.log.ends === 1", 30)
        recording = recorder.finish()
    assert [index for index, _, _ in desk.ask("s.log.words")] == list(range(9))
    expected = [(at_ms, name) for at_ms, name in expected_sounds(cue_sheet, sounds) if not went_ms < at_ms < came_ms]
    heard = desk.heard(recording)
    if len(heard) < len(expected):  # one that was sounding as the sound was taken away
        expected = [(at_ms, name) for at_ms, name in expected if not went_ms - TONE_MS < at_ms <= went_ms]
    assert names(heard) == [name for _, name in expected]
    late_ms = errors_ms(heard, [at_ms for at_ms, _ in expected])
    report("silent for a while", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    assert desk.ask("p.cuedMs()") == pytest.approx(8600, abs=700)


def test_a_clock_that_stands_still_is_noticed(desk: Desk) -> None:
    """A context that says it runs while its clock stands is told within two seconds."""
    desk.start(sheet(cycles=3, steps_ms=CYCLE_MS), in_ms=0)
    desk.wait("p.positionMs() > 1000", 5)
    asked = desk.ask(
        "(() => { const at = s.context.currentTime;"
        " Object.defineProperty(s.context, 'currentTime', { get: () => at, configurable: true });"
        " return performance.now(); })()"
    )
    desk.wait("s.log.stalls.length === 1", 3)
    reason, _, told = desk.ask("s.log.stalls")[0]
    assert (reason, told - asked < 2000) == ("frozen", True)
    desk.ask("delete s.context.currentTime")
    desk.wait("s.log.backs.length === 1", 3)
    desk.ask("p.stop()")
    assert desk.ask("p.state") == "stopped"


@recorded_again
def test_a_hidden_page_is_heard(desk: Desk, sounds: dict[str, Clip]) -> None:
    """Behind another page every tone and clip is heard in order and in time, and the words come with their cues."""
    cue_sheet = sheet(cycles=2, steps_ms=CYCLE_MS)
    expected = expected_sounds(cue_sheet, sounds)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet)
        front = desk.page.context.new_page()
        front.bring_to_front()
        desk.wait("document.visibilityState === 'hidden'", 5)
        desk.wait("s.log.ends === 1", 40)
        front.close()
        recording = recorder.finish_whole()
    heard = desk.heard(recording)
    assert names(heard) == [name for _, name in expected]
    late_ms = errors_ms(heard, [at_ms for at_ms, _ in expected])
    report("hidden", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    words = desk.ask("s.log.words")
    assert [index for index, _, _ in words] == list(range(9))
    words_late_ms = [position - at_ms for (_, _, position), (at_ms, *_) in zip(words, cue_sheet["cues"], strict=True)]
    assert min(words_late_ms) >= 0
    assert np.median(words_late_ms) <= 80
    assert desk.ask("s.log.stalls") == []
    assert desk.ask("p.cuedMs()") == pytest.approx(20_000, abs=300)


@pytest.mark.parametrize(("voice", "part"), [("tones", "tone"), ("voice", "clip"), ("none", "nothing")])
@recorded_again
def test_what_is_heard_is_what_was_chosen(desk: Desk, sounds: dict[str, Clip], voice: str, part: str) -> None:
    """Tones alone, words alone (then at the cue itself) or nothing; the words on the screen come in any case."""
    cue_sheet = sheet(cycles=1, steps_ms=QUICK_MS)
    with desk.server.recording() as recorder:
        desk.start(cue_sheet, voice=voice)
        desk.wait("s.log.ends === 1", 20)
        recording = recorder.finish_whole()
    phrases = cue_sheet["phrases"]
    expected = [] if part == "nothing" else [(row[0], phrases[row[1]][part]) for row in cue_sheet["cues"]]
    heard = desk.heard(recording)
    assert names(heard) == [name for _, name in expected]
    if expected:
        assert np.abs(errors_ms(heard, [at_ms for at_ms, _ in expected])).max() < 150
    assert [index for index, _, _ in desk.ask("s.log.words")] == [0, 1, 2, 3, 4]


def test_a_late_decoder_is_put_right(desk: Desk) -> None:
    """Silence that a decoder put before a sound is measured and taken off, to a millisecond."""
    mended = desk.ask("s.undelayed(46, v)", "rise")
    assert mended["late"] == pytest.approx(46, abs=0.1)
    assert abs(mended["mended"]) < 1
    assert mended["lost"] == 0


def test_a_sound_that_fails_is_named_and_the_rest_plays(desk: Desk, sounds: dict[str, Clip]) -> None:
    """A missing file and a damaged one are named; the others are there."""
    good = sound_list(sounds)[:2]
    page_itself = {"id": "damaged", "url": desk.page.url, "onset_ms": 0}
    loaded = desk.ask("s.load(v)", [*good, {"id": "gone", "url": "/sounds/gone.wav", "onset_ms": 0}, page_itself])
    assert sorted(loaded["failed"]) == ["damaged", "gone"]
    assert sorted(loaded["loaded"]) == sorted(str(one["id"]) for one in good)


def test_the_screen_is_kept_on_again_after_a_return(desk: Desk) -> None:
    """The lock that a hidden page loses is taken again when the page is back."""
    desk.page.evaluate(
        "() => { window.locks = []; const take = WakeLock.prototype.request;"
        " WakeLock.prototype.request = async function (kind) { const lock = await take.call(this, kind);"
        " window.locks.push(lock); return lock; }; }"
    )
    desk.page.evaluate("() => { window.awake = window.sound.keepAwake(); }")
    desk.wait("window.locks.length === 1 && !window.locks[0].released", 5)
    front = desk.page.context.new_page()
    front.bring_to_front()
    desk.wait("window.locks[0].released", 5)
    front.close()
    desk.page.bring_to_front()
    desk.wait("window.locks.length === 2 && !window.locks[1].released", 5)
    desk.page.evaluate("() => window.awake.release()")
    desk.wait("window.locks[1].released", 5)
    assert desk.ask("s.log.refused") == []


def test_a_refused_lock_is_told(desk: Desk) -> None:
    """A phone that will not keep its screen on says so to the page."""
    desk.page.evaluate(
        "() => { WakeLock.prototype.request = () => Promise.reject(new DOMException('', 'NotAllowedError'));"
        " window.awake = window.sound.keepAwake(); }"
    )
    desk.wait("s.log.refused.length === 1", 5)
    assert desk.ask("s.log.refused") == ["refused"]


@pytest.fixture
def untouched(
    rig: tuple[SoundServer, SoundingChromium, BrowserContext], sounds: dict[str, Clip]
) -> Iterator[Untouched]:
    with sound_desk(sounds) as address:
        page = rig[2].new_page()
        page.goto(address)
        opened = Untouched(page)
        until(lambda: opened.asked("typeof window.sound") == "object", 10)
        yield opened
        page.close()


def test_sound_waits_for_a_tap(untouched: Untouched) -> None:
    """Without a tap the context is suspended; a tap unlocks it."""
    assert untouched.asked("sound.context.state") == "suspended"
    untouched.page.click("#unlock")
    until(lambda: untouched.asked("sound.isUnlocked()") is True, 5)
    assert untouched.asked("sound.context.state") == "running"


def test_a_session_started_by_the_unlocking_tap_raises_no_alarm(untouched: Untouched, sounds: dict[str, Clip]) -> None:
    """Sound that comes up with the start is not told as silence."""
    untouched.asked(f"sound.load({json.dumps(sound_list(sounds))}).then(() => sound.prepare({json.dumps(SHORT)}))")
    untouched.page.click("#start")
    until(lambda: untouched.asked("sound.log.ends") == 1, 20)
    assert untouched.asked("JSON.stringify(sound.log.stalls)") == "[]"


def test_a_session_without_sound_says_so(untouched: Untouched, sounds: dict[str, Clip]) -> None:
    """A session started while sound is locked is told as silent within two seconds of its start."""
    listed = json.dumps(sound_list(sounds))
    untouched.asked(f"sound.load({listed}).then(() => sound.start({json.dumps(SHORT)}, 'both', 0))")
    until(lambda: untouched.asked("sound.log.stalls.length") == 1, 10)
    assert untouched.asked("sound.log.stalls[0][0]") == "suspended"
    assert untouched.asked("sound.log.stalls[0][2] - sound.log.words[0][1]") < 2000
