"""The browser is killed in the middle of sessions: nothing that the phone called saved is lost."""

from __future__ import annotations

import random

import pytest

from tests.browser.clinic_server import ClinicServer
from tests.browser.killed_phone import KilledPhone
from tests.browser.phone import Phone

KILLS = 20


@pytest.mark.settled
def test_twenty_kills_in_mid_session_lose_no_saved_record(server: ClinicServer, phone: Phone) -> None:
    """SIGKILL while cycles are saved and sessions closed, offline: each record is there, and each saved cycle."""
    server.is_killed()
    killed = KilledPhone(phone, random.Random(4))
    for _ in range(KILLS):
        killed.practises_until_it_is_killed()
        assert killed.lost() == []
    assert killed.cycle > 2 * KILLS
    assert len(killed.records) > KILLS / 2
