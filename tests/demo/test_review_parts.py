"""The caseload worked out ahead, any days of a review, what if, thresholds, rests: on the invented practice."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.demo.test_pages import INES, MAREN, house_of, send, text_of
from tests.therapist.house import Browser, House
from webapp import sealing
from webapp.caseload_rows import refresh_outdated, work_out
from webapp.client_log import read_client_log, read_recent_log
from webapp.phone_requests import SEAL_HEADER
from webapp.practice.attention import RANKS
from webapp.practice.session import local_date
from webapp.resting import other_rest_digits
from webapp.storage import caseload, clients, clinic, devices, drafts, records, rests
from webapp.storage.devices import Device

DAY_MS = 86_400_000
PIET, BRITA, YUSUF = 3, 11, 12


@pytest.fixture
def house(demo_folder: Path) -> Iterator[House]:
    house = house_of(demo_folder)
    yield house
    house.close()


@pytest.fixture
def lead(house: House) -> Browser:
    return house.browser("ines")


def work_everything_out(house: House) -> int:
    return refresh_outdated(house.db, lambda: house.practice.store.write(house.db), None, house.clock.ms)


def test_what_is_worked_out_ahead_is_what_the_whole_log_says(house: House) -> None:
    """Of each client, today and later: reasons, rests and the row from part of the log are those of all of it."""
    assert work_everything_out(house) == 12
    zone = clinic.read(house.db).zone
    for days in (0, 2, 9, 40):
        for client in clients.list_active(house.db):
            now = house.clock.ms + days * DAY_MS
            part, whole = (read(house.db, client, now, zone) for read in (read_recent_log, read_client_log))
            assert (part.reasons, part.rests, part.contact) == (whole.reasons, whole.rests, whole.contact), client.code
            assert work_out(part).content == work_out(whole).content
    assert work_everything_out(house) == 0


def test_the_invented_practice_shows_each_reason(house: House) -> None:
    """Skin, quiet, silence, above the ceiling, pads, a plan's end, looks, a unit set differently: somewhere."""
    work_everything_out(house)
    shown = {reason["rule"] for _client, place in caseload.page(house.db, None, 50, 0)
             for reason in place.content["reasons"]}
    assert shown >= {"skin", "quiet", "silent", "above_ceiling", "pads", "ends", "looks", "set_differently"}


def test_a_record_is_in_the_caseload_with_its_own_transaction(house: House) -> None:
    """Intake works the row out anew; an answer, a plan, a threshold make it stale, and the next look works it out."""
    work_everything_out(house)
    send(house, MAREN, kind="finding", exercise=1, what=1, place_n=0, skin=4, pain_n=11, note="")
    place, client = caseload.read(house.db, MAREN), clients.read(house.db, MAREN)
    assert client
    assert place
    assert (place.stale, place.rank) == (False, RANKS.index("skin"))
    whole = work_out(read_client_log(house.db, client, house.clock.ms, clinic.read(house.db).zone))
    assert place.content == whole.content
    with house.practice.store.write(house.db) as db:
        clinic.change_thresholds(db, clinic.thresholds(db))
    assert work_everything_out(house) == 12
    house.clock.ms += DAY_MS
    assert work_everything_out(house) == 12


def test_the_clinic_sets_its_own_thresholds(house: House, lead: Browser) -> None:
    """Each has its reason beside it; a wrong one is named and kept; a new one changes the caseload at once."""
    assert "that practice was due" in text_of(lead.get("/clinic/?whose=all").text)
    page = text_of(lead.get("/clinic/practice/attention").text)
    assert "Two missed days are a weekend" in page
    typed = {name: getattr(clinic.thresholds(house.db), name) for name in clinic.thresholds(house.db).__slots__}
    slow = re.compile(r"Slow: over (\d+) s on one step")
    assert slow.findall(text_of(lead.get(f"/clinic/clients/{MAREN}").text)) == ["120"]
    refused = lead.send("/clinic/practice/attention", **{**typed, "quiet_days": "99"})
    assert refused.status_code == 422
    assert 'value="99"' in refused.text
    typed |= {"quiet_days": 30, "slow_step_s": 60}
    assert lead.send("/clinic/practice/attention", **typed).status_code == 303
    assert "that practice was due" not in text_of(lead.get("/clinic/?whose=all").text)
    assert house.actions()[-1] == "thresholds_changed"
    assert slow.findall(text_of(lead.get(f"/clinic/clients/{MAREN}").text)) == ["60"]
    assert house.browser("otto").get("/clinic/practice/attention").status_code == 403


