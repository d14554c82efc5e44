"""The invented clinic and its three therapists."""

from __future__ import annotations

import os
from pathlib import Path
from zoneinfo import available_timezones

from webapp.storage.clinic import Clinic

PASSWORD = "saltmarsh-lane-heron"  # for the demo alone, printed at each start
PEOPLE = (
    ("imke", "Imke Thorsund", "lead"),
    ("tobias", "Tobias Renko", "therapist"),
    ("anouk", "Anouk Fairley", "therapist"),
)
LINK_FOR = "SL-07"


def machine_time_zone() -> str:
    """Gives the IANA name of this machine's time zone, so that *today* is the visitor's; UTC where it can't be told."""
    named = os.environ.get("TZ", "").removeprefix(":")
    linked = str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
    return next((name for name in (named, linked) if name in available_timezones()), "UTC")


def saltmarsh_lane(time_zone: str) -> Clinic:
    """Describes the clinic; nothing of it is real."""
    return Clinic(
        name="Saltmarsh Lane Rehab",
        lines=("3 Saltmarsh Lane", "An invented town"),
        call_who="Your therapist at Saltmarsh Lane",
        call_when="Monday to Friday, 8 to 5",
        call_phone="000 555 0142",
        call_skin="A blister, a burn or broken skin: leave the pads off, cool it with water, and call us the same day.",
        emergency="Call the emergency number of your country.",
        cautions=("Keep the unit and the pads away from children and pets.",),
        time_zone=time_zone,
    )
