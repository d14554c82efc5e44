"""A client's minute of practice, on the real timer page from the real pack with the server gone, as it is heard."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Playwright, Route, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.cue_detector import errors_ms, listen, listen_at_any_speed
from tests.browser.phone import Phone
from tests.browser.phone_store import READ, runs
from tests.browser.recorder import RATE_HZ, SoundingChromium, SoundServer, sounding_browser
from tests.browser.sound_desk import names, recorded_again, report
from tests.client.invented_clinic import TOKEN
from tests.speech.sounds import Samples, read_wav
from tests.waiting import until
from webapp.speech.tones import TONE_NAMES

pytestmark = pytest.mark.browser

TONE_TO_CLIP_S = 0.12
LISTENED_MS, LAST_SOUND_MS = 14_000, 3_000
AT_THE_TIMER = """async () => {
  const session = await import(new URL('static/parts/session.js', location.href).href);
  const log = await import(new URL('static/parts/log_store.js', location.href).href);
  const handle = location.pathname.split('/')[2];
  const begun = { exercise: 1, version: 1, plan: 1, ...log.localNow(), planned_s: 60, places: 2, channels: 1 };
  const draft = { ...session.newDraft(begun), stage: 'timer', strength: [20] };
  await log.saveDraft(await log.openStore(), draft);
  sessionStorage.setItem(`handed-${handle}`, JSON.stringify(draft));
}"""
IN_THE_PACK = """async () => {
  const read = async (path) => (await fetch(path)).json();
  const bytes = async (path) => [...new Uint8Array(await (await fetch(path)).arrayBuffer())];
  const listed = await read('data/sounds.json');
  const wavs = {};
  for (const [id, { file }] of Object.entries(listed)) wavs[id] = await bytes(file);
  return { sheet: await read('data/cues-1.json'), wavs };
}"""
NOTHING_SOUNDS = "window.placed.every(({ context: at, from, to }) => from > at.currentTime + 20 || to < at.currentTime)"


class SoundingPhone(Phone):
    """A phone whose loudspeaker is recorded."""

    def __init__(self, tool: Playwright, chromium: SoundingChromium) -> None:
        super().__init__(tool, Path())
        self._chromium = chromium

    def opens_the_browser(self) -> None:
        """Joins the browser that plays into the recorder."""
        browser = self._tool.chromium.connect_over_cdp(self._chromium.address, no_defaults=True)
        self._context = browser.contexts[0]
        self._page = self._context.pages[0]

    def comes_to_the_timer(self) -> None:
        """Opens the timer as the page before it would."""
        self.page.evaluate(AT_THE_TIMER)
        self.opens("timer-1")
        until(lambda: self.page.locator("[data-tap]").is_enabled())

    def watches_for_alerts(self) -> None:
        """Notes whenever the page says that cues have stopped."""
        self.page.evaluate(
            "() => { const alert = document.querySelector('[data-sheet=stopped]'); window.alerts = 0;"
            " const look = () => { window.alerts += alert.open ? 1 : 0; };"
            " new MutationObserver(look).observe(alert, { attributes: true }); }"
        )

    def alerts(self) -> int:
        """Says how often it did."""
        return int(self.page.evaluate("window.alerts"))

    def notes_its_sounds(self) -> None:
        """Keeps, of each sound that is placed, from when to when it lasts."""
        self.page.evaluate(
            "() => { window.placed = []; const { start } = AudioBufferSourceNode.prototype;"
            " AudioBufferSourceNode.prototype.start = function (at, ...more) {"
            " window.placed.push({ context: this.context, from: at ?? 0, to: (at ?? 0) + this.buffer.duration });"
            " return start.call(this, at, ...more); }; }"
        )

    def sees_the_end(self, within_ms: float) -> None:
        """Waits until the page says that the time is up, and has said so aloud; reminders come a minute later."""
        self.page.locator("[data-sheet=ended][open]").wait_for(timeout=within_ms)
        until(lambda: bool(self.page.evaluate(NOTHING_SOUNDS)), every_s=0.2)

    def pack_sounds(self) -> tuple[dict[str, Any], dict[str, Samples]]:
        """Reads the cue sheet and the sounds that lie on the phone."""
        found = self.page.evaluate(IN_THE_PACK)
        return found["sheet"], {name: read_wav(bytes(wav))[0] for name, wav in found["wavs"].items()}


@pytest.fixture
def rig(browser_tool: Playwright) -> Iterator[tuple[SoundServer, SoundingChromium, SoundingPhone]]:
    with sounding_browser() as (sound_server, chromium):
        phone = SoundingPhone(browser_tool, chromium)
        phone.opens_the_browser()
        yield sound_server, chromium, phone


def expected(cue_sheet: dict[str, Any], sounds: dict[str, Samples]) -> list[tuple[float, str]]:
    """Says what should be heard and when, in ms of the session."""
    found = []
    for at_ms, number, _, _, said, *_ in cue_sheet["cues"]:
        tone, clip = (cue_sheet["phrases"][number][part] for part in ("tone", "clip"))
        if said and tone:
            found.append((at_ms, tone))
        if said == 2:
            tone_s = len(sounds[tone]) / 24_000 + TONE_TO_CLIP_S if tone else 0
            found.append((at_ms + 1000 * tone_s, clip))
    return found


@recorded_again
def hears_a_minute(sound_server: SoundServer, chromium: SoundingChromium, phone: SoundingPhone) -> None:
    """Leads through a minute at the timer and listens."""
    phone.comes_to_the_timer()
    cue_sheet, sounds = phone.pack_sounds()
    due = expected(cue_sheet, sounds)
    with sound_server.recording() as recorder:
        phone.watches_for_alerts()
        phone.notes_its_sounds()
        phone.page.locator("[data-tap]").click()
        until(chromium.makes_sound)
        chromium.make_realtime()
        phone.sees_the_end(90_000)
        recording = recorder.finish_whole()
    heard = listen(recording.samples, RATE_HZ, sounds, 24_000)
    assert names(heard) == [name for _, name in due]
    late_ms = errors_ms(heard, [at_ms for at_ms, _ in due])
    report("a minute on the timer page", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    assert phone.alerts() == 0


def test_a_minute_of_practice_is_heard_as_planned(
    server: ClinicServer, rig: tuple[SoundServer, SoundingChromium, SoundingPhone]
) -> None:
    """Each tone and clip of the pack's cue sheet comes once, in order, the median within 50 ms; then the end."""
    sound_server, chromium, phone = rig
    phone.gets_the_plan(server.public_url, TOKEN)
    server.is_killed()
    hears_a_minute(sound_server, chromium, phone)