def test_any_days_and_any_version(lead: Browser) -> None:
    """Version 1 has its own days; days can be chosen; what is no day is named and left out."""
    whole = text_of(lead.get(f"/clinic/clients/{MAREN}").text)
    first = text_of(lead.get(f"/clinic/clients/{MAREN}?version=1").text)
    week = text_of(lead.get(f"/clinic/clients/{MAREN}?from=2026-10-05&to=2026-10-11").text)
    assert "Shown: version 1" in first
    assert "Shown: 5 Oct to 11 Oct" in week
    assert len({page.split("Week by week")[0].split("By the log")[1] for page in (whole, first, week)}) == 3
    wrong = lead.get(f"/clinic/clients/{MAREN}?from=soon")
    assert wrong.status_code == 200
    assert "“soon” is no day" in text_of(wrong.text)


def test_what_was_cut_short_or_seen_on_the_skin_is_told_alike_everywhere(house: House, lead: Browser) -> None:
    """Brita stopped for pain: done and marked; Piet's pink of the morning counts; the rule is one text on each page."""
    rule = "Cut short: under 80 % of the time, or stopped"
    everyone, brita = (lead.get(path).text for path in ("/clinic/?whose=all", f"/clinic/clients/{BRITA}"))
    made = lead.send(f"/clinic/clients/{BRITA}/report/new", reader="doctor", parts=["home"], first="2026-09-01",
                     last=local_date(house.clock.ms, ZoneInfo("UTC")).isoformat())
    report = lead.get(made.headers["Location"]).text
    assert all(rule in page for page in (everyone, brita, report))
    assert "One session was cut short." in report
    assert all("cut short (pain)" in page for page in (everyone, brita))
    piet = text_of(lead.get(f"/clinic/clients/{PIET}").text)
    assert re.search(r"Skin findings \S+ 1 ", piet)
    assert "nothing planned, skin finding" in piet
    assert re.search(r"Most recently a cycle took \d+\.\d\d s instead of \d+\.00 s", piet)
    empty = text_of(lead.get(f"/clinic/clients/{YUSUF}").text)  # no session yet: nothing is said of what is not known
    assert "No answers in these days." in empty
    assert "No step was left out" not in empty


def test_a_log_dated_a_year_off_is_counted_whole_whatever_days_are_shown(house: House, lead: Browser) -> None:
    """All 28 sessions of a phone whose clock was a year slow are said to be misdated, in a week's review too.

    One is of a year that no calendar has: it is shown as well, and breaks no page.
    """
    known = records.of_client(house.db, MAREN)
    fields = json.loads(next(r.content for r in known if r.kind == "session"))
    slow = {name: value for name, value in fields.items() if name not in ("format", "device", "seq", "kind")}
    for n in range(27):
        send(house, MAREN, kind="session", **{**slow, "at_min": slow["at_min"] - (370 - n) * 1440})
    send(house, MAREN, kind="session", **{**slow, "at_min": -(2**31)})
    work_everything_out(house)
    for days in ("", "?from=2026-10-05&to=2026-10-11", "?version=1"):
        assert "28 sessions carry a date that cannot be" in text_of(lead.get(f"/clinic/clients/{MAREN}{days}").text)


def test_what_if_shows_old_and_new_and_becomes_the_draft(house: House, lead: Browser) -> None:
    """A shorter rest: more contractions beside those of now; one press and the plan builder holds it."""
    path = f"/clinic/clients/{MAREN}/what-if"
    assert "Now, version 3" in text_of(lead.get(path).text)
    figures = lead.send(f"{path}?part=figures", **{"ex1.rest_s": "8", "ex9.rest_s": "1", "task": "x"})
    assert '<tr class="changed"><th scope="row">contractions' in figures.text
    wrong = lead.send(f"{path}?part=figures", **{"ex1.rest_s": "soon"})
    assert wrong.status_code == 200
    assert drafts.read(house.db, MAREN) is None
    opened = lead.send(path, do="draft", **{"ex1.rest_s": "8"})
    assert opened.headers["Location"].endswith(f"/clinic/clients/{MAREN}/plan")
    draft = drafts.read(house.db, MAREN)
    assert draft
    assert draft.content["ex1.rest_s"] == "8"
    assert "ex9.rest_s" not in draft.content


