"""The client's pages in a real browser: a session from skin to note, what leads elsewhere, and who can use them."""

from __future__ import annotations

import gzip
import posixpath
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.practising import Practising
from tests.client_pages.invented_plan import invented_plan
from tests.client_pages.pack_server import served
from webapp.client.packing import PackFile, render_pack
from webapp.client.pages import page_paths
from webapp.issuing import compile_pack

pytestmark = pytest.mark.browser
PLAN = invented_plan()
STAGES = {"set-up": "set-up", "zero": "zero", "turn-up": "turn-up", "timer": "timer", "lost": "zero", "look": "zero",
          "end": "end",
          "skin-after": "skin-after", "questions": "questions"}  # fmt: skip
DIFFERENT = ("timer-2", "timer-3", "turn-up-2")  # of the other exercises, what looks different
LOOKED_AT = [{"skin": "skin?exercise=1"}.get(path, path) for path in page_paths(PLAN)
             if path in DIFFERENT or not path.endswith(("-2", "-3"))]  # fmt: skip
SHEETS = [("timer-1", "help"), ("timer-1", "pause"), ("timer-1", "stop"), ("today", "not-today")]  # fmt: skip
OF_THE_HAND = ("[data-words]", "[data-tap]", "[data-pause]", "main .btn.stop", "[data-open=help]")
SMALLEST_TARGET_PX, STOP_PX, SMALLEST_TEXT_PX = 56, 64, 18


@pytest.fixture(scope="module")
def pack(clips: Path) -> dict[str, PackFile]:
    """Renders the invented plan's pack once."""
    return render_pack(compile_pack(PLAN, clips, lambda *_: None))


@pytest.fixture(scope="module")
def address(pack: dict[str, PackFile]) -> Iterator[str]:
    """Serves the pack; gives the address of its pages."""
    with served(pack) as root:
        yield root


def brought_by(script: str, pack: dict[str, PackFile], known: frozenset[str] = frozenset()) -> frozenset[str]:
    """Lists a script and all that it imports, at once or later; every one of them is in the pack."""
    names = re.findall(r"""(?:from|import)\s*\(?\s*"(\.[^"]+)\"""", pack[script].content.decode())
    known |= {script}
    for name in names:
        path = posixpath.normpath(posixpath.join(posixpath.dirname(script), name))
        if path not in known and not path.endswith(".d.ts"):
            known |= brought_by(path, pack, known)
    return known


@pytest.fixture
def client(browser_tool: Playwright, address: str) -> Iterator[Callable[..., Practising]]:
    """Makes clients with a phone of a given look; their browsers end with the test."""
    made: list[Practising] = []

    def make(**look: Any) -> Practising:
        made.append(Practising(browser_tool, address, **look))
        return made[-1]

    yield make
    for one in made:
        one.ends()


@pytest.fixture(scope="module")
def light(browser_tool: Playwright, address: str) -> Iterator[Practising]:
    """Gives one client whose phone goes from page to page."""
    one = Practising(browser_tool, address)
    yield one
    one.ends()


def test_the_short_set_up_grows_again_when_asked_or_after_a_change(client: Callable[..., Practising]) -> None:
    """Only its steps, counted anew, and no look at settings that the unit keeps; a new battery brings all back."""
    ruta = client()
    unit = {"exercise": 2, "places": 2, "channels": 1}
    ruta.is_handed("set-up-2", stage="set-up", **unit)
    steps = ruta.page.locator("[data-step]")
    whole = steps.count()
    ruta.has_practised(2, minutes_ago=300)
    ruta.is_handed("set-up-2", stage="set-up", **unit)
    ruta.sees("This is the short set-up.")
    short = steps.count()
    assert short < whole
    ruta.sees(f"Step 1 of {short}")
    ruta.presses("Show all the steps")
    expect(steps).to_have_count(whole)
    ruta.is_handed("zero-2", stage="zero", **unit)
    ruta.presses("Done")
    ruta.is_on("turn-up-2")
    ruta.changes_the_battery()
    ruta.is_handed("zero-2", stage="zero", **unit)
    expect(ruta.page.locator("[data-step=same]")).not_to_have_count(0)


