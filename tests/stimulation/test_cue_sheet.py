"""The cue sheet: which cues there are, which of them sound, and what they say."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from tests.stimulation.plans import plan
from tests.vectors.laying_over import load
from webapp.formats.cue_sheet_json import read_cue_sheet
from webapp.stimulation.cue_sheet import WORD_KEYS, CueSheet, Wording, clip_id, compile_cues, sounded
from webapp.stimulation.plan import Settings
from webapp.translations import translator

WORDS = Wording(rise="Reach and open", hold="Keep it open", ease="Letting go", rest="Rest now")
SESSION_WORDS = {"finished": "Time is up.", "halfway": "Half is done.", "one_minute": "One more minute."}
CLIPS = {"Reach and open": 1200, "Keep it open": 900, "Letting go": 800, "Rest now": 700, "Ready": 500}
CLIPS |= dict.fromkeys(SESSION_WORDS.values(), 1500)


def sheet(settings: Settings, *wording: Wording, **different: Any) -> CueSheet:
    """Compiles the sheet of a plan."""
    given: dict[str, Any] = {"clip_ms": CLIPS, "words": SESSION_WORDS, **different}
    return compile_cues(settings, 1, wording or (WORDS,), **given)


def told(compiled: CueSheet, until_ms: int = 10**9) -> list[tuple[int, tuple[int, ...], str, int]]:
    """Gives (time, channels, phase, said) of the cues before a moment."""
    phrases = compiled.phrases
    return [
        (c.at_ms, phrases[c.phrase].channels, phrases[c.phrase].phase, c.said)
        for c in compiled.cues
        if c.at_ms < until_ms
    ]


def test_one_channel_is_led_through_its_cycle() -> None:
    """Rise with its words; the hold, which would cut them off, silent; ease a tone; rest with words."""
    assert told(sheet(plan()), 17_000) == [
        (0, (1,), "rise", 2),
        (1_000, (1,), "hold", 0),
        (6_000, (1,), "ease", 1),
        (7_000, (1,), "rest", 2),
    ]


def test_hold_sounds_where_the_words_of_the_rise_have_ended() -> None:
    """A ramp of 3 s leaves room for 700 + 120 + 1200 ms."""
    assert told(sheet(plan(ramp_up_s=3)), 4_000) == [(0, (1,), "rise", 2), (3_000, (1,), "hold", 2)]


def test_channels_that_move_as_one_are_one_cue() -> None:
    """Both channels, together, without a delay; channel 1 gives the words."""
    both = sheet(plan(2), WORDS, Wording(rise="Other", hold="Other", ease="Other", rest="Other"))
    assert told(both, 1_000) == [(0, (1, 2), "rise", 2)]
    assert "Other" not in {phrase.text for phrase in both.phrases}


def test_channels_in_turns_are_two_cues_and_the_rise_is_heard() -> None:
    """When channel 1 comes to rest as channel 2 rises, the rise sounds, and comes last of the two."""
    turns = sheet(
        plan(2, relation="alternating"), WORDS, Wording(rise="Close", hold="Hold it", ease="Let go", rest="Rest")
    )
    at_seven = [row for row in told(turns, 8_000) if row[0] == 7_000]
    assert at_seven == [(7_000, (1,), "rest", 0), (7_000, (2,), "rise", 1)]


def test_contraction_without_a_ramp_begins_with_the_rise_all_the_same() -> None:
    """The first second of the hold is the moment to move."""
    bare = sheet(plan(ramp_up_s=0, ramp_down_s=0))
    assert told(bare, 15_000) == [(0, (1,), "rise", 2), (1_000, (1,), "hold", 0), (5_000, (1,), "rest", 2)]


def test_ready_comes_a_second_before_each_rise_that_a_rest_precedes() -> None:
    """Not before the first one, and not at the end."""
    words = Wording(rise="Reach", hold="Keep", ease="Let go", rest="Rest", ready="Ready")
    readied = sheet(plan(session_min=1), words, ready=True)
    assert [at for at, _, phase, said in told(readied) if phase == "ready" and said == 2] == [16_000, 33_000, 50_000]
    assert not [row for row in told(sheet(plan(session_min=1), words)) if row[2] == "ready"]


def test_text_without_a_clip_is_never_said() -> None:
    """Tones lead alone; what is wanted is listed."""
    silent = sheet(plan(), clip_ms={})
    assert {said for *_, said in told(silent)} == {1}
    assert {phrase.clip for phrase in silent.phrases} == {""}
    wanted = {event.sound for event, _heard in sounded(plan(), (WORDS,), {}, words=SESSION_WORDS)}
    assert wanted == {"Reach and open", "Keep it open", "Letting go", "Rest now", "Time is up."}


def test_what_is_said_may_differ_from_what_is_shown() -> None:
    """Words to be said in place of those shown name the clip; a recording names it before both."""
    words = replace(WORDS, say_as={"rise": "Reech and open"}, recorded={"rest": "ab" * 32})
    heard = sheet(plan(), words, clip_ms={"Reech and open": 1200, "recording:" + "ab" * 32: 900})
    shown = {phrase.phase: (phrase.text, phrase.clip) for phrase in heard.phrases}
    assert shown["rise"] == ("Reach and open", clip_id("Reech and open"))
    assert shown["rest"] == ("Rest now", clip_id("recording:" + "ab" * 32))


def test_a_recording_stands_for_the_switch_and_the_task() -> None:
    """Words said another way go into the sentence of the switch; a recording is the whole sentence."""
    words = replace(WORDS, say_as={"rise": "Reech"}, recorded={"ease": "cd" * 32})
    frames = {f"switch.press_on_press_off.{step}": f"{step}: {{text}}" for step in ("rise", "ease")}
    told_of = sounded(plan(drive="switched"), (words,), {}, "press_on_press_off", words=frames)
    sounds = {event.phase: (event.text, event.sound) for event, _heard in told_of}
    assert sounds["rise"] == ("rise: Reach and open", "rise: Reech")
    assert sounds["ease"] == ("ease: Letting go", "recording:" + "cd" * 32)


def test_clip_is_named_by_its_text() -> None:
    """The first 16 hex digits of its SHA-256."""
    assert clip_id("Rest now") == "c-6c6704b6a4c4727e"
    rest = next(phrase for phrase in sheet(plan()).phrases if phrase.phase == "rest")
    assert (rest.clip, rest.tone, rest.seconds) == (clip_id("Rest now"), "rest", True)


@pytest.mark.parametrize("at_end", ["cut", "finish_contraction"])
def test_finished_is_the_last_cue_at_the_real_end(at_end: str) -> None:
    """A contraction from 54 s is finished at 61 s, or cut at 60 s."""
    compiled = sheet(plan(session_min=1, rest_s=11, at_end=at_end))
    last, run_on = compiled.cues[-1], {"cut": 0, "finish_contraction": 1_000}[at_end]
    assert (compiled.session_ms, compiled.may_run_on_ms) == (60_000, run_on)
    assert (last.at_ms, compiled.phrases[last.phrase].phase, last.said) == (60_000 + run_on, "finished", 2)
    assert (last.done_1, last.on_ms_1) == {"cut": (3, 27_000), "finish_contraction": (4, 28_000)}[at_end]


def test_steady_session_is_told_half_time_the_last_minute_and_the_end() -> None:
    """No rise, no hold; on from the start."""
    steady = sheet(plan(drive="steady", hold_s=None, rest_s=None, session_min=30))
    assert told(steady) == [
        (900_000, (1,), "halfway", 2),
        (1_740_000, (1,), "one_minute", 2),
        (1_800_000, (1,), "finished", 2),
    ]
    assert [cue.on_ms_1 for cue in steady.cues] == [900_000, 1_740_000, 1_800_000]
    short = sheet(plan(drive="steady", hold_s=None, rest_s=None, session_min=2))
    assert [phase for _, _, phase, _ in told(short)] == ["halfway", "finished"]


@pytest.mark.parametrize(
    ("switch_does", "rise", "ease"),
    [
        ("press_on_press_off", "Press the switch. Reach and open", "Press it once more. Letting go"),
        ("while_pressed", "Press and keep it down. Reach and open", "Let go of the switch. Letting go"),
        ("on_release", "Let go of the switch. Reach and open", "Press and keep it down. Letting go"),
        ("one_contraction", "Press the switch once. Reach and open", "Letting go"),
        ("unknown", "Reach and open", "Letting go"),
    ],
)
def test_switched_session_says_what_to_do_with_the_switch(switch_does: str, rise: str, ease: str) -> None:
    """Before the task's own words, from the catalogue."""
    t = translator("en")
    words = {key: t(f"cue.{key}", text="{text}") for key in WORD_KEYS}
    switched = sheet(plan(drive="switched"), switch_does=switch_does, words=words)
    by_phase = {phrase.phase: phrase.text for phrase in switched.phrases}
    assert (by_phase["rise"], by_phase["ease"], by_phase["rest"]) == (rise, ease, "Rest now")


