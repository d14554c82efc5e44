"""What today asks for: slots, least hours, skin that stands in the way, looks that are due."""

from __future__ import annotations

import json
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest

from tests.client_pages.invented_plan import invented_plan
from tests.client_pages.phone_modules import evaluate
from tests.practice.invented import MONDAY, PHONE, entry
from tests.practice.invented import plan as planned
from tests.practice.invented import session as practised
from webapp.issuing import compile_plan
from webapp.practice import skin
from webapp.practice.attention import Contact, reasons
from webapp.practice.rest import rests
from webapp.practice.schedule import DaysOff
from webapp.practice.session import Entry, read_log
from webapp.resting import other_rest_digits, rest_digits

MIDNIGHT = 29_924_640  # 2026-11-24T00:00 in local minutes
TEN = MIDNIGHT + 600
PLAN = compile_plan(invented_plan())


def session(at_min: int, exercise: int = 1, **changed: Any) -> dict[str, Any]:
    return {"kind": "session", "exercise": exercise, "at_min": at_min, "cued_s": 1200, "ended": 1,
            "skin_after": [0, 0], **changed}


def state(now: int, *records: dict[str, Any], ended: int = 0, plan: Any = PLAN) -> dict[str, Any]:
    log = [{"seq": n, "kind": r["kind"], "record": r, "received_ms": 0} for n, r in enumerate(records, 1)]
    found: dict[str, Any] = evaluate("day", "m.dayState(plan, log, now, ended)", plan=plan, log=log, now=now,
                                     ended=ended)
    return found


def test_the_first_slot_is_next() -> None:
    """On an untouched day every slot is to go, and the first one is offered."""
    day = state(TEN)
    assert (day["kind"], day["next"]["slot"], day["done_n"], day["to_go_n"]) == ("ready", "morning", 0, 4)


def test_the_least_hours_between_belong_to_an_exercise() -> None:
    """After the hand, the foot may be done at once; the hand itself waits for its hours."""
    day = state(TEN + 60, session(TEN))
    assert (day["kind"], day["next"]["exercise"]) == ("ready", 2)
    day = state(TEN + 60, session(TEN), session(TEN + 20, 2), session(TEN + 40, 3))
    assert (day["kind"], day["not_before_min"]) == ("later_today", TEN + 20 + 240)
    assert state(TEN + 260, session(TEN), session(TEN, 2), session(TEN, 3))["next"]["exercise"] == 1


def test_all_done_is_enough_and_what_was_missed_is_not_made_up() -> None:
    """When the day's slots are done nothing more is offered, whatever was left out the day before."""
    day = state(TEN + 600, session(TEN), session(TEN + 300), session(TEN, 2), session(TEN, 3))
    assert (day["kind"], day["to_go_n"], day["why"]) == ("enough", 0, 0)
    assert state(TEN + 1440)["to_go_n"] == 4


def test_a_day_with_a_session_stopped_early_is_not_called_all_done() -> None:
    """The page says that there is no more practice; only a day whose slots were all done is all done."""
    whole = [session(TEN), session(TEN + 300), session(TEN, 2), session(TEN, 3)]
    done, stopped = state(TEN + 600, *whole), state(TEN + 600, *whole[:3], session(TEN, 3, ended=8))
    keys = evaluate("day", "days.map(m.enoughKey)", days=[done, stopped, state(TEN)])
    assert keys == [f"phone.today.{key}" for key in ("count.all_done", "count.no_more", "enough")]


def test_a_session_cut_off_before_it_began_does_not_use_up_the_slot() -> None:
    """One that was really begun does, and is not called done."""
    assert state(TEN + 5, session(TEN, ended=8, cued_s=20))["next"]["slot"] == "morning"
    day = state(TEN + 300, session(TEN, ended=8, cued_s=300))
    assert (day["slots"][0]["state"], day["done_n"]) == ("stopped", 0)