def test_set_up_goes_on_at_the_step_that_was_left(client: Callable[..., Practising]) -> None:
    """After a call, and where the sound check was left; all the steps, asked for, begin with the first."""
    maren = client()
    maren.is_handed("set-up-1", stage="set-up")
    shown = maren.page.locator("[data-step][data-now]")
    maren.presses_in_turn("Done", "Done")
    left = shown.get_attribute("data-number")
    assert left not in (None, maren.page.locator("[data-step]").first.get_attribute("data-number"))
    maren.opens("today")
    maren.page.get_by_role("link", name="Go on where you were").click()
    maren.is_on("set-up-1")
    expect(shown).to_have_attribute("data-number", str(left))
    maren.forgets_the_sound_check()
    last = maren.page.locator("[data-step]").last.get_attribute("data-number")
    maren.opens("set-up-1")
    while shown.get_attribute("data-number") != last:
        maren.presses("Done")
    maren.presses("Done")
    maren.is_on("sound-check")
    maren.opens("today")
    maren.page.get_by_role("link", name="Go on where you were").click()
    maren.is_on("set-up-1")
    expect(shown).to_have_attribute("data-number", str(last))
    maren.presses("Done")
    maren.is_on("sound-check")


def test_a_session_from_the_skin_check_to_the_note(client: Callable[..., Practising]) -> None:
    """Every step in its order; what was practised and answered is in the log, once."""
    maren = client()
    maren.starts_from_today()
    maren.finds_nothing_new(2)
    maren.opens("today")
    maren.page.get_by_role("link", name="Go on where you were").click()
    maren.is_on("skin")
    maren.sees("Step 3 of 4")
    maren.finds_nothing_new(1)
    maren.presses("Go back 1 step")
    maren.finds_nothing_new(2)
    maren.answers(2)
    maren.sets_up_and_skips_the_last_step()
    maren.has_the_unit_on_at_zero()
    maren.turns_up(22, 18)
    maren.taps_at_the_rise()
    maren.practises(60)
    maren.confirms_the_number(2)
    maren.presses_stop_and_turns_the_unit_off("I am tired, or it is enough")
    maren.takes_the_pads_off()
    maren.finds_nothing_new(4)
    maren.answers(3)
    maren.answers(5)
    maren.presses("No, I did it alone")
    maren.writes("It went well. ✓")
    maren.presses("I did")
    maren.sees("Saved on this phone")
    maren.sees("You are finished for now.")
    (record,) = maren.log()
    assert record | {"kind": "session", "exercise": 1, "ended": 5, "skin_before": [0] * 4, "skin_after": [0] * 4,
                    "strength_half_ma": [44, 36], "pain_before_n": 2, "pain_after_n": 3, "effort_n": 5, "help": 0,
                    "note": "It went well. ✓", "answered_by": 0} == record
    assert 58 <= record["cued_s"] <= 90  # a minute, up to a cycle until the question, and what a busy machine takes
    assert record["contractions_n"][0] in (2, 3)
    assert len(record["steps_skipped"]) == 1
    assert "longest_step" not in record  # none took a minute


def test_pain_is_not_well_done_and_is_told_before_the_next_practice(client: Callable[..., Practising]) -> None:
    """The end says whom to call; today offers no Start, and the next day only what she says she told."""
    maren = client()
    maren.is_handed("questions-1", stage="questions", cued_ms=61_000, ended=1, skin_after=[0, 0, 0, 0])
    maren.answers(7)
    maren.answers(5)
    maren.presses("No, I did it alone")
    maren.writes("")
    maren.presses("I did")
    maren.is_on("done")
    maren.sees("Enough for today")
    expect(maren.page.locator("a[href^='tel:']:visible")).to_have_count(1)
    expect(maren.page.get_by_text("Well done")).to_have_count(0)
    maren.page.get_by_role("link", name="Go to today").click()
    maren.is_on("today")
    maren.sees("Enough for today. Tell your therapist before you practise again.")
    maren.page.clock.fast_forward(24 * 3_600_000)
    maren.opens("skin?exercise=1")
    maren.is_on("today")
    maren.sees("It hurt last time")
    maren.presses("I have told my therapist")
    maren.is_on("today")
    assert maren.start_leads_to() == "skin?exercise=1"


