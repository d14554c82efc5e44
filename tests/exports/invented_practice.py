"""One invented client with a plan of two versions, a log, goals and measures, in a real clinic's database."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import UTC, date, datetime, timedelta
from random import Random
from typing import Any

from tests.client.invented_clinic import EXERCISE, issued_plan
from tests.therapist.house import House
from webapp import sealing
from webapp.formats.log_record import canonical
from webapp.intake import take_in
from webapp.practice.goals import Goal, GoalReview
from webapp.practice.measures import Measure, Reading
from webapp.practice.session import DAY_ZERO, MINUTES_A_DAY
from webapp.storage import clients, clinic, devices, goals, measures, plans
from webapp.storage.clients import ClientDetails
from webapp.storage.clinic import Clinic
from webapp.storage.devices import Device

CODE, NAME, NOTE = "SL-42", "Solvejg", "=SUM(A1:A9) hurt a little, śćż"
WORDS, HOPE = "Hold my cup with both hands", "Sleep on my left side"
LEVELS = ("no grip", "holds it empty", "lifts it half full", "drinks from it", "drinks without a thought")
PHONE = "5a17e0c4b2963f81"
ANSWER = "told her to wait"


def exercise(number: int, **changed: Any) -> dict[str, Any]:
    return {**deepcopy(EXERCISE), "exercise": number, **changed}


def plan_of(first_day: date, version: int, days: int, **changed: Any) -> dict[str, Any]:
    """Issues a plan with a session in the morning and one in the evening, and a second exercise in version 2."""
    one = exercise(1, times_a_day=2, slots=["morning", "evening"], minutes_by_date=[
        {"from": (first_day + timedelta(days=14)).isoformat(), "session_min": 2}])
    two = exercise(2, title="Closing the hand", days=[1, 3, 5], slots=["morning"])
    return issued_plan(first_day, CODE, version=version, last_day=(first_day + timedelta(days=days)).isoformat(),
                       exercises=[one, two] if version > 1 else [one], **changed)


class InventedPractice:
    """A clinic (`house`) with one client, whose phone sent a log of so many days up to the house's today."""

    def __init__(self, house: House, days: int = 60) -> None:
        self.house = house
        self.today = datetime.fromtimestamp(house.clock.ms / 1000, UTC).date()
        self.first = self.today - timedelta(days=days)
        self.chance = Random(42)
        with house.practice.store.write(house.db) as db:
            clinic.change(db, Clinic(name="Saltmarsh Lane Rehab", lines=("3 Saltmarsh Lane",), time_zone="UTC"))
            self.client_id = clients.add(
                db, code=CODE, first_name=NAME, working_side="right", language="en",
                details=ClientDetails(phone="000 555 0199", notes="likes mornings"), therapist_id=1,
                created_ms=house.clock.ms)
            for version, first in ((1, self.first), (2, self.first + timedelta(days=days // 2))):
                plans.insert(db, client_id=self.client_id, version=version, note="", user_id=1, now_ms=house.clock.ms,
                             issued=json.dumps(plan_of(first, version, days + 14)))
            self.phone = self._phone()
            devices.add(db, self.phone)
            take_in(db, self.phone, self._log(days), "sync", "here", house.clock.ms)
            self._add_goals()

    def _phone(self) -> Device:
        return Device(device=PHONE, client_id=self.client_id, link_id=None, handle="h" * 16,
                      device_key=bytes(range(32)), cookie_sha256=sealing.sha256_hex("c"), rejoin_sha256=None,
                      rejoin_ends_ms=None, kind="phone", made_ms=self.house.clock.ms, seen_ms=self.house.clock.ms,
                      pack_id=None, revoked_ms=None)

    def _log(self, days: int) -> list[bytes]:
        found: list[bytes] = []
        for n in range(days):
            for hour in (9, 18):
                if self.chance.random() < 0.8:
                    found.append(self.session(len(found) + 1, self.first + timedelta(days=n), hour))
        return found

    def session(self, seq: int, day: date, hour: int, **changed: Any) -> bytes:
        """Writes one session; some ended early, some were not answered in part, one has bumps and a note."""
        longer = day >= self.first + timedelta(days=14)
        planned_s = 120 if longer else 60
        early = self.chance.random() < 0.1
        fields = {
            "plan": 1, "version": 1 if day < self.first + (self.today - self.first) // 2 else 2, "exercise": 1,
            "planned_s": planned_s, "cued_s": planned_s // 2 if early else planned_s, "ended": 5 if early else 1,
            "pauses_n": 0, "contractions_n": [planned_s // 12], "strength_half_ma": [40 + seq % 7],
            "skin_before": [0, 0], "skin_after": [0, 3] if seq == 5 else [0, (seq % 9 == 0 and 1) or 0],
            "pain_before_n": seq % 3, "pain_after_n": 11 if seq % 8 == 0 else seq % 4, "effort_n": 4, "help": seq % 2,
            "steps_skipped": [], "taps_n": 0, "period_ppm": 1_000_000, "answered_by": 0,
            "note": NOTE if seq == 5 else ""}
        at_min = (day - DAY_ZERO).days * MINUTES_A_DAY + hour * 60
        return canonical({"format": "wattlebird.record/1", "device": PHONE, "seq": seq, "kind": "session",
                          "at_min": at_min, "utc_q": 4, **fields, **changed})

    def _add_goals(self) -> None:
        db, at = self.house.db, {"made_ms": self.house.clock.ms, "made_by": 1}
        noted = {"noted_ms": self.house.clock.ms, "noted_by": 1}
        for words, importance, difficulty in ((WORDS, 3, 2), (HOPE, 1, 2)):
            goal = Goal(number=0, words=words, levels=LEVELS, importance=importance, difficulty=difficulty, baseline=-1,
                        set_on=self.first)
            number = goals.add(db, self.client_id, goal, **at)
            goals.add_review(db, self.client_id, GoalReview(goal=number, day=self.today - timedelta(days=3),
                                                           level=1 if words == WORDS else -1), **noted)
        for name, unit, least in (("Grip", "kg", 4.0), ("Blocks", "blocks", None)):
            number = measures.add(db, Measure(number=0, name=name, unit=unit, direction="more", smallest_change=least,
                                              source="ours" if least else ""), self.house.clock.ms)
            for day, value in ((self.first, 5.5), (self.today - timedelta(days=3), 10.0)):
                measures.add_reading(db, self.client_id, Reading(measure=number, day=day, value=value), **noted)