@pytest.mark.parametrize("found", [2, 3, 4, 5])
@pytest.mark.parametrize("where", ["before", "after", "hour", "morning"])
def test_a_skin_finding_means_no_practice_until_the_therapist_says_so(found: int, where: str) -> None:
    """Wherever it was found, that exercise rests until she ends it, on the next days too; other skin may be used."""
    record = {
        "before": {"kind": "finding", "exercise": 1, "what": 1, "skin": found, "at_min": TEN},
        "after": session(TEN, skin_after=[0, found]),
        "hour": {"kind": "skin_later", "session_seq": 1, "when": 1, "skin": [found], "at_min": TEN},
        "morning": {"kind": "skin_later", "session_seq": 1, "when": 2, "skin": [found], "at_min": TEN},
    }[where]
    day = state(TEN + 5 * 1440, record)
    assert (day["kind"], day["resting"]) == (("no_practice", [1, 2, 3]) if where in {"hour", "morning"} else
                                             ("ready", [1]))
    assert day["next"] is None or day["next"]["exercise"] == 2
    assert state(TEN + 5, record)["resting"] == day["resting"]
    assert state(TEN + 1440, record, ended=1)["resting"] == []
    noted = {"kind": "finding", "exercise": 0, "what": 1, "skin": 0, "at_min": TEN + 10}  # by an older release
    assert state(TEN + 1440, record, noted)["resting"] == []


def test_with_the_therapists_word_today_is_open_again() -> None:
    """The *not today* of a finding whose rest she ended closes nothing; another one of today still does."""
    found = {"kind": "finding", "exercise": 1, "what": 1, "skin": 4, "at_min": TEN}
    said = {"kind": "not_today", "exercise": 1, "why": 2, "at_min": TEN}
    assert state(TEN + 5, found, said, ended=2)["next"]["exercise"] == 1
    assert state(TEN + 5, found, {**said, "why": 4}, ended=2)["next"]["exercise"] == 2


def test_a_look_rests_the_exercise_of_its_session_and_what_shares_its_skin() -> None:
    """Two exercises with a pad on one place rest together; one on other skin goes on."""
    worse = {"kind": "skin_later", "session_seq": 1, "when": 2, "skin": [4], "at_min": TEN + 1440}
    assert state(TEN + 1441, session(TEN, 2), worse)["resting"] == [2]
    shared = json.loads(json.dumps(PLAN))
    shared["exercises"][2]["places"][0]["text"] = shared["exercises"][1]["places"][0]["text"]
    assert state(TEN + 1441, session(TEN, 2), worse, plan=shared)["resting"] == [2, 3]


def test_a_rest_with_a_day_ends_by_itself_on_that_day() -> None:
    """The clinic let practice rest: a phone without a network goes on when the day has come, not before."""
    told = [{"device": "0" * 16, "through": 7, "exercises": [0], "at_min": TEN, "why": "by_word",
             "until": "2026-11-26"}]
    held = {day: evaluate("other_rests", "m.holding(told, {}, day).length", told=told, day=day)
            for day in ("2026-11-25", "2026-11-26", "2026-11-27")}
    assert held == {"2026-11-25": 1, "2026-11-26": 0, "2026-11-27": 0}
    assert evaluate("other_rests", "m.holding(told, {}, '2027-01-01').length", told=[{**told[0], "until": ""}]) == 1



