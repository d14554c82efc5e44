"""What is done in the middle of a teach-back: a step reworded, split, given a photo; the steps tried on a phone."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html import unescape

import pytest
from PIL import Image
from werkzeug.test import TestResponse

from tests.prescribing.invented import UNIT, T, known, typed_draft
from tests.therapist.house import Browser, House
from webapp.client.packing import render_pack
from webapp.issuing import PackContent, compile_plan
from webapp.prescribing.checking import check_draft
from webapp.prescribing.drafting import Typed, read_draft
from webapp.prescribing.editing import apply_action
from webapp.prescribing.issue import complete
from webapp.prescribing.practised import ROWS
from webapp.prescribing.redrafting import draft_of
from webapp.rehearsals import LENT_MS, Rehearsals
from webapp.storage import clients, drafts, photos, stimulators
from webapp.storage.clients import ClientDetails
from webapp.storage.clinic import Clinic, change

CLIENT = "/clinic/clients/1"
TEACH = f"{CLIENT}/teach-back/1"
DRAFT = apply_action(typed_draft(), "save", known(), T)
STEPS = read_draft(DRAFT, known())["exercises"][0]["set_up_steps"]
RUN = {"where": "screen", "unit": "dry", "decision": "later", "note": "Took her time"}


def a_photo(colour: str = "tan") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (900, 1200), colour).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    house = House(tmp_path_factory.mktemp("clinic"))
    with house.practice.store.write(house.db):
        stimulators.add(house.db, UNIT, 1)
        for code in ("SL-07", "SL-08"):
            clients.add(house.db, code=code, first_name="Maren", working_side="right", language="en",
                        details=ClientDetails(), therapist_id=1, created_ms=1)
        change(house.db, Clinic(name="Larkfield Therapy", call_who="Imogen Vale", call_phone="0555 0101",
                                call_skin="The same day", emergency="Call 999"))
    yield house
    house.close()


@pytest.fixture
def desk(clinic: House) -> Browser:
    """A therapist before a draft that is whole, with nothing of the test before in it."""
    begin(clinic, DRAFT)
    clinic.clock.ms += 60_000
    return clinic.browser("otto")


def begin(clinic: House, draft: Typed) -> None:
    with clinic.practice.store.write(clinic.db):
        drafts.save(clinic.db, 1, draft, user_id=2, now_ms=clinic.clock.ms, seen_ms=None)


def marks(mark: str = "alone") -> dict[str, str]:
    return {f"mark{step['step']}": mark for step in STEPS}


def marked(page: str) -> list[int]:
    """Lists the steps that a page shows a mark on."""
    return [int(n) for n in re.findall(r'name="mark(\d+)" value="\w+"(?: id="mark\d+")? checked', page)]


def sends_photo(desk: Browser, step: int, content: bytes, **typed: object) -> TestResponse:
    return desk.send(TEACH, do=f"photo:{step}", **{f"file{step}": (io.BytesIO(content), "p.jpg")}, **RUN | typed)


def saved(clinic: House) -> Typed:
    draft = drafts.read(clinic.db, 1)
    assert draft
    return draft.content


def test_a_step_gets_a_photo_on_the_spot_and_the_run_goes_on(clinic: House, desk: Browser) -> None:
    """Shown with the step, the marks of the others stay, its own is asked for again; ready lapses until it is gone."""
    on = {f"mark_{row}": "alone" for row in ROWS}
    desk.send(TEACH, **RUN | {"decision": "ready", "unit": "with"}, **marks(), **on)
    large = a_photo() + bytes(2_000_000)  # more than any other form may be long
    assert sends_photo(desk, 2, large, **marks()).status_code == 303
    page = desk.get(TEACH).text
    sha256 = str(saved(clinic)["ex1.step2.photo"])
    assert f'src="{CLIENT}/photos/{sha256}.jpg" alt="Photo of step 2"' in page
    assert marked(page) == [step["step"] for step in STEPS if step["step"] != 2]
    assert "Took her time" in page
    assert 'data-at="2"' in page
    assert "lapsed, because this changed: a step" in page
    assert marked(desk.get(TEACH).text) == []  # handed on once
    assert f"photos/{sha256}.jpg" in desk.get(f"{CLIENT}/plan").text
    desk.send(TEACH, do="photo_off:2", **RUN)
    page = desk.get(TEACH).text
    assert sha256 not in page
    assert "Ready for home," in page


def test_what_is_no_photo_is_said_beside_the_step_and_nothing_is_lost(clinic: House, desk: Browser) -> None:
    """A hostile file, an empty form, another client's photo by its name: a sentence, and all marks stay."""
    with clinic.practice.store.write(clinic.db):
        photos.add(clinic.db, 2, "cd" * 32, b"jpeg", (9, 9), user_id=1, now_ms=1)
    for told in (sends_photo(desk, 3, b"\xff\xd8\xff\xe0 not a picture", **marks()),
                 desk.send(TEACH, do="photo:3", **RUN, **marks()),
                 desk.send(TEACH, do="photo:3", photo3="cd" * 32, **RUN, **marks())):
        assert told.status_code == 422
        assert 'id="file3-error"' in told.text
        assert len(marked(told.text)) == len(STEPS)
    assert saved(clinic) == DRAFT


