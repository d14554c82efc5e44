"""A client who practises: her phone on the pages of a pack, with a clock that the test moves."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from playwright.sync_api import Page, Playwright, expect

from tests.browser.phone import SMALL
from tests.browser.shared_browser import shared_browser

AXE = Path(__file__).resolve().parents[1] / "vendor" / "axe.min.js"
MORNING = "2026-11-24T09:10:00"
AT_MIN = 29_925_190  # the morning in local minutes, as in the scripts below
NEW_PHONE = """async (handle) => {
  const { openDatabase } = await import('./static/parts/phone_database.js');
  const { setMetas } = await import('./static/parts/log_store.js');
  const { rootKey } = await import('./static/parts/sealing.js');
  await setMetas(await openDatabase(handle, true), {
    device: '0123456789abcdef', handle, first_name: 'Maren', code: 'SL-07', root_key: await rootKey(new Uint8Array(32)),
    store: 'fedcba9876543210', next_seq: 1, current_pack: { pack_id: 'a'.repeat(32), version: 1 },
    sound_ok: { voice: 'both' }, settings: { voice: 'both' } });
}"""
NEW_DRAFT = """async ({ handed, draft, places, channels }) => {
  const { openStore, saveDraft } = await import('./static/parts/log_store.js');
  const { newDraft } = await import('./static/parts/session.js');
  const of = { exercise: 1, version: 2, plan: 1, at_min: 29925190, utc_q: 0, planned_s: 1200, places, channels };
  const made = { ...newDraft(of), ...draft };
  await saveDraft(await openStore(), made);
  if (handed) sessionStorage.setItem('handed-' + location.pathname.split('/')[2], JSON.stringify(made));
}"""
# the audio clock goes with the test's clock, as a phone's goes with the wall's; `lagS` is how far it has fallen behind,
# `heldS` where it stands still
AUDIO_CLOCK = """window.lagS = 0; window.heldS = null; window.started = [];
window.AudioContext = class extends AudioContext {
  constructor(options) { super(options); window.sounding = this; } };
Object.defineProperty(BaseAudioContext.prototype, 'currentTime', { configurable: true,
  get() { return window.heldS ?? performance.now() / 1000 - window.lagS; } });