def test_what_another_phone_found_rests_here_until_its_end_is_heard_or_typed() -> None:
    """By exercise, or all of them; an end of an earlier one leaves a later one; the digits are the clinic's."""
    def day(others: list[Any], ended: dict[str, int]) -> Any:
        found = evaluate("day", "m.dayState(plan, [], now, 0, others)", plan=PLAN, now=TEN, others=evaluate(
            "other_rests", "m.holding(others, ended)", others=others, ended=ended))
        return found["kind"], found["resting"]

    hand = {"device": PHONE, "through": 7, "exercises": [1], "at_min": TEN - 60}
    assert day([], {}) == ("ready", [])
    assert day([hand], {PHONE: 6}) == ("ready", [1])
    assert day([hand | {"exercises": [0]}], {}) == ("no_practice", [1, 2, 3])
    assert day([hand], {PHONE: 7}) == ("ready", [])
    here, key = "0123456789abcdef", bytes(range(32))
    sealed = evaluate("other_rests", """await m.otherRestSeal(await crypto.subtle.importKey(
        "raw", new Uint8Array(key), "HKDF", false, ["deriveKey"]), here, rest)""", key=list(key), here=here, rest=hand)
    assert f"{int(sealed[:16], 16) % 1_000_000:06d}" == other_rest_digits(key, here, PHONE, 7)
    assert rest_digits(key, here, 7) != other_rest_digits(key, here, PHONE, 7) != other_rest_digits(key, PHONE, here, 7)


def test_phone_and_clinic_say_alike_what_rests() -> None:
    """Sixty random logs of findings, looks, rests and ends of rests: the same latest record, the same exercises."""
    chance, logs, expected = Random(6), [], []
    for _ in range(60):
        entries, ended = _random_log(chance), chance.randrange(5)
        found = rests(read_log(entries), {PHONE: ended})
        expected.append([found[0].through, sorted(found[0].exercises)] if found else [0, []])
        logs.append({"ended": ended, "log": [{"seq": e.seq, "kind": e.kind, "record": e.fields} for e in entries]})
    script = ("logs.map(({ log, ended }) => m.askingForRest(plan, log, ended)).map((asking) => [asking.at(-1)?.seq"
              " ?? 0,"
              " [...new Set(asking.map((each) => each.exercise))].sort()])")
    assert evaluate("skin_history", script, plan=PLAN, logs=logs) == expected


def _random_log(chance: Random) -> list[Entry]:
    def one(seq: int) -> Entry:
        skin = [chance.choice((0, 1, 2, 4, 9)) for _ in range(2)]
        number = chance.randrange(4)
        return chance.choice((
            practised(seq, MONDAY, exercise=number, skin_after=skin),
            entry(seq, "skin_later", MONDAY, session_seq=chance.randrange(8), when=chance.choice((1, 2)), skin=skin),
            entry(seq, "finding", MONDAY, exercise=number, what=chance.choice((1, 1, 2)), skin=skin[0]),
            entry(seq, "not_today", MONDAY, exercise=number, why=chance.choice((1, 2, 3)))))

    return [one(seq) for seq in range(1, chance.randrange(3, 9))]


def test_even_pink_waits_an_hour_and_is_then_looked_at_again() -> None:
    """Meanwhile another exercise on other skin may be done; still pink after the hour is enough for today."""
    pink = {"kind": "finding", "exercise": 1, "what": 1, "skin": 1, "at_min": TEN}
    assert state(TEN + 30, pink)["next"]["exercise"] == 2
    others = (session(TEN + 1, 2), session(TEN + 2, 3))
    day = state(TEN + 30, pink, *others)
    assert (day["kind"], day["not_before_min"]) == ("wait", TEN + 60)
    assert state(TEN + 60, pink, *others)["next"]["exercise"] == 1
    still = {"kind": "not_today", "exercise": 1, "why": 1, "at_min": TEN + 61}
    day = state(TEN + 300, pink, *others, still)
    assert (day["kind"], day["why"]) == ("enough", 1)


def test_pink_still_there_the_next_morning_is_told() -> None:
    """An hour later it may still be there; in the morning it may not."""
    look = {"kind": "skin_later", "session_seq": 1, "skin": [1], "at_min": TEN}
    assert state(TEN + 600, {**look, "when": 1})["kind"] == "ready"
    assert state(TEN + 600, {**look, "when": 2})["kind"] == "no_practice"


