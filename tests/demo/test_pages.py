"""Caseload and review of the invented practice: what they show, who may see them, what an answer does."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.demo.conftest import NOON
from tests.therapist.house import Browser, House
from tests.therapist.test_pseudo_language import unmarked
from webapp.demo.cases import CASES
from webapp.intake import take_in
from webapp.storage import clients, devices, records

INES, TOMAS, MAREN, YUSUF = 4, 8, 7, 12


def house_of(folder: Path, **settings: object) -> House:
    house = House(folder, **settings)
    house.clock.ms = int(NOON.timestamp() * 1000)
    return house


@pytest.fixture
def house(demo_folder: Path) -> Iterator[House]:
    house = house_of(demo_folder)
    yield house
    house.close()


@pytest.fixture
def lead(house: House) -> Browser:
    return house.browser("ines")


def text_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def send(house: House, client_id: int, **fields: object) -> None:
    """Lets the client's phone send one more record."""
    phone = devices.of_client(house.db, client_id)[-1]
    seq = records.highest(house.db, phone.device) + 1
    stored = records.of_client(house.db, client_id)[-1]
    record = {"format": "wattlebird.record/1", "device": phone.device, "seq": seq, "at_min": stored.at_min,
              "utc_q": stored.utc_q, **fields}
    content = json.dumps(record, sort_keys=True, separators=(",", ":")).encode()
    with house.practice.store.write(house.db) as db:
        take_in(db, phone, [content], "sync", phone.handle, house.clock.ms)


def test_caseload_is_ordered_by_who_needs_attention(lead: Browser) -> None:
    """Skin first, then pain, then silence; those of whom nothing is new come last."""
    page = lead.get("/clinic/?whose=all").text
    names = re.findall(r"<b>(\w+)</b>", page)
    assert len(names) == 12
    assert names.index("Ines") < names.index("Piet") < names.index("Brita") < names.index("Ruta")
    assert names.index("Kofi") < names.index("Tomas") < names.index("Maren")
    assert "Skin, Tue 13 Oct: bumps" in text_of(page)


def test_caseload_of_a_therapist_is_hers_unless_she_asks_for_all(house: House) -> None:
    """One's own clients come first; who has none sees all."""
    with house.practice.store.write(house.db) as db:
        otto = next(int(row["id"]) for row in db.query("SELECT id FROM users WHERE login = 'otto'"))
        kofi = clients.read_by_code(db, "SL-05")
        assert kofi
        clients.change(db, kofi.id, code=kofi.code, first_name=kofi.first_name, working_side=kofi.working_side,
                       language="en", details=kofi.details, therapist_id=otto)
    otto_sees = house.browser("otto")
    assert re.findall(r"<b>(\w+)</b>", otto_sees.get("/clinic/").text) == ["Kofi"]
    assert len(re.findall(r"<b>(\w+)</b>", otto_sees.get("/clinic/?whose=all").text)) == 12
    assert len(re.findall(r"<b>(\w+)</b>", house.browser("ines").get("/clinic/").text)) == 12


def test_review_says_what_needs_an_answer_with_place_and_words(lead: Browser) -> None:
    """The finding, where it was, what the client wrote, and the look an hour later stand together."""
    page = text_of(lead.get(f"/clinic/clients/{INES}").text)
    assert "One thing needs your answer Skin, Tue 13 Oct: bumps" in page
    assert "after, palm side of the wrist: bumps" in page
    assert "“Little bumps under the wrist pad.”" in page
    assert "an hour later, palm side of the wrist" in page


def test_answer_takes_a_finding_off_the_list_and_stays_on_the_page(house: House, lead: Browser) -> None:
    """One answer covers the finding and its later looks; who answered, and what, is kept and in the trail."""
    page = lead.get(f"/clinic/clients/{INES}").text
    fields = dict(re.findall(r'<input type="hidden" name="(device|seq|rule)" value="([^"]+)">', page))
    answer = lead.send(f"/clinic/clients/{INES}", note="Rang her, no pads until Friday", **fields)
    assert answer.status_code == 303
    after = text_of(lead.get(f"/clinic/clients/{INES}").text)
    assert "needs your answer" not in after
    assert "Skin, by Ines Wallaroo: “Rang her, no pads until Friday”" in after
    assert house.actions().count("finding_answered") == 2
    again = lead.send(f"/clinic/clients/{INES}", note="me too", **fields)
    assert again.status_code == 303
    assert "Somebody had answered this already." in lead.get(f"/clinic/clients/{INES}").text


def test_answer_that_is_too_long_keeps_what_was_typed(lead: Browser) -> None:
    """A refused answer comes back with its words."""
    page = lead.get(f"/clinic/clients/{INES}").text
    fields = dict(re.findall(r'<input type="hidden" name="(device|seq|rule)" value="([^"]+)">', page))
    refused = lead.send(f"/clinic/clients/{INES}", note="so " * 200, **fields)
    assert refused.status_code == 422
    assert "so so so" in refused.text


def test_numbers_of_the_weeks_add_up_to_the_numbers_of_the_client(lead: Browser) -> None:
    """Sessions done of those due, week by week, sum to the figure at the top; the table of sessions is as long."""
    page = lead.get(f"/clinic/clients/{MAREN}").text
    top = re.search(r"<b>(\d+) of (\d+)</b>", page)
    weeks = re.findall(r'<td class="n">(\d+) of (\d+)', page.split('class="weeks"')[1].split("</table>")[0])
    assert top
    assert (sum(int(done) for done, _ in weeks), sum(int(due) for _, due in weeks)) == (int(top[1]), int(top[2]))
    for path in (f"/clinic/clients/{MAREN}?all=yes", f"/clinic/clients/{MAREN}?part=sessions"):
        table = lead.get(path).text.split('class="plain sessions"')[1].split("</table>")[0]
        assert f"All {table.count('<tr>') - 1} sessions" in text_of(page)


