"""The screening: what is asked where, what blocks, what holds how long, what a lead may override."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.prescribing.ready import answers
from webapp.guidance.screening import LEVELS, REGIONS, screening_rows
from webapp.guidance.sources import sources
from webapp.prescribing.screening import (
    ABILITIES,
    DAY_MS,
    Screening,
    ability_blocks,
    places_of,
    read_screening,
    record_answers,
    record_override,
)
from webapp.storage import assessments, clients, users
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Db, Store
from webapp.translations import catalogue

NOW_MS = 1_795_000_000_000
HAND, SHOULDER, LEFT_SHOULDER = (frozenset({place}) for place in ("hand:left", "shoulder:right", "shoulder:left"))
WORD = {"who": "Her surgeon", "on": "2026-11-01", "word": "It holds."}


@pytest.fixture
def db(tmp_path: Path) -> Db:
    """A clinic with a lead and a client."""
    db = Store(tmp_path / "wattlebird.db").connect()
    users.add(db, login="ines", name="Ines Wallaroo", role="lead", password_hash="", created_ms=1)
    clients.add(db, code="SL-07", first_name="Maren", working_side="right", language="en", details=ClientDetails(),
                therapist_id=1, created_ms=1)
    return db


def standing(db: Db, places: frozenset[str] = HAND, days_later: int = 0) -> Screening:
    return read_screening(db, 1, places, NOW_MS + days_later * DAY_MS)


def answer(db: Db, places: frozenset[str] = HAND, **changed: str) -> None:
    record_answers(db, 1, answers(**changed), places, user_id=1, now_ms=NOW_MS)


def state(screening: Screening, item_id: str) -> str:
    return next(item.state for item in screening.items if item.id == item_id)


def test_every_row_has_its_words_and_sources_that_resolve() -> None:
    """What it means, how to go on, where from; a level, and regions that are ours."""
    texts = catalogue("en")
    for row in screening_rows():
        assert row.sources
        assert set(row.sources) <= sources().keys(), row.id
        assert row.level in LEVELS
        assert set(row.regions) <= set(REGIONS)
        assert all(f"screening.{row.id}.{name}" in texts for name in ("ask", "means", "how", "short")), row.id
    for name, choices in ABILITIES.items():
        assert all(f"ability.{name}.{key}" in texts for key in ("ask", "means", "short", *choices)), name


def test_a_shoulder_asks_for_other_things_than_a_wrist() -> None:
    """The chest at a shoulder, the heart's side at a left one, falls at a leg; epilepsy weighs more at a shoulder."""
    asked = {places: {row.id for row in screening_rows() if row.asked_at(places)}
             for places in (HAND, SHOULDER, LEFT_SHOULDER)}
    assert asked[SHOULDER] - asked[HAND] == {"chest"}
    assert asked[LEFT_SHOULDER] - asked[SHOULDER] == {"left_shoulder"}
    epilepsy = next(row for row in screening_rows() if row.id == "epilepsy")
    assert [epilepsy.level_for(places) for places in (HAND, SHOULDER)] == ["take_care", "ask_first"]


def test_each_row_is_asked_and_nothing_is_assumed(db: Db) -> None:
    """Without an answer every row is open; with all of them the plan may go home."""
    assert {item.state for item in standing(db).items} == {"open"}
    answer(db)
    assert standing(db).is_whole
    assert {item.state for item in standing(db).items} == {"clear"}


def test_answers_grow_old_and_are_asked_again(db: Db) -> None:
    """After the clinic's own period; the earlier answer stays in the record."""
    answer(db)
    assert standing(db, days_later=180).is_whole
    assert {item.why for item in standing(db, days_later=181).items} == {"old"}
    assessments.set_screening_days(db, 30)
    assert not standing(db, days_later=31).is_whole
    assert len(assessments.of_client(db, 1, "screening")) == len(standing(db).items)