def test_a_step_that_is_split_takes_its_photo_along_and_moves_the_marks(clinic: House, desk: Browser) -> None:
    """The first part keeps the photo; what came after is marked as it was; other words begun elsewhere stay."""
    sends_photo(desk, 2, a_photo())
    desk.send(TEACH, do="reword:2", words2="Wash the skin.\nDry it well.", words4="Half a thought", **RUN, **marks())
    page = desk.get(TEACH).text
    after = [step["step"] + 1 for step in STEPS if step["step"] > 2]
    assert marked(page) == [1, *after]
    assert re.search(r'name="words5" rows="2">\s*Half a thought', page)
    draft = saved(clinic)
    assert draft["ex1.step2.photo"]
    assert (draft["ex1.step3.text"], draft["ex1.step3.photo"]) == ("Dry it well.", "")


def test_the_photo_of_a_step_goes_to_the_phone_and_into_the_next_version(clinic: House, desk: Browser) -> None:
    """With its words for who cannot see it; steps are not written anew over it; without its file no broken picture."""
    sends_photo(desk, 1, a_photo())
    draft = saved(clinic)
    sha256 = str(draft["ex1.step1.photo"])
    kept = photos.jpeg(clinic.db, 1, sha256)
    assert kept
    changed = apply_action(draft | {"ex1.ch1.pad_a.place": "Higher up"}, "save", known(), T)
    assert changed["ex1.step1.photo"] == sha256
    again = apply_action(changed, "steps_again:1", known(), T)
    assert (again["ex1.step1.photo"], again["ex1.step1.text"]) == (sha256, draft["ex1.step1.text"])
    assert apply_action(again, "step_photo_off:1:1", known(), T)["ex1.step1.photo"] == ""
    issued = complete(check_draft(draft, known()).issued)
    content = PackContent(issued=issued, compiled=compile_plan(issued), cue_sheets=(), clips=(), tones=(),
                          sample_rate_hz=48_000)
    files = render_pack(content, {sha256: kept})
    shown = f'<img class="photo" src="photos/{sha256[:32]}.jpg" alt="Photo for this step">'
    assert files[f"photos/{sha256[:32]}.jpg"].content == kept
    for page in ("set-up-1", "rehearse-1"):
        assert shown in files[page].content.decode()
        assert "photos/" not in render_pack(content)[page].content.decode()
    assert draft_of(issued, known())["ex1.step1.photo"] == sha256
    assert sha256[:32] in desk.get(f"{CLIENT}/preview/set-up-1").text
    assert desk.get(f"{CLIENT}/preview/photos/{sha256[:32]}.jpg").data == kept


def lent_token(clinic: House, desk: Browser) -> str:
    """Has the steps lent, and gives what stands in the code."""
    assert desk.send(TEACH, do="lend", **RUN, mark1="alone").status_code == 303
    page = desk.get(TEACH).text
    assert 'class="qr"' in page
    assert marked(page) == [1]
    assert re.search(r'value="phone"[^>]* checked', page)
    lent = clinic.app.extensions["wattlebird_rehearsals"]
    assert isinstance(lent, Rehearsals)
    found = lent.of_exercise(1, 1, clinic.clock.ms)
    assert found
    return found.token


def opens(phone: Browser, token: str) -> TestResponse:
    return phone.client.post("/rehearse/start", json={"token": token})