@pytest.mark.parametrize(("day", "kind"), [(-1, "before"), (0, "ready"), (56, "ready"), (57, "over")])
def test_the_plan_holds_from_its_first_to_its_last_day(day: int, kind: str) -> None:
    """Before and after, nothing is offered."""
    assert state(TEN + day * 1440)["kind"] == kind


def due(now: int, *records: dict[str, Any]) -> Any:
    log = [{"seq": n, "kind": r["kind"], "record": r, "received_ms": 0} for n, r in enumerate(records, 1)]
    return evaluate("skin_due", "m.lookDue(plan, log, now)", plan=PLAN, log=log, now=now)


def test_the_skin_is_looked_at_an_hour_later_and_the_next_morning() -> None:
    """What was not answered in time is not asked any more: it stays unknown."""
    done = session(TEN)
    end = TEN + 20
    assert due(end + 59, done) is None
    assert due(end + 60, done) == {"session_seq": 1, "exercise": 1, "when": 1}
    assert due(end + 361, done) is None
    assert due(TEN + 1440, done) == {"session_seq": 1, "exercise": 1, "when": 2}
    assert due(TEN + 2 * 1440, done) is None
    answered = {"kind": "skin_later", "session_seq": 1, "when": 1, "skin": [0, 0], "at_min": end + 70}
    assert due(end + 80, done, answered) is None


def test_pain_closes_the_day_and_waits_until_the_therapist_was_told() -> None:
    """Stopped by pain, felt unwell, or 7 of 10 after it: no Start, nor the next day; the client says it was told."""
    hurt = [{"kind": "finding", "what": 2, "exercise": 0, "at_min": TEN},
            session(TEN, ended=2), session(TEN, ended=4), session(TEN, pain_after_n=7)]
    for record in hurt:
        for now in (TEN + 60, TEN + 1440):
            assert state(now, record)["kind"] == "tell"
        kinds = evaluate("day", "[60, 1440].map((min) => m.dayState(plan, log, now + min, 0, [], 1).kind)", plan=PLAN,
                         now=TEN, log=[{"seq": 1, "kind": record["kind"], "record": record, "received_ms": 0}])
        assert kinds == ["enough", "ready"]
        assert state(TEN + 600, record, ended=1)["kind"] == "ready"  # the therapist let it go on
    assert state(TEN + 60, session(TEN, pain_after_n=6))["kind"] == "ready"


def test_the_phone_tells_first_what_the_therapist_finds_on_top() -> None:
    """One rule on both sides: what the caseload wants an answer to is what the phone wants told."""
    cases = [(ended, pain) for ended in range(9) for pain in (0, 6, 7, 10, 11)]
    told = evaluate("telling", "cases.map(([ended, pain_after_n]) => m.tellsFirst(plan, { ended, pain_after_n }))",
                    cases=cases, plan=PLAN)
    for (ended, pain), tells in zip(cases, told, strict=True):
        log = read_log([practised(1, MONDAY, ended=ended, pain_after_n=pain)])
        rules = {r.rule for r in reasons(log, [planned()], Contact(phones_n=1, last_day=MONDAY), frozenset(), MONDAY)}
        assert tells == bool(rules & {"pain", "unwell"}), (ended, pain)


def test_minutes_are_counted_to_the_nearest() -> None:
    """Twenty minutes less a second are twenty; a few seconds are not none."""
    words = evaluate("minutes_done", "[10, 40, 1199, 90].map((s) => m.minutesDone((key, v) => key + (v?.n ?? ''), s))")
    assert words == ["phone.minutes_less", "phone.minutes1", "phone.minutes20", "phone.minutes2"]


def test_the_gravest_answer_leads_the_same_in_both_languages() -> None:
    """The phone looks up what the server's rules say."""
    rows = skin.decision_rows()["skin_before"]
    for answers in ([0, 0], [0, 1], [1, 2], [0, 9], [9, 1], [9, 4], [0, 5, 1]):
        expected = skin.graver(skin.BEFORE[answer] for answer in answers)
        assert evaluate("skin_rules", "m.outcome(rows, answers)", rows=rows, answers=answers) == expected


