"""What the timer says when it cannot go on as planned: silence, a phone that slept, a screen gone dark, the end."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.practising import Practising
from tests.client_pages.invented_plan import invented_plan
from tests.client_pages.pack_server import served
from webapp.client.packing import render_pack
from webapp.issuing import compile_pack

pytestmark = pytest.mark.browser
STOPPED = "The cues have stopped"
OFF_SWITCH = "Press the big round button 1 time."
FREEZE = """() => { const at = window.sounding.currentTime;
  Object.defineProperty(window.sounding, 'currentTime', { get: () => at, configurable: true }); }"""
THAW = "() => { delete window.sounding.currentTime; }"
REFUSE = "WakeLock.prototype.request = () => Promise.reject(new DOMException('', 'NotAllowedError'));"
HIDE = "() => Object.defineProperty(document, 'visibilityState', { get: () => 'hidden', configurable: true })"
COUNT_STOPS = """() => { const { stop } = AudioScheduledSourceNode.prototype; window.stopped = 0;
  AudioScheduledSourceNode.prototype.stop = function (...at) { window.stopped += 1; return stop.apply(this, at); }; }"""
CHOOSE = """async (chosen) => {
  const part = (name) => import(new URL(`static/parts/${name}.js`, location.href).href);
  const [log, choices] = await Promise.all([part('log_store'), part('choices')]);
  await choices.choose(await log.openStore(), chosen); }"""


CHOSEN = {"What you hear": "Tones only", "How much is said": "Only when to start and stop", "How loud": "Softer",
          "The phone shakes a little": "No"}  # fmt: skip
RISE_AND_EASE_S = 0.7
ASK_TO_STOP = """async (exercises) => {
  const part = (name) => import(new URL(`static/parts/${name}.js`, location.href).href);
  const [log, other, carry] = await Promise.all([part('log_store'), part('other_rests'), part('carry_home')]);
  const told = [{ device: '0123456789abcdef', through: 9, exercises, at_min: 1, why: 'by_word', until: '' }];
  await other.noteOtherRests(await log.openStore(), told);
  carry.carryEvents.dispatchEvent(new Event('other_rests')); }"""
DROP = """async () => { const log = await import(new URL('static/parts/log_store.js', location.href).href);
  await log.dropDraft(await log.openStore()); }"""
WATCH = """window.lengths = []; window.gains = []; window.shaken = 0;
navigator.vibrate = () => { window.shaken += 1; return true; };
window.GainNode = class extends GainNode { constructor(context, options) {
  super(context, options); window.gains.push(options.gain); } };
const { start: begin } = AudioBufferSourceNode.prototype;
AudioBufferSourceNode.prototype.start = function (...at) {
  window.lengths.push(Math.round(this.buffer.duration * 10) / 10); return begin.apply(this, at); };"""
PLACES = """() => ['[data-tap]', '[data-pause]', '[data-left]', '[data-words]'].map((selector) =>
  Math.round(document.querySelector(selector).getBoundingClientRect().top))"""
IN_REACH = ("[data-words]", ".seconds", "[data-tap]", "[data-pause]", "main .btn.stop")
NOTE_WORDS = """() => { const words = document.querySelector('[data-words]'); window.noted = [];
  new MutationObserver(() => window.noted.push([performance.now() / 1000, words.textContent]))
    .observe(words, { childList: true, characterData: true, subtree: true }); }"""


@pytest.fixture(scope="module")
def address(clips: Path) -> Iterator[str]:
    """Serves the invented plan's pack; gives the address of its pages."""
    with served(render_pack(compile_pack(invented_plan(), clips, lambda *_: None))) as root:
        yield root


@pytest.fixture
def at_the_timer(browser_tool: Playwright, address: str) -> Iterator[Callable[..., Practising]]:
    """Gives a client whose cues run; `script` runs before each page, `choices` are what she wants to hear."""
    made: list[Practising] = []

    def come(script: str = "", choices: dict[str, object] | None = None, planned_s: int = 1200) -> Practising:
        one = Practising(browser_tool, address)
        made.append(one)
        if script:
            one.page.add_init_script(script)
        one.page.evaluate(CHOOSE, choices or {})
        one.is_handed("timer-1", stage="timer", strength=[22, 18], planned_s=planned_s)
        one.taps_at_the_rise()
        one.practises(5)
        return one

    yield come
    for one in made:
        one.ends()


def cued_s(client: Practising) -> float:
    """Reads how much is noted as cued, of the session under way."""
    return float(client.draft()["cued_ms"]) / 1000


def test_a_frozen_sound_clock_stops_the_cues_until_a_tap(at_the_timer: Callable[..., Practising]) -> None:
    """It says so, with the unit's off switch; sound that is back by itself changes nothing; silence is not noted."""
    maren = at_the_timer()
    maren.page.evaluate(FREEZE)
    sheet = maren.page.locator("[data-sheet=stopped][open]")
    for _ in range(20):
        maren.page.clock.run_for(100)
        if sheet.count():
            break
    maren.sees(STOPPED)
    maren.sees(OFF_SWITCH)
    maren.practises(30)
    noted = cued_s(maren)
    assert 4 <= noted <= 6.5
    maren.page.evaluate(THAW)
    maren.practises(5)
    expect(sheet).to_be_visible()
    maren.page.keyboard.press("Escape")
    expect(sheet).to_be_visible()
    maren.presses("Go on with the cues")
    expect(sheet).to_be_hidden()
    maren.practises(10)
    maren.presses("Pause")
    assert noted + 9 <= cued_s(maren) <= noted + 12


