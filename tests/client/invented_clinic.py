"""An invented clinic with one client, a short plan and a link: what the phone's tests start from."""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from webapp import sealing
from webapp.client.packing import make_pack
from webapp.settings import Settings
from webapp.storage import clients, links, plans, users
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Db, Store

TOKEN = "a2b3c4d5e6f7a2b3c4d5e6f7a2b3c4d5"
TYPED = "7K2M9QX4TD"
DAY_MS = 86_400_000

STIMULATOR: dict[str, Any] = {
    "format": "wattlebird.stimulator/1",
    "name": "Two-channel unit, grey",
    "settings": [
        {"name": "frequency_hz", "minimum": 1, "maximum": 100, "step": 1, "how": "Menu, first line"},
        {"name": "pulse_width_us", "minimum": 50, "maximum": 400, "step": 10, "how": "Menu, second line"},
        {"name": "session_min", "minimum": 1, "maximum": 60, "step": 1, "how": "Menu, third line"},
        {"name": "intensity_ma", "minimum": 0, "maximum": 99, "step": 1, "how": "The wheels"},
    ],
    "channels": [{"socket_side": "left", "control_side": "left", "lead_mark_a": "red", "lead_mark_b": "black"}],
    "drives": ["cycled"],
    "quickest_stop": "Press the big round button 1 time.",
    "turn_one_down": "Turn its wheel towards you.",
    "pause_does": "Press the round button twice.",
    "start_sign": "The light by the wheel turns green.",
    "ramps": "outside",
    "alternating_rest": "after_both",
    "delay_from": "contraction_end",
    "delay_effect": "shift",
    "starts_with": "rise",
    "at_end": "cut",
    "clock_from": "start",
    "pause_stops_clock": "unknown",
    "strength_changes": "any_time",
    "lost_contact": "both_to_zero",
    "settings_survive_off": "yes",
    "shows": "ma",
}
EXERCISE: dict[str, Any] = {
    "exercise": 1,
    "title": "Opening the hand",
    "movement": "open_hand",
    "muscles": ["finger extensors"],
    "side": "left",
    "settings": {
        "format": "wattlebird.plan/1",
        "drive": "cycled",
        "frequency_hz": 35,
        "pulse_width_us": 300,
        "session_min": 1,
        "ramp_up_s": 1,
        "hold_s": 4,
        "ramp_down_s": 1,
        "rest_s": 6,
        "channels": [{"intensity_ma": 20, "pad_cm2": 25.0}],
    },
    "stimulator": STIMULATOR,
    "channels": [
        {
            "name": "opening the hand",
            "muscle": "finger extensors",
            "ceiling_ma": 28,
            "pads": [
                {
                    "place": "Back of the forearm, two fingers below the elbow",
                    "mark": "red",
                    "width_cm": 5,
                    "height_cm": 5,
                },
                {
                    "place": "Back of the forearm, a hand above the wrist",
                    "mark": "black",
                    "width_cm": 5,
                    "height_cm": 5,
                },
            ],
        }
    ],
    "wording": [{"rise": "Starting: reach and open", "hold": "Keep it open", "ease": "Letting go", "rest": "Rest now"}],
    "task": "Reach for a cup and open your hand round it",
    "looks_right": "The fingers open and the wrist lifts a little.",
    "set_up_steps": [
        {"step": 1, "part": "pads", "text": "Press the edges of both pads down.", "picture": ""},
        {"step": 2, "part": "unit", "text": "Both wheels stand at zero.", "picture": ""},
    ],
    "times_a_day": 1,
    "days": [1, 2, 3, 4, 5, 6, 7],
    "slots": ["morning"],
    "minutes_by_date": [],
}


def issued_plan(first_day: date, code: str = "SL-07", **changed: Any) -> dict[str, Any]:
    """Makes an issued plan that runs for eight weeks."""
    plan = {
        "format": "wattlebird.issued/1",
        "client_code": code,
        "plan": 1,
        "version": 1,
        "language": "en",
        "issued_on": first_day.isoformat(),
        "first_day": first_day.isoformat(),
        "last_day": (first_day + timedelta(days=56)).isoformat(),
        "working_side": "right",
        "least_hours_between": 4,
        "most_per_day": 2,
        "time_zone": "Europe/London",
        "asks": {"pain": "each", "effort": "each", "help": "each", "note": "each", "skin_later": "each"},
        "exercises": [deepcopy(EXERCISE)],
        "cautions": ["Never while driving or in the bath."],
        "call": {"who": "Imogen Vale", "phone": "020 7946 0000", "when": "Mon to Fri, 9 to 4", "skin": "The same day."},
        "emergency": "Call 999",
        "clinic": {"name": "Larkfield Therapy", "lines": ["3 Mill Lane"]},
        "changes": [],
    }
    return {**plan, **changed}


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedClinic:
    """A data folder with a client, a packed plan and a link."""

    settings: Settings
    client_id: int

    def store(self) -> Store:
        return Store(self.settings.database_path)


def add_plan(store: Store, db: Db, settings: Settings, client_id: int, issued: dict[str, Any], now_ms: int) -> int:
    """Issues a version and makes its pack."""
    with store.write(db):
        plan_id = plans.insert(
            db,
            client_id=client_id,
            version=issued["version"],
            issued=json.dumps(issued),
            note="",
            user_id=1,
            now_ms=now_ms,
        )
    make_pack(db, plan_id, lambda done, of: None, store=store, settings=settings, now_ms=lambda: now_ms)
    return plan_id


def add_client(store: Store, settings: Settings, now_ms: int, code: str, token: str, typed: str) -> int:
    """Adds a client with a packed plan that started yesterday and a link of seven days."""
    db = store.connect()
    day = date.fromordinal(date(1970, 1, 1).toordinal() + now_ms // DAY_MS - 1)
    with store.write(db):
        client_id = clients.add(
            db,
            code=code,
            first_name="Sol",
            working_side="right",
            language="en",
            details=ClientDetails(),
            therapist_id=None,
            created_ms=now_ms,
        )
        links.insert(
            db,
            client_id=client_id,
            token_sha256=sealing.sha256_hex(token),
            typed_sha256=sealing.sha256_hex(typed),
            user_id=1,
            now_ms=now_ms,
            ends_ms=now_ms + 7 * DAY_MS,
            uses=settings.devices_per_link,
        )
    add_plan(store, db, settings, client_id, issued_plan(day, code), now_ms)
    db.close()
    return client_id


def make_clinic(data_dir: Path, public_url: str, now_ms: int, **settings: Any) -> InventedClinic:
    """Makes the clinic in a folder; its one therapist cannot sign in."""
    told = Settings(data_dir=data_dir, public_url=public_url, secret_key="invented " * 4, **settings)
    store = Store(told.database_path)
    db = store.connect()
    with store.write(db):
        users.add(db, login="imogen", name="Imogen Vale", role="therapist", password_hash="none", created_ms=now_ms)
    db.close()
    client_id = add_client(store, told, now_ms, "SL-07", TOKEN, TYPED)
    store.close()
    return InventedClinic(settings=told, client_id=client_id)