@pytest.mark.parametrize(("answer", "page"), [(1, "wait"), (2, "no-practice"), (4, "no-practice")])
def test_a_finding_before_a_session_does_not_lead_to_the_timer(
    client: Callable[..., Practising], answer: int, page: str
) -> None:
    """Pink waits an hour, anything worse means no practice; either is in the log, and today says so."""
    maren = client()
    maren.starts_from_today()
    maren.presses("Yes, something is new")
    maren.page.locator(f"[data-step=what][data-now] [data-skin='{answer}']").click()
    calls = maren.page.locator("[data-step=sure][data-now] a[href^='tel:']")
    expect(calls).to_have_count(0 if page == "wait" else 1)  # at this place, before the others are asked for
    maren.presses("Yes, that is right")
    maren.finds_nothing_new(3)
    maren.is_on(page)
    records = maren.log()
    assert (records[0]["kind"], records[0]["skin"], records[0]["place_n"]) == ("finding", answer, 0)
    assert [r["kind"] for r in records[1:]] == ([] if page == "wait" else ["not_today"])
    maren.opens("today")
    if page == "no-practice":
        maren.sees("No practice until your therapist says so")
        maren.opens("skin?exercise=1")
        maren.is_on("today")


def test_pink_on_one_place_lets_the_other_exercise_be_done(client: Callable[..., Practising]) -> None:
    """Today offers what other skin allows. A wrong tap is taken back before it counts: it is nowhere in the log."""
    maren = client()
    maren.starts_from_today()
    maren.presses("Yes, something is new")
    maren.page.locator("[data-step=what][data-now] [data-skin='4']").click()
    maren.presses("No, I tapped the wrong answer")
    maren.finds_something_new(1)
    maren.finds_nothing_new(3)
    maren.opens("today")
    assert [(r["kind"], r["skin"]) for r in maren.log()] == [("finding", 1)]
    assert maren.start_leads_to() == "skin?exercise=2"


def test_contact_lost_twice_is_enough_for_today(client: Callable[..., Practising]) -> None:
    """The first time it starts again from zero; the second time the session is over and today is closed."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.loses_contact()
    maren.presses_in_turn("All are at 0", "My unit is off", "Done", "Done", "Start again from 0")
    maren.is_on("zero-1")
    maren.loses_contact()
    maren.presses_in_turn("All are at 0", "My unit is off")
    maren.sees("Finished for today")
    maren.presses("Take the pads off")
    maren.takes_the_pads_off()
    assert [(r["kind"], r["why"]) for r in maren.log()] == [("not_today", 6)]
    assert maren.draft()["ended"] == 6


@pytest.mark.parametrize("stage", ["zero", "turn-up", "timer"])
def test_a_session_found_again_asks_whether_the_unit_is_on(client: Callable[..., Practising], stage: str) -> None:
    """Opened anew, whatever page, it asks first; then the skin; the session is kept as cut off with what was cued."""
    maren = client()
    maren.is_found_with(stage=stage, cued_ms=61_000, contractions=[2, 2])
    maren.opens("log")
    maren.is_on("found")
    maren.sees("The cues have stopped.")
    maren.presses("Yes, or I am not sure")
    maren.sees("Press the big round button 1 time.")
    maren.presses("My unit is off")
    maren.takes_the_pads_off()
    maren.finds_nothing_new(4)
    maren.is_on("questions-1")
    assert maren.draft()["stage"] == "questions"
    maren.page.clock.fast_forward(2 * 3_600_000)  # she answers no question
    maren.opens("today")
    (record,) = maren.log()
    assert (record["ended"], record["cued_s"], record["contractions_n"]) == (8, 61, [2, 2])
    assert record["skin_after"] == [0, 0, 0, 0]


def test_a_finding_after_a_session_that_was_cut_off_is_told(client: Callable[..., Practising]) -> None:
    """The skin is asked for as after any session, and a sore place leads to the call."""
    maren = client()
    maren.is_found_with(stage="timer", cued_ms=61_000, contractions=[2, 2])
    maren.opens("today")
    maren.is_on("found")
    maren.presses("No, it is off")
    maren.takes_the_pads_off()
    maren.finds_something_new(3)
    maren.finds_nothing_new(3)
    maren.sees("Tell your therapist today")


def test_a_reload_of_the_timer_asks_whether_the_unit_is_on(client: Callable[..., Practising]) -> None:
    """The cues are gone, so nothing is taken for granted."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.page.reload()
    maren.is_on("found")


