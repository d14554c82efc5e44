"""The session under way: where a page leads, and what the draft becomes in the log."""

from __future__ import annotations

from typing import Any

import pytest

from tests.client_pages.phone_modules import evaluate
from webapp.formats.log_record import canonical, read_record

HOUR_MS = 3_600_000
NEW = {"exercise": 1, "version": 2, "plan": 1, "at_min": 29_925_190, "utc_q": 0, "planned_s": 1200,
       "places": 4, "channels": 2}  # fmt: skip


def draft(stage: str, **changed: Any) -> dict[str, Any]:
    made: dict[str, Any] = evaluate("session", "m.newDraft(of)", of=NEW)
    return {**made, "stage": stage, "saved_ms": 0, **changed}


@pytest.mark.parametrize("stage", ["zero", "turn-up", "timer"])
def test_a_session_in_which_the_unit_may_be_on_is_found_before_anything_else(stage: str) -> None:
    """Whatever page is opened, it leads to *Is your unit still on?* unless it was handed on."""
    pages = [None, "skin", "set-up", "zero", "turn-up", "timer", "end", "questions"]
    ways = evaluate("session", "pages.map((page) => m.entry(page, draft, false, 0))", pages=pages, draft=draft(stage))
    assert set(ways) == {"found"}
    assert evaluate("session", "m.entry(draft.stage, draft, true, 0)", draft=draft(stage)) == "stay"


def test_the_end_page_is_its_own_question() -> None:
    """Opened again, the page that says *your unit may still be on* stays."""
    assert evaluate("session", "m.entry('end', draft, false, 0)", draft=draft("end")) == "stay"


def test_without_a_session_its_pages_lead_to_today() -> None:
    """Only the skin check begins a session."""
    pages = ["set-up", "zero", "turn-up", "timer", "end", "skin-after", "questions"]
    assert set(evaluate("session", "pages.map((page) => m.entry(page, null, true, 0))", pages=pages)) == {"today"}
    assert evaluate("session", "m.entry('skin', null, false, 0)") == "stay"


@pytest.mark.parametrize(("stage", "fresh", "old"), [
    ("skin", "stay", "drop"), ("set-up", "stay", "drop"),
    ("skin-after", "resume", "close"), ("questions", "resume", "close"),
])  # fmt: skip
def test_a_session_with_the_unit_off_is_resumed_within_the_hour(stage: str, fresh: str, old: str) -> None:
    """Later, one not begun is let go and one that was practised is closed with its questions not answered."""
    at_once_and_later = "[0, 2 * hour].map((ms) => m.entry(null, draft, false, ms))"
    ways = evaluate("session", at_once_and_later, draft=draft(stage), hour=HOUR_MS)
    assert ways == [fresh, old]


@pytest.mark.parametrize("shows", ["ma", "level"])
def test_a_draft_becomes_a_record_that_is_taken_in(shows: str) -> None:
    """Milliamperes are counted in halves, a level as it is; what was not answered says so."""
    fields = evaluate("session", "m.sessionFields(draft, shows)", shows=shows, draft=draft(
        "questions", strength=[22.5, -1] if shows == "ma" else [12, -1], cued_ms=61_900, contractions=[2, 1], ended=1))
    whole = {"format": "wattlebird.record/1", "device": "0123456789abcdef", "seq": 1, "kind": "session", **fields}
    record = read_record(canonical(whole))
    assert record.kind == "session"
    assert fields["cued_s"] == 61
    name, expected = ("strength_half_ma", [45, -1]) if shows == "ma" else ("strength_level", [12, -1])
    assert fields[name] == expected
    assert not fields.keys() & {"longest_step", "longest_step_s", "set_up_s"}
    timed = evaluate("session", "m.sessionFields(draft, shows)", shows=shows, draft=draft(
        "questions", steps_ms={"2": 61_000, "4": 9_499}, step_now={"step": 0, "at_ms": 5}))
    assert (timed["longest_step"], timed["longest_step_s"], timed["set_up_s"]) == (2, 61, 70)
    unanswered = {"pain_after_n": 11, "help": 3, "skin_after": [9] * 4, "period_ppm": 1_000_000}
    assert fields | unanswered == fields


def test_a_long_note_is_cut_between_characters() -> None:
    """A note never takes more than 280 bytes, and no character is halved."""
    note = evaluate("session", "m.shortNote(text)", text="€" * 200)
    assert note == "€" * 93
    assert evaluate("session", "m.noteRoom(text)", text="ab") == 278


def test_a_skipped_step_is_noted_once() -> None:
    """Skipping a step again after going back changes nothing."""
    skipped = evaluate("session", "m.skipped(m.skipped(m.skipped(d, 3), 1), 3).steps_skipped", d=draft("set-up"))
    assert skipped == [1, 3]


def test_the_time_of_each_step_goes_into_the_record() -> None:
    """A step come back to, or opened again after a reload, goes on; a clock set back takes nothing away."""
    steps = [[1, 1_000], [2, 21_000], [3, 100_400], [2, 130_400], [1, 140_400], [4, 90_000], [0, 95_000], [0, 999_000]]
    told = evaluate("step_times", """(() => {
      let d = draft;
      for (const [step, at] of steps) d = JSON.parse(JSON.stringify(m.onStep(d, step, at)));
      return [d.steps_ms, m.timeFields(d), m.timeFields(draft), m.timeFields(m.onStep(draft, 7, 5))];
    })()""", draft=draft("set-up"), steps=steps)
    times = {"1": 20_000, "2": 89_400, "3": 30_000, "4": 5_000}
    assert told == [times, {"longest_step": 2, "longest_step_s": 89, "set_up_s": 144}, {}, {}]


def test_a_quick_set_up_is_not_noted() -> None:
    """Below a minute for the longest step the record says nothing of times: it stays as short as it was."""
    told = evaluate("step_times", """[59_999, 60_000].map((ms) =>
      Object.keys(m.timeFields(m.onStep(m.onStep(draft, 2, 0), 0, ms))).length)""", draft=draft("set-up"))
    assert told == [0, 3]


def test_a_phone_put_away_in_the_middle_of_a_step_is_no_day_of_set_up() -> None:
    """An hour is the most that one look at a step may count; the record stays in its range."""
    told = evaluate("step_times", "m.timeFields(m.onStep(m.onStep(draft, 2, 0), 0, 9e9))", draft=draft("set-up"))
    assert told == {"longest_step": 2, "longest_step_s": 3600, "set_up_s": 3600}


def test_only_contractions_that_were_cued_are_counted() -> None:
    """What passes while the phone is silent is not counted, nor what a gap in the cues leaves out."""
    counted = evaluate("counting", """(() => {
      const c = m.counter([4, 2]);
      const cue = (index, ...done) => c.given({ index, done });
      cue(0, 0, 0); cue(1, 1, 0); cue(2, 1, 1); c.silent(); cue(6, 3, 2); cue(7, 4, 3); cue(9, 9, 9); cue(10, 10, 9);
      return c.counted();
    })()""")
    assert counted == [4 + 1 + 1 + 1, 2 + 1 + 1]