LISTENS = """const act = MediaSession.prototype.setActionHandler; window.acts = {};
MediaSession.prototype.setActionHandler = function (name, run) {
  window.acts[name] = run; return act.call(this, name, run); };
const { play } = HTMLMediaElement.prototype;
HTMLMediaElement.prototype.play = function () { window.media = this; return play.call(this); };"""


def gets_the_sound(phone: SoundingPhone) -> None:
    """Fetches the session's sound; the first try breaks off after a piece, the second goes on from there."""
    asked: list[str] = []

    def break_off(route: Route) -> None:
        asked.append(route.request.headers["range"])
        if len(asked) == 2:
            route.abort()
        else:
            route.continue_()

    phone.page.route("**/listen/*.mp3", break_off)
    phone.opens("sound")
    phone.presses("Load the sound")
    phone.sees("The sound is not all here yet.")
    phone.presses("Load the sound")
    phone.sees("The sound is on this phone.")
    phone.page.get_by_role("checkbox", name="Listen only").check()
    assert len(asked) == len(set(asked)) + 1 >= 3  # only the piece that broke off was asked for again


@recorded_again
def listens_only(sound_server: SoundServer, chromium: SoundingChromium, phone: SoundingPhone) -> None:
    """Hears the first cycles from the media element, and pauses by the phone's own control."""
    phone.comes_to_the_timer()
    expect(phone.page.locator("[data-listen]")).to_have_attribute("aria-pressed", "true")
    cue_sheet, sounds = phone.pack_sounds()
    tones = {name: sounds[name] for name in TONE_NAMES}  # found at any speed; words, played a little faster, are not
    wanted = [(at_ms, name) for at_ms, name in expected(cue_sheet, sounds) if at_ms < LISTENED_MS and name in tones]
    # the tap stands for the rise that it answers: a media element may begin after it, and then joins in later
    due = [one for one in wanted if one[0] > 0]
    with sound_server.recording() as recorder:
        phone.page.locator("[data-tap]").click()
        until(chromium.makes_sound)
        chromium.make_realtime()
        before = recorder.seconds()
        until(lambda: recorder.seconds() > before + (LISTENED_MS + LAST_SOUND_MS) / 1000, 60)
        phone.page.evaluate("window.acts.pause()")
        phone.sees("What is your unit doing?")
        recording = recorder.finish_whole()
    heard = listen_at_any_speed(recording.samples, RATE_HZ, tones, 24_000)
    if names(heard)[: len(wanted)] == [name for _, name in wanted]:
        heard = heard[len(wanted) - len(due) :]
    assert names(heard)[: len(due)] == [name for _, name in due]
    late_ms = errors_ms(heard[: len(due)], [at_ms for at_ms, _ in due])
    report("a session as one sound", late_ms, recording)
    assert np.median(np.abs(late_ms)) <= 50
    (draft,) = runs(phone.page, READ, "draft")
    cued_ms = float(draft["cued_ms"])
    assert LISTENED_MS <= cued_ms <= recorder.seconds() * 1000
    phone.page.evaluate("window.acts.play()")
    expect(phone.page.locator("[data-sheet=pause]")).to_be_hidden()
    phone.page.wait_for_function("!window.media.paused")
    until(lambda: plays_on(phone))
    phone.page.evaluate("window.media.pause()")  # as a call does it
    phone.sees("The cues have stopped")
    phone.presses("Go on with the cues")
    until(lambda: plays_on(phone))


def plays_on(phone: SoundingPhone) -> bool:
    """Tells whether the session's sound moves."""
    return bool(phone.page.evaluate("""async () => { const at = window.media.currentTime;
      await new Promise((seen) => window.media.addEventListener('timeupdate', seen, { once: true }));
      return window.media.currentTime > at; }"""))


@pytest.mark.timeout(600)
def test_a_session_is_played_as_one_sound_with_the_server_gone(
    server: ClinicServer, rig: tuple[SoundServer, SoundingChromium, SoundingPhone]
) -> None:
    """Fetched once, resumably, it plays offline in step; the phone's own controls mean what the page's mean."""
    sound_server, chromium, phone = rig
    phone.page.add_init_script(LISTENS)
    phone.gets_the_plan(server.public_url, TOKEN)
    gets_the_sound(phone)
    server.is_killed()
    listens_only(sound_server, chromium, phone)