def test_switch_is_let_go_of_at_the_rest_where_nothing_eases() -> None:
    """Without a ramp down, the rest is the moment; not before the first contraction."""
    t = translator("en")
    words = {key: t(f"cue.{key}", text="{text}") for key in WORD_KEYS}
    settings = plan(drive="switched", ramp_down_s=0, starts_with="rest")
    switched = sheet(settings, switch_does="while_pressed", words=words)
    rests = [switched.phrases[c.phrase].text for c in switched.cues if switched.phrases[c.phrase].phase == "rest"]
    assert rests[:2] == ["Rest now", "Let go of the switch. Rest now"]


def test_hill_of_the_sheet_is_that_of_the_plan_in_per_mille() -> None:
    """Channel 2 rises after channel 1 in a cycle of 24 s."""
    first, second = sheet(plan(2, relation="alternating")).channels
    assert first.hill == ((0, 0), (1_000, 1000), (6_000, 1000), (7_000, 0), (24_000, 0))
    assert second.hill == ((0, 0), (7_000, 0), (8_000, 1000), (13_000, 1000), (14_000, 0), (24_000, 0))


def test_no_sounding_cue_is_within_a_second_of_another() -> None:
    """In a quick cycle with both channels shifted."""
    quick = sheet(plan(2, ramp_up_s=0.2, hold_s=0.6, ramp_down_s=0.2, rest_s=1, delay_s=0.7))
    sounding = [at for at, _, _, said in told(quick) if said]
    assert min(later - earlier for earlier, later in pairwise(sounding)) >= 1000