def test_a_pad_in_another_place_is_asked_about(db: Db) -> None:
    """What belongs to the place is open again, what belongs to the person is not."""
    answer(db)
    there = standing(db, LEFT_SHOULDER)
    opened = {item.id for item in there.those("open")}
    assert {"broken_skin", "chest", "left_shoulder", "repair"} <= opened
    assert not opened & {"implant", "epilepsy", "consent"}
    answer(db, LEFT_SHOULDER)
    assert standing(db, LEFT_SHOULDER).is_whole


def test_not_at_home_blocks_until_a_lead_says_why(db: Db) -> None:
    """The override belongs to that answer: a new one needs a new decision."""
    answer(db, implant="yes")
    [item] = standing(db).those("blocked")
    record_override(db, 1, item, "Off for years; its specialist agreed", user_id=1, now_ms=NOW_MS)
    [item] = standing(db).those("overridden")
    assert item.override
    assert (item.override.by, item.override.reason) == ("Ines Wallaroo", "Off for years; its specialist agreed")
    assert standing(db).is_whole
    record_answers(db, 1, {"implant": {"answer": "yes", "note": "a new one"}}, HAND, user_id=1, now_ms=NOW_MS)
    assert state(standing(db), "implant") == "blocked"


def test_ask_first_waits_for_the_word_and_its_day(db: Db) -> None:
    """A repaired tendon needs who said it, from when, and what."""
    answer(db, repair="yes")
    assert state(standing(db), "repair") == "waits"
    record_answers(db, 1, {"repair": {"answer": "yes", **WORD}}, HAND, user_id=1, now_ms=NOW_MS)
    assert state(standing(db), "repair") == "care"


def test_the_same_answer_again_changes_nothing(db: Db) -> None:
    """Its day and name stay; another answer is kept beside it."""
    answer(db)
    count = len(assessments.of_client(db, 1, "screening"))
    assert record_answers(db, 1, answers(), HAND, user_id=1, now_ms=NOW_MS + 5) == 0
    assert record_answers(db, 1, answers(metal="yes"), HAND, user_id=1, now_ms=NOW_MS + 5) == 1
    assert len(assessments.of_client(db, 1, "screening")) == count + 1


@pytest.mark.parametrize(("given", "blocked"), [
    ({"says_stop": "not_reliably", "helper": "sometimes"}, {"says_stop"}),
    ({"says_stop": "not_reliably", "helper": "each_time"}, set()),
    ({"reaches_off": "with_help", "helper": "nobody"}, {"reaches_off"}),
    ({"consent": "no", "helper": "each_time"}, {"consent"}),
    ({}, set()),
])  # fmt: skip
def test_who_cannot_say_stop_needs_somebody_beside(given: dict[str, str], blocked: set[str]) -> None:
    """So does who cannot reach off; and nothing goes home without consent."""
    whole = {name: choices[0] for name, choices in ABILITIES.items()} | given
    assert {name for name in ABILITIES if ability_blocks(name, whole)} == blocked


def test_consent_is_never_overridden(db: Db) -> None:
    """No reason replaces it."""
    answer(db, consent="no")
    [item] = standing(db).those("blocked")
    with pytest.raises(ValueError, match="consent"):
        record_override(db, 1, item, "They will agree later", user_id=1, now_ms=NOW_MS)


def test_dysreflexia_and_help_are_carried_into_the_plan(db: Db) -> None:
    """What the phone's pages need of the screening, and nothing more."""
    answer(db, spinal_cord="yes", helper="sometimes")
    assert standing(db).facts == {"dysreflexia": True, "helper": "sometimes"}


def test_a_side_that_is_not_said_counts_as_both() -> None:
    """Nobody is screened for too little."""
    assert places_of([{"movement": "shoulder_flexion", "side": "both"}]) == LEFT_SHOULDER | SHOULDER
    assert places_of([{"movement": "", "side": "left"}]) == frozenset()