def test_a_second_window_does_not_close_a_session_that_runs(client: Callable[..., Practising]) -> None:
    """It says that the practice is open elsewhere, and the session goes on."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    other = maren.opens_a_second_window("today")
    other.get_by_text("Your practice is open in another window").wait_for()
    assert maren.log() == []
    assert maren.draft()["stage"] == "timer"


def test_a_strength_above_the_ceiling_does_not_lead_on(client: Callable[..., Practising]) -> None:
    """The page says so, and goes on when it is turned down."""
    maren = client()
    maren.is_handed("turn-up-1", stage="turn-up")
    maren.presses("It runs")
    maren.sees("Not above 28")
    maren.presses("The movement is there")
    maren.presses("That is the number")
    maren.sees("Tap + or − so that it shows the same number as your unit.")
    maren.page.locator("[data-strength]:visible [data-more]").click()
    expect(maren.page.locator("[data-strength]:visible [data-number]")).to_have_text("1")
    maren.presses("22, as in the clinic")
    maren.sets_the_number(29)
    maren.sees("This is above your plan. Turn your unit down to 28 first.")
    assert maren.page.get_by_role("button", name="That is the number").filter(visible=True).is_disabled()
    maren.sets_the_number(28)
    maren.presses("That is the number")
    maren.sees("Turn up channel 2")
    maren.sees("The fingers close round the thing you hold.")


def test_a_broken_lead_ends_the_session(client: Callable[..., Practising]) -> None:
    """Where the words say to stop for today, there is a button for it, and the pads come off next."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.loses_contact()
    maren.presses_in_turn("All are at 0", "My unit is off", "Stop for today")
    maren.takes_the_pads_off()
    assert maren.draft()["ended"] == 6


def test_pause_asks_what_the_unit_does(client: Callable[..., Practising]) -> None:
    """A unit that goes on: silent, then back in step. One that is off: from zero, and the minutes that passed count."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.practises(35)
    maren.presses("Pause")
    maren.sees("What is your unit doing?")
    maren.presses_in_turn("I paused it", "Go back", "It goes on")  # a wrong answer is taken back
    maren.practises(30)
    maren.page.locator("[data-sheet=pause] .btn.stop:visible").click()
    maren.sees("Your unit is still on")
    maren.page.locator("[data-sheet=stop] [data-close]").click()
    maren.sees("Your unit goes on. The phone is quiet.")
    maren.presses("Go back to practice")
    maren.practises(5)
    maren.presses("Pause")
    maren.presses("It is off")
    maren.practises(90)  # it takes her a while, with the unit off
    maren.sees("19 minutes left")
    maren.presses("Start again from 0")
    maren.is_on("zero-1")
    maren.has_the_unit_on_at_zero()
    maren.presses_in_turn("It runs", "The movement is there", "22, as last time")
    draft = maren.draft()
    assert draft["pauses_n"] == 2
    assert 35_000 <= draft["cued_ms"] <= 55_000
    assert 65_000 <= draft["passed_ms"] <= 85_000  # 30 s of it were silent, the unit went on
    assert draft["cued_ms"] <= draft["passed_ms"] - 25_000
    maren.is_handed("timer-1", **{name: draft[name] for name in ("cued_ms", "passed_ms", "strength")}, stage="timer")
    expect(maren.page.locator("[data-eyebrow]")).to_have_text("19 minutes left")
    maren.taps_at_the_rise()
    maren.practises(5)
    expect(maren.page.locator("[data-eyebrow]")).to_have_text("19 minutes left")


def test_help_over_the_timer_lets_the_session_go_on(client: Callable[..., Practising]) -> None:
    """One press away and one press back; the cues go on meanwhile."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18])
    maren.taps_at_the_rise()
    maren.page.get_by_role("link", name="Help").click()
    maren.sees("Your practice goes on while you read.")
    maren.practises(40)
    maren.page.get_by_role("button", name="Go back to practice").first.click()
    assert maren.page.locator("[data-left]").inner_text() == "40 more times"
    maren.is_on("timer-1")