def test_the_steps_are_tried_on_one_phone_and_nothing_else_of_the_client_is(clinic: House, desk: Browser) -> None:
    """By a code that works once; what was changed since is on the phone; no cache keeps it; the trail says so."""
    sends_photo(desk, 2, a_photo("navy"))
    token, phone, other = lent_token(clinic, desk), clinic.browser(), clinic.browser()
    assert token not in phone.get("/rehearse").text
    told = opens(phone, token)
    assert told.get_json() == {"page": "/rehearse/steps?l="}
    cookie = told.headers["Set-Cookie"]
    limits = ("HttpOnly", "SameSite=Strict", "Path=/rehearse", f"Max-Age={LENT_MS // 1000}")
    assert all(word in cookie for word in limits)
    assert opens(other, token).get_json() == {"error": "link_used_up"}
    assert other.get("/rehearse/steps").status_code == 410
    page = phone.get("/rehearse/steps")
    assert page.headers["Cache-Control"] == "no-store"
    assert page.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert page.headers["Referrer-Policy"] == "no-referrer"
    assert page.headers["Refresh"] == str(LENT_MS // 1000 + 1)
    assert all(step["text"] in unescape(page.text) for step in STEPS)
    assert "Just a try. The unit stays off." in page.text
    for private in ("SL-07", "Maren", "manifest.webmanifest", 'href="today"'):
        assert private not in page.text, private
    photo = re.search(r'src="(photos/\w+\.jpg)"', page.text)
    assert photo
    assert phone.get(f"/rehearse/{photo[1]}").headers["Cache-Control"] == "no-store"
    assert other.get(f"/rehearse/{photo[1]}").status_code == 404
    assert phone.get("/rehearse/photos/none.jpg").status_code == 404
    assert phone.get("/rehearse/static/pages/rehearse.js").status_code == 200
    assert "Open on a phone since" in desk.get(TEACH).text
    desk.send(TEACH, do="reword:1", words1="Leave the small box off.", **RUN)
    assert "Leave the small box off." in phone.get("/rehearse/steps").text
    done = [action for action in clinic.actions() if action != "client_read"]
    assert done[-3:] == ["rehearsal_lent", "rehearsal_opened", "step_reworded"]


@pytest.mark.parametrize("ending", ["taken back", "time is over", "a new code", "the exercise is gone"])
def test_what_is_lent_ends(clinic: House, desk: Browser, ending: str) -> None:
    """The page says so at its next step, and shows nothing any more."""
    phone = clinic.browser()
    opens(phone, lent_token(clinic, desk))
    assert phone.get("/rehearse/alive").status_code == 204
    if ending == "taken back":
        desk.send(TEACH, do="take_back", **RUN)
        assert 'class="qr"' not in desk.get(TEACH).text
    elif ending == "time is over":
        clinic.clock.ms += LENT_MS
    elif ending == "a new code":
        lent_token(clinic, desk)
    else:
        begin(clinic, {"exercises": "1"})
        with clinic.practice.store.write(clinic.db):
            drafts.discard(clinic.db, 1)
    page = phone.get("/rehearse/steps")
    assert page.status_code == 410
    assert "Ask your therapist for a new code" in page.text
    assert STEPS[0]["text"] not in page.text
    if ending != "the exercise is gone":
        assert phone.get("/rehearse/alive").status_code == 410


def test_steps_of_a_draft_that_is_not_whole_can_be_tried(clinic: House, desk: Browser) -> None:
    """Teaching often comes before the last number: no ceiling, no pad sizes, no days yet."""
    half = {name: value for name, value in DRAFT.items()
            if not re.search(r"ceiling|intensity|days|_mm|_cm|session_min|view", name)}
    begin(clinic, half)
    phone = clinic.browser()
    opens(phone, lent_token(clinic, desk))
    assert STEPS[0]["text"] in phone.get("/rehearse/steps").text


def test_what_the_phone_sees_first_and_last_is_in_the_clients_language(clinic: House) -> None:
    """The code names it, and nothing else of whom it is for; another word there is English."""
    phone = clinic.browser()
    assert '<html lang="fr">' in phone.get("/rehearse?l=fr").text
    assert "Essayer la mise en place" in phone.get("/rehearse?l=fr").text
    assert "Bitten Sie in der Praxis um einen neuen Code" in phone.get("/rehearse/steps?l=de").text
    assert "Try the set-up" in phone.get("/rehearse?l=<b>").text


def test_a_token_cannot_be_guessed_at_leisure(clinic: House) -> None:
    """Ten tries a minute of an address, right or wrong."""
    clinic.clock.ms += 60_000
    phone = clinic.browser()
    assert [opens(phone, "a" * 32).status_code for _ in range(11)] == [404] * 10 + [429]


def test_the_enter_key_keeps_no_visit_and_lends_nothing(clinic: House, desk: Browser) -> None:
    """A form's first button is what Enter presses: the page is shown again as it was."""
    before = clinic.actions().count("teach_back_kept")
    first = re.search(r'<form method="post" action="[^"]+teach-back/1".*?name="do" value="(\w+)"', desk.get(TEACH).text,
                      re.DOTALL)
    assert first
    desk.send(TEACH, do=first[1], **RUN, mark1="help")
    page = desk.get(TEACH).text
    assert marked(page) == [1]
    assert 'class="qr"' not in page
    assert clinic.actions().count("teach_back_kept") == before