def test_a_rest_is_ended_with_the_answer_or_by_number(house: House, lead: Browser) -> None:
    """Ines rests after the bumps; the answer ends it; a number that the client reads out ends one that is not here."""
    page = text_of(lead.get(f"/clinic/clients/{INES}").text)
    assert "Practice rests until you say otherwise." in page
    phone = devices.of_client(house.db, INES)[-1].device
    other = devices.of_client(house.db, MAREN)[-1].device
    assert lead.send(f"/clinic/clients/{INES}/rest", device=other, through="3").status_code == 404
    lead.send(f"/clinic/clients/{INES}/rest", device=phone, through="three")
    assert rests.ended_through(house.db, phone) == 0
    lead.send(f"/clinic/clients/{INES}/rest", device=phone, through="9000")
    assert rests.ended_through(house.db, phone) == 9000
    assert "Practice rests" not in text_of(lead.get(f"/clinic/clients/{INES}").text)
    assert "rest_ended" in house.actions()


def test_a_rest_reaches_the_clients_other_phone_with_its_next_sync(house: House, lead: Browser) -> None:
    """The review names the phone that was not told; digits of its own, or its next sync, end the rest there."""
    first = devices.of_client(house.db, INES)[0]
    tablet = replace(first, device="00ff00ff00ff00ff", handle="another-handle", device_key=bytes(32),
                     seen_ms=house.clock.ms - 20 * DAY_MS, made_ms=house.clock.ms - 30 * DAY_MS)
    with house.practice.store.write(house.db) as db:
        devices.add(db, tablet)
    shown = text_of(lead.get(f"/clinic/clients/{INES}").text)
    assert "Phone 00ff was not heard since and does not know it" in shown
    [rest] = syncs(house, tablet)["resting"]
    assert (rest["device"], rest["exercises"]) == (first.device, [1])
    assert syncs(house, first)["resting"] == []
    work_everything_out(house)
    assert syncs(house, tablet)["resting"] == [rest]
    assert "does not know it" not in text_of(lead.get(f"/clinic/clients/{INES}").text)
    house.clock.ms += 60_000
    lead.send(f"/clinic/clients/{INES}/rest", device=first.device, through=str(rest["through"]))
    digits = other_rest_digits(bytes(32), tablet.device, first.device, rest["through"])
    assert f"{digits[:3]} {digits[3:]}" in text_of(lead.get(f"/clinic/clients/{INES}").text)
    assert syncs(house, tablet)["resting"] == []
    assert f"{digits[:3]} {digits[3:]}" not in text_of(lead.get(f"/clinic/clients/{INES}").text)


def syncs(house: House, phone: Device) -> Any:
    """Sends an empty batch as a phone does; gives the answer if it is rightly sealed."""
    body = json.dumps({"device": phone.device, "store": phone.handle, "records": [], "highest": 0}).encode()
    seal = sealing.seal(sealing.derive(phone.device_key, "sync"), body)
    answer = house.app.test_client().post("/exchange/sync", data=body, headers={SEAL_HEADER: seal})
    key = sealing.derive(phone.device_key, "receipt")
    assert sealing.seal_is_right(key, answer.data, answer.headers[SEAL_HEADER])
    return answer.get_json()


def test_fifty_clients_a_page(house: House, lead: Browser) -> None:
    """The next page goes on where this one ends."""
    with house.practice.store.write(house.db) as db:
        for n in range(50):
            clients.add(db, code=f"ZZ-{n}", first_name="Rowan", working_side="left", language="en",
                        details=clients.ClientDetails(), therapist_id=None, created_ms=house.clock.ms)
    first, second = (lead.get(f"/clinic/?whose=all&page={n}").text for n in (1, 2))
    assert (first.count('<th scope="row"'), second.count('<th scope="row"')) == (50, 12)
    assert "Page 1 of 2" in text_of(first)
    assert ('rel="next"' in first, 'rel="prev"' in second) == (True, True)