def test_the_cues_end_with_a_unit_that_may_still_be_on(client: Callable[..., Practising]) -> None:
    """The phone's end is not the unit's: it says so until the client says that it is off."""
    maren = client()
    maren.is_handed("timer-1", stage="timer", strength=[22, 18], planned_s=20)
    maren.taps_at_the_rise()
    maren.practises(15)
    maren.page.evaluate("AudioBufferSourceNode.prototype.stop = () => {}")
    for _ in range(80):
        maren.page.clock.run_for(100)
        if "Time is up" in maren.page.locator("[data-words]").inner_text():
            break
    expect(maren.page.locator("[data-sheet=ended]")).to_be_visible()  # with its first word, not after its last
    maren.practises(5)
    maren.presses("Go on to the end")
    maren.is_on("end-1")
    maren.sees("Your unit may still be on")
    maren.presses_in_turn("All are at 0", "My unit is off")
    maren.sees("Your unit is off")
    maren.takes_the_pads_off()
    assert maren.draft()["ended"] == 1


def test_the_phone_leads_only_where_a_switch_follows_it(client: Callable[..., Practising]) -> None:
    """Three, two, one, then the first cue; nothing is counted before."""
    maren = client()
    maren.is_handed("timer-2", stage="timer", exercise=2, places=2, channels=1, strength=[30])
    maren.remembers_the_words()
    maren.presses("Start: 3, 2, 1")
    maren.page.clock.run_for(100)
    assert maren.page.locator("[data-seconds]").inner_text().strip() in ("3", "2")
    for _ in range(20):
        maren.page.clock.run_for(200)
    assert maren.words_shown()[0].endswith("Lift your foot")


def test_a_step_of_the_build_up_waits_for_the_units_own_minutes(client: Callable[..., Practising]) -> None:
    """Set first, then looked at; who cannot set them practises as long as before. No question where nothing changed."""
    maren = client()
    maren.has_practised(exercise=1, minutes_ago=600)
    for answer, minutes in (("They are set", 25), ("I cannot set it. 20 minutes as before", 20)):
        maren.is_handed("zero-1", stage="zero", planned_s=1500)
        for _ in range(maren.page.locator("[data-step=unit]").count()):
            maren.presses("Done")
        maren.sees("From today: 25 minutes")
        maren.presses(answer)
        maren.presses("Yes, it is the same")
        maren.sees(f"{minutes} minutes")
        assert maren.draft()["planned_s"] == 60 * minutes
    maren.is_handed("zero-1", stage="zero", planned_s=1200)
    for _ in range(maren.page.locator("[data-step=unit]").count()):
        maren.presses("Done")
    maren.presses("Yes, it is the same")
    maren.sees("20 minutes")


def test_the_skin_is_asked_for_an_hour_later(client: Callable[..., Practising]) -> None:
    """Today leads to it; the answer names the session."""
    maren = client()
    maren.has_practised(exercise=1, minutes_ago=90)
    maren.opens("today")
    maren.page.get_by_role("link", name="Look at your skin").click()
    maren.is_on("later")
    maren.finds_nothing_new(4)
    maren.sees("Thank you")
    record = maren.log()[-1]
    assert (record["kind"], record["session_seq"], record["when"], record["skin"]) == ("skin_later", 1, 1, [0] * 4)