def test_the_figures_behind_a_chart_come_alone_or_with_the_whole_page(lead: Browser) -> None:
    """One row for each point of it, by either road; a chart that is not there is a page that is not there."""
    plain, alone, whole = (lead.get(f"/clinic/clients/{MAREN}{asked}") for asked in
                           ("", "?part=figures&picture=1", "?all=yes"))
    rows = re.findall(r"<tbody>(.*?)</tbody>", alone.text, re.DOTALL)[0]
    assert rows.count("<tr>") > 100
    assert rows not in plain.text
    assert rows in whole.text
    for wrong in ("9", "0", "", "x"):
        assert lead.get(f"/clinic/clients/{MAREN}?part=figures&picture={wrong}").status_code == 404


def test_unknown_kinds_second_records_and_late_ones_are_shown(house: House, lead: Browser) -> None:
    """What this release does not know is shown as it came; what was kept aside or came too late is marked."""
    send(house, MAREN, kind="from_a_later_release", mood_n=3)
    phone = devices.of_client(house.db, MAREN)[-1]
    first = records.of_device(house.db, phone.device)[0]
    other = {**json.loads(first.content), "version": 99}
    with house.practice.store.write(house.db) as db:
        take_in(db, phone, [json.dumps(other).encode()], "sync", "another store", house.clock.ms)
        devices.revoke(db, phone.device, house.clock.ms)
    send(house, MAREN, kind="changed", what=2, version=0, by=0)
    page = text_of(lead.get(f"/clinic/clients/{MAREN}?all=yes&client_id=1").text)
    for words in ("mood_n: 3", "kind not known here, kept as it came", "kept aside, not counted",
                  "from a withdrawn phone, not counted", "3 things need your answer"):
        assert words in page


def test_silence_is_called_unknown_not_missed(lead: Browser) -> None:
    """A phone that was not heard: the days since are not known, and no share counts them as missed."""
    page = text_of(lead.get(f"/clinic/clients/{TOMAS}").text)
    assert re.search(r"No log for \d+ days: what was done since is not known", page)
    assert re.search(r"\d+ not known yet", page)


def test_review_before_anything_was_done(lead: Browser) -> None:
    """A plan that no phone has opened: nothing is drawn that is not there."""
    page = text_of(lead.get(f"/clinic/clients/{YUSUF}").text)
    assert "Plan not opened on a phone for 3 days" in page
    assert "No strength logged yet." in page
    assert "No phone has opened the plan yet." in page


def test_review_of_nobody_and_for_nobody(house: House) -> None:
    """An unknown client is not found; an administrator sees no clinical page; a stranger has to sign in."""
    assert house.browser("ines").get("/clinic/clients/9999").status_code == 404
    assert house.browser("rui").get(f"/clinic/clients/{INES}").status_code == 403
    assert house.browser("rui").get("/clinic/").status_code == 403
    assert house.browser().get(f"/clinic/clients/{INES}").status_code == 303
    assert "sign-in" in house.browser().send(f"/clinic/clients/{INES}", note="x").headers["Location"]


def test_opening_a_review_is_in_the_trail(house: House, lead: Browser) -> None:
    """Who read a client's log can be told later."""
    lead.get(f"/clinic/clients/{INES}")
    assert house.actions()[-1] == "review_read"


TYPED = re.compile("|".join((
    r"SL-\d\d", "Saltmarsh Lane Rehab", r"(Delia|Olwen|Piet|Ines|Kofi|Hanne|Maren|Tomas|Ruta|Ansel|Brita|Yusuf)",
    r"(Imke Thorsund|Tobias Renko|Anouk Fairley|Ines Wallaroo)", "Demo phone( [0-9a-f]{4})?", "(1 )?thumb",
    "Thumb across the palm",
    "(1 )?opening the hand", "(2 )?closing the hand", "Opening (and closing )?the hand", r"[0-9a-f]{4}",
    r"(Fif|Six|Twen|Twel)\w+ (minutes|seconds) .*", "Five days a week.*", "shoulder", "Holding the shoulder")))


WRITTEN = {note for case in CASES for note in (*case.notes.values(), *case.answered.values())}


def typed_by_someone(text: str, in_plans: str) -> bool:
    rest = re.sub(r"⟦.*⟧", "", text).strip(" :·“”").removesuffix(" …")
    return rest in WRITTEN or TYPED.fullmatch(rest) is not None or f'"{rest.rstrip(" .:")}' in in_plans


def test_review_and_caseload_forget_no_text(demo_folder: Path) -> None:
    """In the tests' language only what people typed is left in English."""
    house = house_of(demo_folder, pseudo_language=True)
    browser = house.browser("ines")
    in_plans = " ".join(row["issued"] for row in house.db.query("SELECT issued FROM plans"))
    for page in ("?whose=all", f"clients/{INES}", f"clients/{MAREN}", f"clients/{YUSUF}"):
        left = unmarked(browser.get(f"/clinic/{page}").text)
        assert [text for text in left if not typed_by_someone(text, in_plans)] == [], page
    house.close()
