"""One definition of a skin finding: what asks for an answer is what is counted, marked on its day and drawn."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.practice.invented import MONDAY, entry, plan, session
from webapp.practice.attention import Contact, reasons
from webapp.practice.session import Entry, read_log
from webapp.practice.skin_findings import once, skin_findings
from webapp.practice.skin_map import skin_seen
from webapp.practice.summary import summarise

DAY = timedelta(days=1)
EVENING = session(1, MONDAY, skin_after=[1, 0])


@pytest.mark.parametrize(("record", "rule"), [
    (session(2, MONDAY + DAY, skin_before=[0, 3]), "skin"),
    (session(2, MONDAY + DAY, skin_after=[2, 9]), "skin"),
    (session(2, MONDAY + DAY, ended=3), "skin"),
    (session(2, MONDAY + DAY, skin_after=[4, 0], marks={"late": True}), "skin"),
    (session(2, MONDAY + DAY, skin_after=[4, 0], marks={"road": "paper"}), "skin"),
    (entry(2, "skin_later", MONDAY + DAY, session_seq=1, when=1, skin=[5, 0]), "skin"),
    (entry(2, "skin_later", MONDAY + DAY, session_seq=1, when=2, skin=[1, 0]), "skin_stays"),
    (entry(2, "finding", MONDAY + DAY, exercise=1, what=1, place_n=0, skin=4, pain_n=11, note=""), "skin"),
    (entry(2, "skin_later", MONDAY + DAY, session_seq=1, when=1, skin=[1, 0]), ""),
    (session(2, MONDAY + DAY, skin_before=[1, 0], skin_after=[1, 1]), ""),
    (entry(2, "finding", MONDAY + DAY, exercise=1, what=2, place_n=99, skin=9, pain_n=6, note=""), ""),
])
def test_what_asks_is_counted_marked_and_drawn(record: Entry, rule: str) -> None:
    """Caseload, count, day and chart agree on each kind of record, and on pink that fades."""
    log, today = read_log([EVENING, record]), MONDAY + 2 * DAY
    asked = [r for r in reasons(log, [plan()], Contact(phones_n=1, last_day=today), frozenset(), today)
             if r.rule in {"skin", "skin_stays"}]
    summary = summarise(log, [plan()], today=today, known_before=today)
    expected = [rule] if rule else []
    assert [r.rule for r in asked] == [f.rule for f in summary.findings] == expected
    assert [d.day for w in summary.weeks for d in w.days if d.finding] == [MONDAY + DAY] * len(expected)
    answered = record.fields.get("ended") != 3  # stopped for the skin, no answer what was seen: nothing to draw
    assert [s.is_finding for s in skin_seen(log, [plan()])].count(True) == (len(expected) if answered else 0)


def test_a_later_look_goes_with_its_session() -> None:
    """Bumps after practice and a blister next morning are asked about together, and count as one."""
    log = read_log([session(1, MONDAY, skin_after=[3, 0]),
                    entry(2, "skin_later", MONDAY + DAY, session_seq=1, when=2, skin=[4, 0])])
    assert [[one.answer for one in same] for same in once(skin_findings(log))] == [[3, 4]]