@pytest.mark.parametrize("path", LOOKED_AT)
def test_a_page_can_be_used_by_all(light: Practising, path: str) -> None:
    """axe finds nothing (WCAG 2.2 A, AA), light or dark; targets and text are large, Stop is lowest, none is cut off.

    Also at twice its size, and on a narrow phone.
    """
    light.opens_somehow(path, STAGES)
    assert light.axe() == []
    light.sets_the_phone_to("dark")
    assert light.axe() == []
    light.sets_the_phone_to("light")
    assert light.targets_below(SMALLEST_TARGET_PX) == []
    assert light.texts_below(SMALLEST_TEXT_PX) == []
    if path.startswith(("zero", "turn-up", "timer")):
        stop = light.page.locator("main .btn.stop").bounding_box()
        assert stop
        assert (stop["height"] >= STOP_PX, stop["width"] >= 318, stop["y"] + stop["height"] <= 740) == (True,) * 3
        assert light.nothing_is_below("main .btn.stop")
    if path.startswith("timer"):
        assert light.page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    if path.startswith("timer"):
        light.page.set_viewport_size({"width": 740, "height": 360})
        assert light.out_of_view(*OF_THE_HAND) == []
        light.page.set_viewport_size({"width": 360, "height": 740})
    light.doubles_the_text()
    if path.startswith("timer"):
        assert light.out_of_view(*OF_THE_HAND) == []
    assert light.cut_off() == []
    light.page.set_viewport_size({"width": 320, "height": 740})
    assert light.cut_off() == []
    light.page.set_viewport_size({"width": 360, "height": 740})


@pytest.mark.parametrize(("path", "sheet"), SHEETS)
def test_axe_finds_nothing_on_a_sheet(light: Practising, path: str, sheet: str) -> None:
    """Help, Pause and Stop over a session, and what else opens over a page."""
    light.opens_somehow(path, STAGES)
    light.opens_the_sheet(sheet)
    assert light.axe() == []
    if (path, sheet) in {("timer-1", "help"), ("timer-1", "pause")}:
        stop = light.page.locator("dialog[open] .btn.stop:visible").bounding_box()
        assert stop
        assert (stop["height"] >= STOP_PX, stop["width"] >= 318, stop["y"] + stop["height"] <= 740) == (True,) * 3


def test_without_scripts_each_page_still_reads_as_instructions(client: Callable[..., Practising]) -> None:
    """Every step is there, in order, and the pages lead on to one another."""
    maren = client(java_script_enabled=False)
    for path in LOOKED_AT:
        maren.page.goto(maren.address + path)
        hidden = maren.page.locator("[data-step]").filter(visible=False).count()
        assert hidden == maren.page.locator("[hidden] [data-step], [data-step][hidden]").count(), path
    maren.page.goto(maren.address + "set-up-1")
    maren.page.get_by_role("link", name="Next: Unit on, at 0").click()
    maren.page.get_by_role("link", name="Next: Turning up").click()
    maren.page.get_by_role("link", name="Next: Timer").click()
    maren.sees("Starting: reach and open")


def test_scripts_of_a_page_are_small(pack: dict[str, PackFile]) -> None:
    """At most 60 kB of compressed JavaScript for each page, with all that its script imports."""
    pages = [path for path in pack if path.startswith("static/pages/")]
    assert "static/pages/timer.js" in pages
    for page in pages:
        scripts = brought_by(page, pack)
        assert len(scripts) > 1, page
        assert sum(len(gzip.compress(pack[path].content)) for path in scripts) <= 60_000, page


def test_all_that_a_phone_fetches_is_small(tmp_path: Path) -> None:
    """At most 200 kB compressed for a plan of one exercise; sounds, the font and pictures are not counted."""
    plan = {**PLAN, "exercises": PLAN["exercises"][:1]}
    pack = render_pack(compile_pack(plan, tmp_path, lambda *_: None))
    counted = [file.content for path, file in pack.items() if not path.endswith((".wav", ".woff2", ".png", ".svg"))]
    assert 50_000 <= sum(len(gzip.compress(content)) for content in counted) <= 200_000


def test_axe_itself_would_find_something(client: Callable[..., Practising]) -> None:
    """The check is alive: a picture without a text is found."""
    maren = client()
    maren.opens("today")
    picture = "Object.assign(new Image(), { src: 'static/icons/hill.svg' })"
    maren.page.evaluate(f"document.querySelector('main').append({picture})")
    assert [found["id"] for found in maren.axe()] == ["image-alt"]


