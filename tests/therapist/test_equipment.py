"""Equipment and days off: kept as typed, counted for the phone, excused in the review, listed for whoever pays."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.client_pages.invented_plan import invented_plan
from tests.made_once import keeps_clips_in
from tests.prescribing.invented import UNIT, typed_draft
from tests.therapist.house import Browser, House
from webapp import sealing
from webapp.client.blobs import find_blob
from webapp.client_log import read_client_log
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.storage import clients, clinic, devices, drafts, jobs, packs, plans, stimulators
from webapp.storage.clients import Client, ClientDetails
from webapp.storage.devices import Device

CLIENT = "/clinic/clients/1"
PAGE = f"{CLIENT}/equipment"
TYPED = {"do": "save", "owner": "to_get", "serial": "WB-0042", "pads_stock": "1", "pads_sessions": "15",
         "needs": "Arm rest: the arm has to lie supported"}  # fmt: skip


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, clips: Path) -> Iterator[House]:
    """One clinic with one client, whose plan began some weeks ago by the clinic's clock."""
    folder = tmp_path_factory.mktemp("clinic")
    keeps_clips_in(clips, folder)
    house = House(folder)
    with house.practice.store.write(house.db):
        clients.add(house.db, code="SL-07", first_name="Maren", working_side="right", language="en",
                    details=ClientDetails(), therapist_id=1, created_ms=1)
        plans.insert(house.db, client_id=1, version=1, issued=json.dumps(complete(invented_plan())), note="",
                     user_id=1, now_ms=house.clock.ms)
    yield house
    house.close()


@pytest.fixture(scope="module")
def browser(house: House) -> Browser:
    there = house.browser()
    there.sign_in("ines")
    return there


def client_of(house: House) -> Client:
    found = clients.read(house.db, 1)
    assert found
    return found


def test_equipment_is_kept_and_the_next_plan_says_how_long_pads_last(house: House, browser: Browser) -> None:
    """What was typed is there again; the change interval goes into the next version."""
    assert browser.send(PAGE, **TYPED).status_code == 303
    assert 'value="WB-0042"' in browser.get(PAGE).text
    assert read_known(house.db, client_of(house), house.clock.ms).pads_sessions == 15


@pytest.mark.parametrize("wrong", [{"pads_sessions": "0"}, {"pads_stock": "many"}, {"owner": "a thief"}])
def test_what_cannot_be_is_named_and_nothing_typed_is_lost(browser: Browser, wrong: dict[str, str]) -> None:
    """The page comes back with everything in it."""
    answer = browser.send(PAGE, **{**TYPED, "serial": "typed anew", **wrong})
    assert answer.status_code == 422
    assert 'value="typed anew"' in answer.text


