"""What is read from a client's records, and that nothing of them is dropped."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.practice.invented import MONDAY, entry, minute, session
from webapp.practice.session import Entry, correct, is_skin_finding, local_day, read_log, worst


def test_a_session_at_midnight_belongs_to_its_local_date() -> None:
    """23:59 is today and 00:00 is tomorrow, whatever the offset from UTC."""
    assert local_day(minute(MONDAY, 24) - 1) == MONDAY
    assert local_day(minute(MONDAY, 24)).toordinal() == MONDAY.toordinal() + 1


def test_not_answered_is_none_and_never_zero() -> None:
    """A scale that was not answered is unknown, and so is a strength."""
    read = read_log([session(1, MONDAY, pain_after_n=11, effort_n=11, help=3, strength_half_ma=[-1])]).sessions[0]
    assert (read.pain_after, read.effort, read.help, read.strength) == (None, None, None, (None,))


def test_strength_is_in_milliamperes_or_levels_as_it_was_logged() -> None:
    """Half milliamperes become milliamperes; a level stays a level."""
    level = entry(2, "session", MONDAY, strength_level=[7], contractions_n=[1])
    log = read_log([session(1, MONDAY, strength_half_ma=[45]), level])
    assert [(s.shows, s.strength) for s in log.sessions] == [("ma", (22.5,)), ("level", (7.0,))]


def test_a_correction_replaces_the_field_and_is_marked() -> None:
    """What the client corrected counts, and the review can say what was corrected."""
    fixed = read_log([session(1, MONDAY, note="red"),
                      entry(2, "correction", MONDAY, corrects_seq=1, fields={"note": "pink", "seq": 9})]).sessions[0]
    assert (fixed.note, fixed.entry.seq, fixed.entry.corrected) == ("pink", 1, ("note",))


def test_the_last_correction_counts() -> None:
    """Two corrections of one field: the later number wins, in whatever order they came."""
    fixes = [entry(n, "correction", MONDAY, corrects_seq=1, fields={"effort_n": n}) for n in (3, 2)]
    assert read_log([*fixes, session(1, MONDAY)]).sessions[0].effort == 3


def test_a_correction_of_another_phones_record_is_kept_and_shown() -> None:
    """A correction reaches only its own device's log; elsewhere it stays a record that is shown."""
    stray = entry(2, "correction", MONDAY, device="00000000000000b2", corrects_seq=1, fields={"note": "x"})
    log = read_log([session(1, MONDAY), stray])
    assert (log.others, log.sessions[0].note) == ((stray,), "")


def test_records_set_aside_or_late_are_shown_and_not_counted() -> None:
    """A second record under the same number, and one of a withdrawn phone, stand apart."""
    aside, late = session(1, MONDAY, marks={"aside": True}), session(7, MONDAY, marks={"late": True})
    log = read_log([session(1, MONDAY), aside, late])
    assert (len(log.sessions), log.aside, log.late, len(log.late_sessions)) == (1, (aside,), (late,), 1)


def test_skin_answers_from_sore_on_are_findings() -> None:
    """Unchanged, even pink and not answered are none."""
    assert [is_skin_finding(a) for a in (0, 1, 2, 5, 9)] == [False, False, True, True, False]
    assert worst([9, 1, 0]) == 1


KINDS = ["session", "skin_later", "not_today", "finding", "changed", "pack_taken", "correction", "from_a_later_release"]
ENTRIES = st.lists(st.builds(
    Entry, device=st.sampled_from(["a", "b"]), seq=st.integers(1, 9), kind=st.sampled_from(KINDS),
    at_min=st.integers(0, 10**8), utc_q=st.integers(-48, 56), aside=st.booleans(), late=st.booleans(),
    fields=st.dictionaries(st.sampled_from(["corrects_seq", "fields", "skin_after", "note", "cued_s", "help"]),
                           st.one_of(st.integers(), st.text(max_size=3), st.lists(st.integers(), max_size=3)))),
    max_size=12, unique_by=lambda e: (e.device, e.seq))


@given(ENTRIES)
def test_no_record_is_dropped_whatever_it_holds(entries: list[Entry]) -> None:
    """Every record is found again in one place, but a correction that was applied."""
    log = read_log(entries)
    shown = [*(s.entry for s in log.sessions), *log.looks, *log.not_today, *log.findings, *log.changes, *log.packs,
             *log.others, *log.aside, *log.late]
    applied = {(e.device, e.seq) for e in entries if e.kind == "correction"}
    assert {(e.device, e.seq) for e in shown} | applied == {(e.device, e.seq) for e in entries}
    assert len({id(e) for e in shown}) == len(shown)


@given(ENTRIES, st.randoms())
def test_the_order_of_arrival_changes_nothing(entries: list[Entry], chance: object) -> None:
    """Records read in any order give the same log."""
    mixed = list(entries)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert correct(mixed) == correct(entries)