def test_an_interruption_stops_the_cues_and_without_sound_the_screen_can_lead(
    at_the_timer: Callable[..., Practising]
) -> None:
    """While a call has the sound, a tap cannot bring it back: it says so, and offers to go on by the screen alone."""
    maren = at_the_timer()
    maren.page.evaluate("""() => { window.sounding.suspend();
      window.sounding.resume = () => Promise.reject(new DOMException('', 'InvalidStateError')); }""")
    maren.sees(STOPPED)
    maren.presses("Go on with the cues")
    maren.practises(2)
    maren.sees("There is still no sound.")
    maren.presses("Go on with no sound")
    expect(maren.page.locator("[data-sheet=stopped]")).to_be_hidden()
    maren.remembers_the_words()
    maren.practises(20)
    assert len(maren.words_shown()) >= 3


def test_a_page_that_slept_says_that_the_cues_have_stopped(at_the_timer: Callable[..., Practising]) -> None:
    """A phone that put the page to sleep stopped its sound too: the ten seconds are not noted."""
    maren = at_the_timer()
    maren.page.evaluate("() => { window.heldS = performance.now() / 1000 - window.lagS; }")
    maren.page.clock.fast_forward(10_000)
    maren.page.evaluate("() => { window.lagS += 10; window.heldS = null; }")
    maren.sees(STOPPED)
    maren.sees(OFF_SWITCH)
    assert cued_s(maren) <= 6.5


def test_a_blocked_page_goes_on_where_its_sound_went_on(at_the_timer: Callable[..., Practising]) -> None:
    """Sounds lie two minutes ahead: ten seconds without the page are heard all the same, and noted."""
    maren = at_the_timer()
    maren.page.clock.fast_forward(10_000)
    maren.practises(1)
    expect(maren.page.locator("[data-sheet=stopped]")).to_be_hidden()
    maren.presses("Pause")
    assert cued_s(maren) >= 14


def test_a_screen_alone_that_nobody_can_see_gives_no_cues(at_the_timer: Callable[..., Practising]) -> None:
    """Without sound a page that slept or was hidden led nobody: it says so, and notes nothing of it."""
    maren = at_the_timer(choices={"voice": "none"})
    maren.page.evaluate(HIDE)
    maren.practises(30)
    maren.page.evaluate("() => { delete document.visibilityState; }")
    maren.page.clock.fast_forward(10_000)
    maren.sees(STOPPED)
    assert cued_s(maren) <= 7


def test_a_screen_that_may_go_dark_is_told_for_good(at_the_timer: Callable[..., Practising]) -> None:
    """A refused wake lock leaves its words on the timer, cycle after cycle; all still fits the screen."""
    maren = at_the_timer(script=REFUSE)
    maren.practises(60)
    maren.sees("Touch it now and then, so that it stays on.")
    assert maren.page.evaluate("document.documentElement.scrollHeight <= innerHeight")


def test_the_number_is_asked_for_in_a_long_rest_and_moves_nothing(at_the_timer: Callable[..., Practising]) -> None:
    """The question lies over the picture: Tap, Pause and the seconds stay where they are; it goes with the rest."""
    maren = at_the_timer()
    asked = maren.page.locator("[data-right]")
    expect(asked.filter(visible=True)).to_have_count(0)
    before = maren.page.evaluate(PLACES)
    maren.practises(9)  # the 1 s between the channels is no rest to ask in, and its words do not flash
    expect(asked.filter(visible=True)).to_have_count(0)
    assert maren.page.locator("[data-words]").inner_text() != "Rest now"
    maren.confirms_the_number(1)
    assert maren.page.evaluate(PLACES) == before
    assert maren.out_of_view("[data-ask-strength='2'] [data-right]", *IN_REACH) == []
    maren.practises(12)
    expect(asked.filter(visible=True)).to_have_count(0)
    maren.confirms_the_number(1)
    maren.doubles_the_text()
    maren.practises(5)
    assert maren.out_of_view(*IN_REACH) == []
    maren.page.evaluate("document.documentElement.style.fontSize = ''")
    maren.page.set_viewport_size({"width": 740, "height": 360})
    assert maren.out_of_view(*IN_REACH) == []
    maren.presses("Pause")
    assert maren.draft()["strength"] == [22, 18]


