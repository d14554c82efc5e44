"""Laws of the cue sheet, for any plan."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from tests.laws.drawn import settings
from webapp.formats.cue_sheet_json import read_cue_sheet, write_cue_sheet
from webapp.formats.json_text import canonical_bytes, parse_json
from webapp.stimulation.cue_levels import Sound
from webapp.stimulation.cue_sheet import Cue, CueSheet, Wording, compile_cues
from webapp.stimulation.cue_sound import LEAST_APART_MS, TONE_MS, TONE_TO_CLIP_MS
from webapp.stimulation.plan import Settings
from webapp.stimulation.timetable import build_timetable

WORDING = (
    Wording(rise="Reach", hold="Keep", ease="Let go", rest="Rest", ready="Ready"),
    Wording(rise="Close", hold="Hold it", ease="Open", rest="Rest now", ready="Ready"),
)
WORDS = {"finished": "Done", "halfway": "Half", "one_minute": "One minute"}
TEXTS = ["Reach", "Keep", "Let go", "Rest", "Ready", "Close", "Hold it", "Open", "Rest now", *WORDS.values()]
LENGTHS = st.dictionaries(st.sampled_from(TEXTS), st.integers(300, 3000))


def compiled(drawn: Settings, clip_ms: dict[str, int], ready: bool = True) -> CueSheet:
    """Compiles the sheet of a plan."""
    return compile_cues(drawn, 1, WORDING, clip_ms, ready=ready, words=WORDS)


@given(settings(), LENGTHS)
def test_times_and_counts_never_fall_and_finished_is_last(drawn: Settings, clip_ms: dict[str, int]) -> None:
    """The last cue is at the real end, with the totals of the session."""
    sheet, table = compiled(drawn, clip_ms), build_timetable(drawn)
    for before, after in pairwise(sheet.cues):
        assert before.at_ms <= after.at_ms
        assert all(earlier <= later for earlier, later in zip(before[5:], after[5:], strict=True))
    last = sheet.cues[-1]
    assert (last.at_ms, sheet.phrases[last.phrase].phase) == (table.end_ms, "finished")
    totals = (*table.contractions, 0)[:2], (*table.on_time_ms, 0)[:2]
    assert ((last.done_1, last.done_2), (last.on_ms_1, last.on_ms_2)) == totals


@given(settings(), LENGTHS)
def test_counts_are_those_of_the_timetable_at_each_moment(drawn: Settings, clip_ms: dict[str, int]) -> None:
    """On-time summed from the rows up to the cue; a contraction counts once its last row is over."""
    table = build_timetable(drawn)
    for cue in compiled(drawn, clip_ms).cues[:: max(1, len(table.intervals) // 20)]:
        for channel, (done, on_ms) in enumerate(((cue.done_1, cue.on_ms_1), (cue.done_2, cue.on_ms_2)), start=1):
            rows = [r for r in table.intervals if r.channel == channel and r.phase != "rest" and r.start_ms < cue.at_ms]
            assert on_ms == sum(min(r.end_ms, cue.at_ms) - r.start_ms for r in rows)
            over = {r.cycle for r in rows} - {r.cycle for r in rows if r.end_ms > cue.at_ms}
            open_ = {
                r.cycle
                for r in table.intervals
                if r.channel == channel and r.phase != "rest" and r.start_ms >= cue.at_ms
            }
            completed = 0 if drawn.is_steady else min(len(over - open_), table.contractions[channel - 1] if rows else 0)
            assert done == completed


@given(settings(), LENGTHS)
def test_sound_keeps_its_rules(drawn: Settings, clip_ms: dict[str, int]) -> None:
    """A second between sounding cues; words end before the next; a text without a clip is never said; at each level."""
    sheet = compiled(drawn, clip_ms)
    assert sheet.less_said
    for level in ([cue for cue in sheet.cues if cue.said], sheet.less_said.work, sheet.less_said.milestones):
        keeps_the_rules(sheet, level, clip_ms)


def keeps_the_rules(sheet: CueSheet, sounding: Sequence[Cue | Sound], clip_ms: dict[str, int]) -> None:
    """Holds what sounds, in order, to the rules."""
    for cue, following in pairwise(sounding):
        assert following.at_ms - cue.at_ms >= LEAST_APART_MS
    for cue, after in zip(sounding, [*sounding[1:], None], strict=True):
        phrase = sheet.phrases[cue.phrase]
        assert phrase.tone or cue.said == 2
        if cue.said == 2:
            tone_ms = TONE_MS[phrase.tone] + TONE_TO_CLIP_MS if phrase.tone else 0
            assert after is None or cue.at_ms + tone_ms + clip_ms[phrase.text] <= after.at_ms


@given(settings(drives=("cycled", "switched")), LENGTHS)
def test_every_phase_has_its_cue_and_every_rise_sounds_or_is_within_a_second_of_one(
    drawn: Settings, clip_ms: dict[str, int]
) -> None:
    """Nothing is left out: a silent rise is one that another rise, or the end, drowns."""
    sheet, table = compiled(drawn, clip_ms, ready=False), build_timetable(drawn)
    told = {(cue.at_ms, channel) for cue in sheet.cues for channel in sheet.phrases[cue.phrase].channels}
    bare = not drawn.ramp_up_s
    assert {(r.start_ms, r.channel) for r in table.intervals if not (bare and r.phase == "hold")} <= told
    strong = [c.at_ms for c in sheet.cues if c.said and sheet.phrases[c.phrase].phase in ("rise", "finished")]
    for cue in sheet.cues:
        if sheet.phrases[cue.phrase].phase == "rise" and not cue.said:
            assert any(abs(at_ms - cue.at_ms) < LEAST_APART_MS for at_ms in strong)


@given(settings(), LENGTHS)
def test_sheet_survives_writing_and_reading(drawn: Settings, clip_ms: dict[str, int]) -> None:
    """read(write(sheet)) is the sheet."""
    sheet = compiled(drawn, clip_ms)
    assert read_cue_sheet(parse_json(canonical_bytes(write_cue_sheet(sheet)), most_bytes=10_000_000)) == sheet