def test_a_finding_never_leads_to_practice() -> None:
    """Nor does a question that was not answered."""
    for answer in (*skin.FINDINGS, skin.NOT_ANSWERED):
        assert skin.BEFORE[answer] != "go"
    assert {skin.AFTER[answer] for answer in skin.FINDINGS} == {"call"}


def test_minus_and_plus_keep_the_number_in_the_units_own_steps() -> None:
    """It counts from 0 as the unit does, and never goes below."""
    press = "m.pressed(number, by, { step: 0.5 })"
    assert evaluate("strength_keeper", press, number=-1, by=1) == 0.5
    assert evaluate("strength_keeper", press, number=22, by=1) == 22.5
    assert evaluate("strength_keeper", press, number=0, by=-1) == 0


def test_what_the_unit_showed_before_is_never_above_the_ceiling() -> None:
    """It is the last one noted for this exercise, else the one found in the clinic; each says which it is."""
    exercise = PLAN["exercises"][0]  # type: ignore[index]
    kept = [{"seq": 1, "kind": "session", "record": {"exercise": 1, "strength_half_ma": [90, 34]}}]
    clinic = [{"number": 22, "from": "clinic"}, {"number": 18, "from": "clinic"}]
    assert evaluate("strength_history", "m.knownStrengths(e, [])", e=exercise) == clinic
    last = [None, {"number": 17, "from": "last"}]
    assert evaluate("strength_history", "m.knownStrengths(e, kept)", e=exercise, kept=kept) == last


def off(first: int, last: int, **also: Any) -> Any:
    """The plan with days off: so many days after the first day of these tests."""
    days = frozenset(date(2026, 11, 24) + timedelta(days=n) for n in range(first, last + 1))
    return compile_plan(invented_plan(), DaysOff(days=days, **also))


def test_on_a_day_off_nothing_is_asked_and_what_was_planned_may_be_done_by_choice() -> None:
    """Today names no session as due; the first one is there for who wants to; the day after is a usual one."""
    plan = off(0, 2)
    day = state(TEN, plan=plan)
    assert (day["kind"], day["next"]["slot"]) == ("day_off", "morning")
    assert plan["days_off"]["2026-11-24"] == {"again": "2026-11-27", "may": True}
    assert state(TEN + 3 * 1440, plan=plan)["kind"] == "ready"
    assert state(TEN + 60, session(TEN), session(TEN, 2), session(TEN, 3), plan=plan)["next"] is None, "least hours"


def test_on_a_day_off_for_illness_no_practice_is_offered() -> None:
    """Not by choice either: it is the therapist who takes such days back."""
    plan = off(0, 2, illness=frozenset({date(2026, 11, 24)}))
    assert (state(TEN, plan=plan)["kind"], state(TEN, plan=plan)["next"]) == ("day_off", None)
    assert state(TEN + 1440, plan=plan)["next"]["slot"] == "morning"


def test_a_skin_finding_goes_before_a_day_off() -> None:
    """A day off promises no next time where skin rests until the therapist says otherwise."""
    found = [{"kind": "finding", "exercise": n, "what": 1, "skin": 3, "at_min": TEN} for n in (1, 2, 3)]
    assert state(TEN + 60, *found, plan=off(0, 2))["kind"] == "no_practice"


def test_days_off_to_the_end_of_a_plan_name_no_next_time() -> None:
    """There is none in this plan."""
    last = date.fromisoformat(str(PLAN["last_day"]))
    plan = off(0, (last - date(2026, 11, 24)).days + 5)
    assert plan["days_off"][last.isoformat()]["again"] == ""
    assert max(plan["days_off"]) == last.isoformat()