const { start } = AudioBufferSourceNode.prototype;
AudioBufferSourceNode.prototype.start = function (...at) { window.started.push(at[0]); return start.apply(this, at); };
"""
# importing a page's script once more gives the same one, when it has run to its end; a page that leads elsewhere never
# does; its letters are there, too
ALIVE = """() => { if (window.alive === undefined) { window.alive = false;
  Promise.all([...document.querySelectorAll('script[type=module][src]')].map((script) => import(script.src)))
    .then(() => document.fonts.ready).then(() => { window.alive = true; }); }
  return window.alive; }"""
FADED = "() => document.getAnimations().filter((a) => a instanceof CSSTransition).forEach((a) => a.finish())"
TARGETS = """(least) => [...document.querySelectorAll('main :is(a, button, summary, label, textarea), header a')]
  .filter((e) => e.checkVisibility() && !e.closest('.out-of-sight'))
  .map((e) => [e.textContent.trim(), e.getBoundingClientRect()])
  .filter(([, box]) => Math.round(box.width) < least || Math.round(box.height) < least).map(([text]) => text)"""
TEXTS = """(least) => [...document.querySelectorAll('body *')]
  .filter((e) => e.checkVisibility() && !e.closest('.out-of-sight, .page-name, svg'))
  .filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
  .filter((e) => parseFloat(getComputedStyle(e).fontSize) < least)
  .map((e) => e.textContent.trim())"""
CUT_OFF = """() => { const wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > wide) return ['page ' + document.documentElement.scrollWidth];
  return [...document.querySelectorAll('main *, header *')]
  .filter((e) => e.checkVisibility() && !e.closest('svg, .out-of-sight, .page-name')
    && (e.getBoundingClientRect().right > wide + 1 || e.getBoundingClientRect().left < -1
      || (!e.querySelector('.foot') && e.scrollWidth > e.clientWidth + 1
        && e.clientWidth > 0 && getComputedStyle(e).display !== 'inline')))
  .map((e) => e.tagName + ' ' + e.textContent.trim().slice(0, 40)); }"""

OUT_OF_VIEW = """(selectors) => selectors.filter((selector) => {
  const one = document.querySelector(selector), box = one.getBoundingClientRect();
  if (!one.checkVisibility()) return false;
  const x = (box.left + box.right) / 2;
  const over = [box.top + 4, box.bottom - 4].map((y) => document.elementFromPoint(x, y));
  const hidden = over.some((seen) => !one.contains(seen) && !seen?.contains(one));
  return hidden || box.top < 0 || box.bottom > innerHeight + 1; })"""


class Practising:
    """One client with her phone; methods say what she does or sees."""

    scripts = True

    def __init__(self, tool: Playwright, address: str, **look: Any) -> None:
        self.address = address
        self.handle = address.split("/")[4]
        scripts = look.get("java_script_enabled", True)
        self.context = shared_browser(tool).new_context(**{"viewport": SMALL, **look})
        self.page = self.context.new_page()
        self.scripts = scripts
        self.faults: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        if scripts:
            self.page.clock.install(time=MORNING)
            self.page.add_init_script(AUDIO_CLOCK)
            self._rests()
            self.page.evaluate(NEW_PHONE, self.handle)

    def ends(self) -> None:
        """Closes her pages; none of them may have failed."""
        self.context.close()
        assert self.faults == []

    def _rests(self) -> None:
        self.page.goto(self.address + "manifest.webmanifest")

    # --- what she does ---

    def opens(self, path: str) -> None:
        """Opens a page and waits until it has come to life."""
        self.page.goto(self.address + path)
        self._comes_to_life()

    def opens_a_second_window(self, path: str) -> Page:
        other = self.context.new_page()
        other.goto(self.address + path)
        return other

    def presses(self, name: str) -> None:
        """Presses a button that can be seen, by its words."""
        self.page.get_by_role("button", name=name, exact=True).filter(visible=True).first.click()

    def presses_in_turn(self, *names: str) -> None:
        for name in names:
            self.presses(name)

    def starts_from_today(self) -> None:
        self.opens("today")
        self.page.get_by_role("link", name="Start", exact=True).click()
        self.is_on("skin")

    def finds_nothing_new(self, places: int) -> None:
        """Answers for each place, one after the other."""
        for _ in range(places):
            place = self.page.locator("[data-step=look][data-now]")
            expect(place).to_be_visible()
            number = place.get_attribute("data-place")
            self.presses("No, it is as always")
            expect(self.page.locator(f"[data-step=look][data-place='{number}'][data-now]:visible")).to_have_count(0)

    def finds_something_new(self, answer: int) -> None:
        self.presses("Yes, something is new")
        self.page.locator(f"[data-step=what][data-now] [data-skin='{answer}']").click()
        self.presses("Yes, that is right")

    def answers(self, number: int) -> None:
        """Presses a number of a scale."""
        step = self.page.locator("[data-step][data-now]:visible", has=self.page.locator(".scale"))
        expect(step).to_be_visible()
        name = step.get_attribute("data-step")
        step.locator(f"[data-value='{number}']").click()
        expect(self.page.locator(f"[data-step='{name}'][data-now]:visible")).to_have_count(0)

    def sets_up_and_skips_the_last_step(self) -> None:
        self.is_on("set-up-1")
        steps = self.page.locator("[data-step]").count()
        for _ in range(steps - 1):
            self.presses("Done")
        self.presses("Skip this step")
        self.is_on("zero-1")

    def has_the_unit_on_at_zero(self) -> None:
        for _ in range(self.page.locator("[data-step=unit]").count()):
            self.presses("Done")
        self.compares_the_settings()
        self.is_on("turn-up-1")

    def compares_the_settings(self) -> None:
        for _ in range(self.page.locator("[data-step=same]").count()):
            self.presses("Yes, it is the same")

    def sets_the_number(self, wanted: int) -> None:
        """Presses minus or plus until the phone shows what the unit shows."""
        block = self.page.locator("[data-strength]:visible")
        number = block.locator("[data-number]")
        known = self.page.locator("[data-known]").filter(visible=True)
        if number.inner_text() == "?":
            (known if known.count() else block.locator("[data-more]")).first.click()
        while (shown := int(number.inner_text())) != wanted:
            block.locator("[data-more]" if shown < wanted else "[data-less]").click()

    def turns_up(self, *numbers: int) -> None:
        self.presses("It runs")
        for n, number in enumerate(numbers, 1):
            expect(self.page.locator(f"[data-channel='{n}'][data-now]")).to_be_visible()
            self.presses("The movement is there")
            self.sets_the_number(number)
            self.presses("That is the number")
        self.is_on("timer-1")

    def taps_at_the_rise(self) -> None:
        self.page.locator("[data-tap]").click()
        expect(self.page.locator("[data-pause]")).to_be_enabled()

    def practises(self, seconds: int) -> None:
        """Lets time pass, second by second, as the page's timers see it."""
        for _ in range(seconds):
            self.page.clock.run_for(1000)

    def confirms_the_number(self, channels: int) -> None:
        """Waits for a rest that is long enough to be asked in, and answers."""
        asked = self.page.locator("[data-right]:visible")
        for _ in range(60):
            if asked.count():
                break
            self.practises(1)
        for _ in range(channels):
            self.presses("Yes")

    def presses_stop_and_turns_the_unit_off(self, why: str) -> None:
        self.presses("Stop")
        self.sees("Your unit is still on")
        self.sees("Press the big round button 1 time.")
        self.presses("My unit is off")
        self.presses(why)
        self.is_on("end-1")

    def takes_the_pads_off(self) -> None:
        self.presses("The pads are off")
        self.is_on("skin-after-1")

    def loses_contact(self) -> None:
        """Help, one press, then the first line."""
        self.page.get_by_role("link", name="Help").click()
        self.page.locator("[data-sheet=help] [data-trouble-kind=quiet] summary").click()
        self.page.locator("[data-sheet=help] [data-lost]").click()
        self.is_on("lost-1")

    def writes(self, note: str) -> None:
        self.page.get_by_role("textbox").fill(note)
        self.presses("Go on")

    def doubles_the_text(self) -> None:
        self.page.evaluate("document.documentElement.style.fontSize = '200%'")

    # --- how things stand ---

    def is_handed(self, page: str, *, places: int = 4, channels: int = 2, **draft: Any) -> None:
        """Comes to a page of the session from the page before it."""
        self._rests()
        self.page.evaluate(NEW_DRAFT, {"handed": True, "draft": draft, "places": places, "channels": channels})
        self.opens(page)

    def is_found_with(self, **draft: Any) -> None:
        """Has a session under way, whose page is gone."""
        self._rests()
        self.page.evaluate(NEW_DRAFT, {"handed": False, "draft": draft, "places": 4, "channels": 2})

    def opens_somehow(self, path: str, stages: dict[str, str]) -> None:
        """Opens a page with whatever session it needs."""
        name, _, number = path.rpartition("-")
        if name in stages and number.isdigit():
            n = int(number)
            self.is_handed(path, places=4 if n == 1 else 2, channels=2 if n == 1 else 1, exercise=n, stage=stages[name],
                           strength=[12] * (2 if n == 1 else 1))  # fmt: skip
        elif path == "found":
            self.is_found_with(stage="timer")
            self.opens(path)
        else:
            self.drops_the_session()
            self.opens(path)

    def drops_the_session(self) -> None:
        """Has no session under way any more."""
        self._rests()
        self.page.evaluate("""async () => {
          const log = await import('./static/parts/log_store.js'); await log.dropDraft(await log.openStore()); }""")

    def forgets_the_sound_check(self) -> None:
        self.page.evaluate("""async () => {
          const log = await import(new URL('static/parts/log_store.js', location.href).href);
          await log.setMetas(await log.openStore(), { sound_ok: undefined }); }""")

    def opens_the_sheet(self, name: str) -> None:
        self.page.locator(f"[data-sheet={name}]").evaluate("(sheet) => sheet.showModal()")

    def has_practised(self, exercise: int, minutes_ago: int) -> None:
        """Has a session in the log."""
        self._rests()
        self.page.evaluate("""async ({ exercise, at_min }) => {
          const log = await import('./static/parts/log_store.js');
          const s = await import('./static/parts/session.js');
          const of = { exercise, version: 2, plan: 1, at_min, utc_q: 0, planned_s: 1200, places: 4, channels: 2 };
          const draft = { ...s.newDraft(of), cued_ms: 1200000, ended: 1, skin_after: [0, 0, 0, 0] };
          await log.writeRecord(await log.openStore(), 'session', s.sessionFields(draft, 'ma'));
        }""", {"exercise": exercise, "at_min": AT_MIN - minutes_ago})

    def changes_the_battery(self) -> None:
        """Has a new battery in the log."""
        self._rests()
        self.page.evaluate("""async () => { const log = await import('./static/parts/log_store.js');
          await log.writeRecord(await log.openStore(), 'changed', { what: 2, version: 2, by: 0 }); }""")

    # --- what can be seen ---

    def remembers_the_words(self) -> None:
        """Keeps every word that the timer shows from now on."""
        self.page.evaluate("""() => { const words = document.querySelector('[data-words]'); window.shown = [];
          new MutationObserver(() => window.shown.push(words.textContent))
            .observe(words, { childList: true, characterData: true, subtree: true }); }""")

    def words_shown(self) -> list[str]:
        return list(self.page.evaluate("window.shown"))

    def sees(self, words: str) -> None:
        expect(self.page.get_by_text(words).filter(visible=True).first).to_be_visible()

    def is_on(self, page: str) -> None:
        """Waits until a page is open and alive."""
        self.page.wait_for_url(lambda url: url.removeprefix(self.address).partition("?")[0] == page)
        self._comes_to_life()

    def _comes_to_life(self) -> None:
        """Waits until the scripts of the page have run to their end: a press before that would go nowhere."""
        if self.scripts:
            self.page.wait_for_function(ALIVE)

    def start_leads_to(self) -> str | None:
        start = self.page.get_by_role("link", name="Start", exact=True)
        expect(start).to_have_count(1)  # a page that is still without its styles shows the links for no script too
        return start.get_attribute("href")

    def log(self) -> list[dict[str, Any]]:
        """Reads the records on this phone."""
        found: list[dict[str, Any]] = self.page.evaluate("""async () => {
          const log = await import(new URL('static/parts/log_store.js', location.href).href);
          return (await log.allRecords(await log.openStore())).map((kept) => kept.record); }""")
        return found

    def draft(self) -> dict[str, Any]:
        """Reads the session under way."""
        found: dict[str, Any] = self.page.evaluate("""async () => {
          const log = await import(new URL('static/parts/log_store.js', location.href).href);
          return log.readDraft(await log.openStore()); }""")
        return found

    def sets_the_phone_to(self, scheme: Literal["light", "dark"]) -> None:
        """Colours that would fade over are there at once."""
        self.page.emulate_media(color_scheme=scheme)
        self.page.evaluate(FADED)

    def axe(self) -> list[dict[str, Any]]:
        """Asks axe for what breaks WCAG 2.2 A or AA."""
        if not self.page.evaluate("'axe' in window"):
            self.page.evaluate(AXE.read_text(encoding="utf-8"))
        found: list[dict[str, Any]] = self.page.evaluate("""async () => (await axe.run(document, { runOnly:
          ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })).violations.map((v) =>
          ({ id: v.id, nodes: v.nodes.map((n) => n.html.slice(0, 120)) }))""")
        return found

    def targets_below(self, least_px: int) -> list[Any]:
        return list(self.page.evaluate(TARGETS, least_px))

    def texts_below(self, least_px: int) -> list[Any]:
        return list(self.page.evaluate(TEXTS, least_px))

    def nothing_is_below(self, selector: str) -> bool:
        """Tells whether an element is the lowest that can be pressed."""
        return bool(self.page.evaluate("""(selector) => {
          const low = document.querySelector(selector).getBoundingClientRect().bottom;
          return [...document.querySelectorAll('main a, main button')].filter((e) => e.checkVisibility())
            .every((e) => e.getBoundingClientRect().bottom <= low + 1 || e.getBoundingClientRect().top > innerHeight - 1
              || e.getBoundingClientRect().bottom > innerHeight); }""", selector))

    def out_of_view(self, *selectors: str) -> list[Any]:
        """Lists what is not whole on the screen, or lies under something else."""
        return list(self.page.evaluate(OUT_OF_VIEW, selectors))

    def cut_off(self) -> list[Any]:
        return list(self.page.evaluate(CUT_OFF))