def less_said(compiled: CueSheet, level: str) -> list[tuple[int, str, int]]:
    """Gives (time, phase, said) of what sounds at a level."""
    assert compiled.less_said
    return [(one.at_ms, compiled.phrases[one.phrase].phase, one.said) for one in getattr(compiled.less_said, level)]


def test_only_start_and_stop_of_the_muscle_can_be_said() -> None:
    """Rise and ease with their words, which have room now that the rest is silent; and the end."""
    quieter = less_said(sheet(plan(session_min=1)), "work")
    assert quieter[:4] == [(0, "rise", 2), (6_000, "ease", 2), (17_000, "rise", 2), (23_000, "ease", 2)]
    assert quieter[-1] == (60_000, "finished", 2)
    assert {phase for _, phase, _ in quieter} == {"rise", "ease", "finished"}


def test_without_a_ramp_down_the_rest_is_the_stop_of_the_muscle() -> None:
    """But not the rest that a session begins with."""
    bare = less_said(sheet(plan(ramp_up_s=0, ramp_down_s=0, starts_with="rest")), "work")
    assert bare[0][1:] == ("rise", 2)
    assert {phase for _, phase, _ in bare} == {"rise", "rest", "finished"}


def test_only_milestones_can_be_said() -> None:
    """The first rise, half of the time, the last minute, the end; in a steady session there is no rise."""
    assert less_said(sheet(plan(session_min=20)), "milestones") == [
        (0, "rise", 2), (600_000, "halfway", 2), (1_140_000, "one_minute", 2), (1_200_000, "finished", 2)]  # fmt: skip
    steady = sheet(plan(drive="steady", session_min=20))
    assert [row[1] for row in less_said(steady, "milestones")] == ["halfway", "one_minute", "finished"]


def test_sheet_of_the_shared_vectors_is_compiled_row_by_row() -> None:
    """Two channels in turns with a second between, one minute: the sheet that the phone's tests read too."""
    words = Wording(rise="Starting: reach and open", hold="Keep it open", ease="Letting go", rest="Rest now")
    finished = "Time is up. Your unit may still be on."
    lengths = {words.rise: 1400, words.hold: 900, words.ease: 800, words.rest: 700, finished: 2400}
    settings = plan(2, session_min=1, relation="alternating", delay_s=1)
    compiled = compile_cues(settings, 1, [words], lengths, words={"finished": finished})
    assert compiled == read_cue_sheet(load("cue_sheets")["base"])


def test_no_cue_is_repeated_until_somebody_answers() -> None:
    """An alarm repeats until it is acknowledged (IEC 60601-1-8); here each sounds once, nothing after the end."""
    compiled = sheet(plan(2, relation="alternating", delay_s=1))
    heard = [(cue.at_ms, compiled.phrases[cue.phrase].channels) for cue in compiled.cues if cue.said]
    assert len(set(heard)) == len(heard)
    rises = [channels for cue in compiled.cues if cue.said
             for channels in [compiled.phrases[cue.phrase].channels] if compiled.phrases[cue.phrase].phase == "rise"]
    begun = [-(-(compiled.session_ms - start) // compiled.cycle_ms) for start in (0, 8_000)]
    assert [rises.count((channel,)) for channel in (1, 2)] == begun
    assert compiled.phrases[compiled.cues[-1].phrase].phase == "finished"