def test_the_list_counts_pads_from_the_plan_and_gives_reasons(browser: Browser) -> None:
    """112 sessions of 15 each are 8 sets, one is in stock: 14 square pads of 7 sets, with why."""
    browser.send(PAGE, **TYPED)
    listed = re.sub(r"<[^>]+>|\s+", " ", browser.get(f"{PAGE}/list").text)
    sets = re.search(r"(\d+) +Self-adhesive electrode, 5 × 5 cm, square +Opening and closing the hand: (\d+) ", listed)
    assert sets
    assert int(sets[1]) == 2 * (-(-int(sets[2]) // 15) - 1)
    assert "Muscle stimulator for home use" in listed
    assert "Arm rest  the arm has to lie supported" in listed.replace("   ", "  ")
    assert "Maren" not in listed


def test_days_off_are_excused_until_they_are_taken_back(house: House, browser: Browser) -> None:
    """What was planned on a day off is not missed; taken back, it is."""
    zone = clinic.read(house.db).zone
    version = read_client_log(house.db, client_of(house), house.clock.ms, zone).versions[0]
    later_ms = house.clock.ms + 20 * 86_400_000
    first = date.fromordinal(max(version.starts.toordinal(), date(2026, 11, 24).toordinal()) + 2)

    def excused() -> int:
        return read_client_log(house.db, client_of(house), later_ms, zone).summary.total.excused_n

    assert excused() == 0
    backwards = {"do": "pause", "pause_first": "2026-12-02", "pause_last": "2026-12-01", "pause_reason": "holiday"}
    assert browser.send(PAGE, **backwards).status_code == 422
    typed = {**backwards, "pause_first": first.isoformat(), "pause_last": first.isoformat()}
    assert browser.send(PAGE, **typed).status_code == 303
    assert excused() == sum(len(e.slots) for e in version.exercises if first.isoweekday() in e.weekdays)
    taken_back = re.search(r'value="(take_back:\d+)"', browser.get(PAGE).text)
    assert taken_back
    browser.send(PAGE, do=taken_back[1])
    assert excused() == 0


def test_days_off_go_to_the_phones_in_a_pack_of_the_same_version(house: House, browser: Browser) -> None:
    """Noting them packs the plan anew, taking them back again; what a phone still works with stays known."""
    plan = plans.newest(house.db, 1)
    assert plan

    def packed() -> tuple[packs.Pack, dict[str, Any]]:
        assert house.app.extensions["wattlebird_worker"].do_one(), "a pack was asked for"
        pack = packs.newest_for_client(house.db, 1)
        assert pack
        blob = find_blob(house.settings.packs_dir, pack.manifest, "data/plan.json")
        assert blob
        return pack, json.loads(blob.file.read_bytes())

    with house.practice.store.write(house.db):
        jobs.add(house.db, "make_pack", plan.id, house.clock.ms)
    first = packed()[0]
    phone = Device(
        device=sealing.new_device(), client_id=1, link_id=None, handle=sealing.new_handle(),
        device_key=sealing.new_device_key(), cookie_sha256="0" * 64, rejoin_sha256=None, rejoin_ends_ms=None,
        kind="phone", made_ms=1, seen_ms=None, pack_id=first.pack_id, revoked_ms=None)
    with house.practice.store.write(house.db):
        devices.add(house.db, phone)
    browser.send(PAGE, do="pause", pause_first="2026-12-24", pause_last="2026-12-27", pause_reason="holiday")
    with_days, told = packed()
    assert (with_days.version, with_days.pack_id != first.pack_id) == (first.version, True)
    assert told["days_off"]["2026-12-26"] == {"again": "2026-12-28", "may": True}
    assert packs.by_id(house.db, first.pack_id) == first
    assert "One phone has not said yet" in browser.get(PAGE).text
    with house.practice.store.write(house.db):
        devices.took_pack(house.db, phone.device, with_days.pack_id)
    assert "Every phone of this client has the plan" in browser.get(PAGE).text
    taken_back = re.search(r'value="(take_back:\d+)"', browser.get(PAGE).text)
    assert taken_back
    browser.send(PAGE, do=taken_back[1])
    assert packed()[1]["days_off"] == {}


def test_the_sheet_says_whose_the_unit_is_and_how_long_pads_last(house: House, browser: Browser) -> None:
    """With its number and what it runs on, as noted now; how long pads last as the phone counts it; nothing unknown."""
    sheet = f"{CLIENT}/plans/1/sheet"
    browser.send(PAGE, do="save", owner="clinic", serial="WB-0042", battery="two AA cells")
    told = re.search(r'class="things">(.+?)</p>', browser.get(sheet).text)
    assert told
    assert "The unit is lent by the clinic. Its number: WB-0042." in told[1]
    assert "It runs on: two AA cells." in told[1]
    assert ("New pads after" in told[1]) == bool(complete(invented_plan()).get("pads_sessions"))
    browser.send(PAGE, do="save", owner="to_get")
    assert "lent by" not in browser.get(sheet).text


def test_before_the_first_plan_the_list_follows_its_draft(house: House, browser: Browser) -> None:
    """What is to be got is got before anything is issued."""
    with house.practice.store.write(house.db):
        new = clients.add(house.db, code="SL-10", first_name="Sol", working_side="right", language="en",
                          details=ClientDetails(), therapist_id=1, created_ms=1)
    assert browser.get(f"/clinic/clients/{new}/equipment/list").status_code == 200
    with house.practice.store.write(house.db):
        drafts.save(house.db, new, typed_draft(last_day="2026-12-20"), user_id=1, now_ms=1, seen_ms=None)
        stimulators.add(house.db, UNIT, 1)
    page = browser.get(f"/clinic/clients/{new}/equipment/list").text
    assert "Self-adhesive electrode" in page