def test_after_the_end_it_is_said_three_times_more_until_the_unit_is_off(
    at_the_timer: Callable[..., Practising]
) -> None:
    """One, two and three minutes after the end; the next page takes over what is still to come, her answer ends it."""
    maren = at_the_timer(planned_s=20)
    maren.page.evaluate("() => { window.before = window.started.length; }")
    maren.practises(22)
    maren.sees("The time is up")
    maren.sees(OFF_SWITCH)
    ended, started = maren.page.evaluate("[window.sounding.currentTime, window.started.slice(window.before)]")
    later = [at - ended for at in started if at > ended + 10]
    assert len(later) == 6  # tone and words, three times
    assert [round(at / 60) for at in later[::2]] == [1, 2, 3]
    maren.practises(70)
    maren.presses("Go on to the end")
    maren.is_on("end-1")
    maren.presses("All are at 0")
    maren.page.wait_for_function("window.started.filter((at) => at > window.sounding.currentTime + 5).length === 4")
    maren.page.evaluate(COUNT_STOPS)
    maren.presses("My unit is off")
    maren.sees("Your unit is off")
    assert maren.page.evaluate("window.stopped") == 4


def test_a_rest_that_the_clinic_asks_for_ends_the_cues_with_the_unit_first(
    at_the_timer: Callable[..., Practising]
) -> None:
    """One about another exercise changes nothing. About this one: no cue but the words of the end, and no way back."""
    maren = at_the_timer()
    sheet = maren.page.locator("[data-sheet=asked]")
    maren.page.evaluate(ASK_TO_STOP, [2])
    maren.practises(2)
    expect(sheet).to_be_hidden()
    maren.presses("Pause")
    maren.page.evaluate("() => { window.before = window.started.length; }")
    maren.page.evaluate(ASK_TO_STOP, [1])
    maren.sees("Your therapist asks you to rest.")
    maren.sees(OFF_SWITCH)
    maren.page.keyboard.press("Escape")
    expect(sheet).to_be_visible()
    asked, started = maren.page.evaluate("[window.sounding.currentTime, window.started.slice(window.before)]")
    assert [round((at - asked) / 60) for at in started[::2]] == [0, 1, 2]
    maren.practises(30)
    maren.page.locator("[data-sheet=asked] [data-asked-off]").click()
    maren.is_on("end-1")
    maren.sees("Your unit is off")
    assert maren.draft()["ended"] == 8
    assert 4 <= cued_s(maren) <= 8


def test_a_rest_for_a_pad_place_ends_what_has_a_pad_there(at_the_timer: Callable[..., Practising]) -> None:
    """A finding of another phone is about another exercise, and this one has a pad on the same skin."""
    maren = at_the_timer()
    whole = maren.page.evaluate("async () => (await fetch('data/plan.json')).json()")
    whole["exercises"][1]["places"][0] = whole["exercises"][0]["places"][0]
    maren.page.route("**/data/plan.json", lambda route: route.fulfill(json=whole))
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.page.evaluate(ASK_TO_STOP, [2])
    maren.sees("Your therapist asks you to rest.")


def test_a_rest_after_the_end_leaves_the_session_done(at_the_timer: Callable[..., Practising]) -> None:
    """The end asks for the unit already: nothing is asked twice, and what was done is not called broken off."""
    maren = at_the_timer(planned_s=20)
    maren.practises(22)
    maren.sees("The time is up")
    maren.page.evaluate(ASK_TO_STOP, [1])
    maren.practises(2)
    expect(maren.page.locator("[data-sheet=asked]")).to_be_hidden()
    maren.presses("Go on to the end")
    maren.is_on("end-1")
    assert maren.draft()["ended"] == 1


def test_what_was_chosen_is_heard(at_the_timer: Callable[..., Practising]) -> None:
    """On the page Sound she chooses to hear less, softly, without shaking: it is kept, and the next session is so."""
    maren = at_the_timer()
    maren.page.evaluate(DROP)
    maren.opens("sound")
    for summary, choice in CHOSEN.items():
        maren.page.locator("summary", has_text=summary).click()
        maren.page.get_by_role("radio", name=choice, exact=True).check()
        maren.sees("Kept on this phone.")
        expect(maren.page.locator("details[open] [data-chosen]")).to_have_text(choice)
    maren.opens("today")
    maren.page.get_by_role("link", name="Sound", exact=True).click()
    maren.is_on("sound")
    maren.sees("Only when to start and stop")
    maren.page.add_init_script(WATCH)
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.practises(30)
    lengths, gains, shaken = maren.page.evaluate("[window.lengths, window.gains, window.shaken]")
    assert set(lengths) - {0} == {RISE_AND_EASE_S}  # hold and rest are longer
    assert (set(gains), shaken) == ({0.5}, 0)


def test_words_come_with_the_time_and_not_with_the_frames(at_the_timer: Callable[..., Practising]) -> None:
    """On a phone that draws one picture a second, or none, each cue's words come when it is due (low-power mode)."""
    shown = []
    for frames in ("", "window.requestAnimationFrame = () => 0;"):
        one = at_the_timer(script=frames)
        one.page.evaluate(NOTE_WORDS)
        for _ in range(60):
            one.page.clock.run_for(500)
        shown.append(one.page.evaluate("window.noted"))
    usual, still = ([(at - noted[0][0], words) for at, words in noted] for noted in shown)
    together = list(zip(usual, still, strict=False))
    assert len(together) >= 6
    assert all(words == same and abs(at - when) <= 1 for (at, words), (when, same) in together)
