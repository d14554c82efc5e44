"""Where the pads go, from the builder to the pack, the sheet and the review."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
from PIL import Image

from tests.prescribing.invented import UNIT, known, typed_draft
from tests.therapist.house import Browser, House
from webapp.client.packing import render_pack
from webapp.issuing import PackContent, compile_plan
from webapp.prescribing.checking import check_draft
from webapp.prescribing.drafting import Typed, read_exercise
from webapp.prescribing.editing import apply_action
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.prescribing.redrafting import draft_of
from webapp.storage import clients, clinic, photos, plans, stimulators
from webapp.storage.clients import ClientDetails
from webapp.translations import translator

T = translator("en")
PLAN = "/clinic/clients/1/plan"


def a_photo() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (900, 1200), "tan").save(out, "JPEG")
    return out.getvalue()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """One clinic for all: with two clients and one unit."""
    house = House(tmp_path_factory.mktemp("clinic"))
    with house.practice.store.write(house.db):
        stimulators.add(house.db, UNIT, 1)
        for code in ("SL-07", "SL-08"):
            clients.add(house.db, code=code, first_name="Maren", working_side="right", language="en",
                        details=ClientDetails(), therapist_id=1, created_ms=1)
        clinic.change(house.db, replace(clinic.read(house.db), name="Larkfield Therapy", time_zone="Europe/London"))
    yield house
    house.close()


@pytest.fixture(scope="module")
def browser(house: House) -> Browser:
    there = house.browser()
    there.sign_in("ines")
    return there


def sends(browser: Browser, photo: bytes, client: int = 1) -> tuple[int, dict[str, object]]:
    answer = browser.client.post(f"/clinic/clients/{client}/plan/photos", data=photo,
                                 headers={"X-CSRFToken": browser.token(), "Content-Type": "application/octet-stream"})
    return answer.status_code, answer.get_json()


def test_a_movement_brings_its_drawing_and_pads_that_were_moved_stay() -> None:
    """Pads start where the movement has them; a moved one stays until another drawing is chosen."""
    draft = typed_draft()
    assert draft["ex1.ch1.view"] == "forearm_back"
    assert (draft["ex1.ch1.pad_a.x_mm"], draft["ex1.ch2.view"]) == ("98", "forearm_palm")
    moved = apply_action(draft | {"ex1.ch1.pad_a.x_mm": "120"}, "restructure", known(), T)
    assert moved["ex1.ch1.pad_a.x_mm"] == "120"
    elsewhere = apply_action(moved | {"ex1.movement": "elbow_extension"}, "restructure", known(), T)
    assert (elsewhere["ex1.ch1.view"], elsewhere["ex1.ch1.pad_a.x_mm"]) == ("upper_arm_behind", "487")
    other = apply_action(moved | {"ex1.ch1.view": "lower_leg_front"}, "restructure", known(), T)
    assert (other["ex1.ch1.pad_a.x_mm"], other["ex1.ch1.pad_a.y_mm"]) == ("120", "548")


@pytest.mark.parametrize(("typed", "rule"), [
    ({"ex1.ch1.pad_a.y_mm": "300"}, "pads_close_drawn"), ({"ex1.ch1.pad_a.width_cm": "9"}, None),
    ({"ex1.ch1.view": "shoulder_front", "ex1.ch1.pad_a.x_mm": "300", "ex1.ch1.pad_a.y_mm": "265"}, "pad_over"),
    ({"ex1.ch1.pad_a.y_mm": "300", "ex1.ch1.apart_cm": "6"}, None), ({}, None),
])  # fmt: skip
def test_pads_too_close_or_where_none_belongs_are_pointed_out(typed: Typed, rule: str | None) -> None:
    """By the drawing, unless the gap was measured on the skin: that counts then."""
    checked = check_draft(typed_draft() | typed, known())
    found = {f.finding.rule: f for e in checked.exercises for f in e.findings if f.field == "ex1.ch1.view"}
    assert set(found) == ({rule} if rule else set())
    for one in found.values():
        assert T(f"finding.{one.finding.rule}.short", **one.finding.params)


def test_the_smallest_pad_feeds_the_dose_whatever_its_shape() -> None:
    """A round pad counts as its circle, a rectangle as its sides."""
    draft = typed_draft() | {"ex1.ch1.pad_a.shape": "round", "ex1.ch1.pad_b.shape": "rectangle",
                             "ex1.ch1.pad_b.width_cm": "9"}
    exercise = read_exercise(draft, 1, known())
    assert exercise["settings"]["channels"][0]["pad_cm2"] == pytest.approx(19.63, abs=0.01)
    assert exercise["channels"][0]["pads"][1]["shape"] == "rectangle"


def test_a_new_version_starts_with_the_pads_of_the_last(house: House) -> None:
    """Places, drawing and photo go from a plan to its next draft."""
    draft = typed_draft() | {"ex1.ch1.pad_a.x_mm": "120", "ex1.ch1.photo": "ab" * 32, "ex1.ch1.photo_height": "1333",
                             "ex1.ch1.pad_a.photo_x": "410", "ex1.ch1.pad_a.photo_y": "700"}
    again = draft_of(complete(check_draft(draft, known()).issued), known())
    for name in ("view", "placed_on", "photo", "photo_height", "pad_a.x_mm", "pad_a.photo_x", "pad_a.photo_y"):
        assert again[f"ex1.ch1.{name}"] == draft[f"ex1.ch1.{name}"], name


def test_a_photo_is_taken_in_shown_to_its_clinic_and_to_no_other_client(house: House, browser: Browser) -> None:
    """Named by its hash; another client's page does not give it out, nor does anybody who is not signed in."""
    status, told = sends(browser, a_photo() + bytes(2_000_000))  # more than any other form may be long
    assert (status, told["height"]) == (200, 1333)
    shown = browser.get(f"/clinic/clients/1/photos/{told['photo']}.jpg")
    assert shown.content_type == "image/jpeg"
    assert "no-store" in shown.headers["Cache-Control"]
    assert browser.get(f"/clinic/clients/2/photos/{told['photo']}.jpg").status_code == 404
    assert house.browser().get(f"/clinic/clients/1/photos/{told['photo']}.jpg").status_code != 200


@pytest.mark.parametrize("sent", [b"\xff\xd8\xff\xe0 not a picture", b"\0" * 25_000_001])
def test_a_hostile_file_gets_a_sentence(browser: Browser, sent: bytes) -> None:
    """Said beside the button, and nothing is kept."""
    status, told = sends(browser, sent)
    assert status in (413, 422)
    assert str(told["problem"]).endswith(".")


def test_the_photo_goes_to_the_phone_and_to_no_list_or_sheet(house: House, browser: Browser) -> None:
    """In the pack with its marks; on the review only in a disclosure; on the sheet and the caseload not at all."""
    _, told = sends(browser, a_photo())
    sha256 = str(told["photo"])
    draft = typed_draft() | {"ex1.ch1.photo": sha256, "ex1.ch1.photo_height": "1333"}
    plan_known = read_known(house.db, clients_read(house), 1)
    draft = apply_action(draft, "restructure", plan_known, T)
    issued = complete(check_draft(draft, known()).issued)
    kept = photos.jpeg(house.db, 1, sha256)
    assert kept
    content = PackContent(issued=issued, compiled=compile_plan(issued), cue_sheets=(), clips=(), tones=(),
                          sample_rate_hz=48_000)
    files = render_pack(content, {sha256: kept})
    assert files[f"photos/{sha256[:32]}.jpg"].content == kept
    page = files["set-up-1"].content.decode()
    assert f'href="photos/{sha256[:32]}.jpg"' in page
    assert "photos/" not in render_pack(content)["set-up-1"].content.decode()
    with house.practice.store.write(house.db):
        plans.insert(house.db, client_id=1, version=1, issued=json.dumps(issued), note="", user_id=1,
                     now_ms=house.clock.ms)
    assert sha256 not in browser.get("/clinic/clients/1/plans/1/sheet").text
    assert sha256 not in browser.get("/clinic/").text
    review = browser.get("/clinic/clients/1").text
    assert re.search(r"<details><summary>Show the photo</summary><svg[^>]*><image href=[^>]*" + sha256, review)
    assert 'class="limb"' in browser.get("/clinic/clients/1/plans/1").text


def report_of(house: House, browser: Browser, **chosen: object) -> str:
    today = datetime.fromtimestamp(house.clock.ms / 1000, UTC).date().isoformat()
    made = browser.send("/clinic/clients/1/report/new", reader="doctor", first=today, last=today, parts="plan",
                        **chosen)
    assert made.status_code == 303, made.text
    return made.headers["Location"]


def test_a_photo_is_in_a_report_only_where_she_chose_it(house: House, browser: Browser) -> None:
    """Off by default and asked anew for each; with its marks on the page and in the PDF; nobody else's by its hash."""
    last = plans.newest(house.db, 1)
    assert last
    sha256 = str(last.issued["exercises"][0]["channels"][0]["photo"])
    form = browser.get("/clinic/clients/1/report/new").text
    assert re.search(rf'<input[^>]*name="photos"[^>]*value="{sha256}"(?![^>]*checked)', form)
    without = report_of(house, browser)
    assert sha256 not in browser.get(without).text
    assert images_in(browser.get(f"{without}/pdf").data) == 0
    with_it = report_of(house, browser, photos=[sha256, "ab" * 32])
    assert f"/clinic/clients/1/photos/{sha256}.jpg" in browser.get(with_it).text
    assert "ab" * 32 not in browser.get(with_it).text
    assert images_in(browser.get(f"{with_it}/pdf").data) == 1
    assert not re.search(rf'value="{sha256}"[^>]*checked', browser.get("/clinic/clients/1/report/new").text)


def images_in(pdf: bytes) -> int:
    """Counts the pictures in a PDF, read by another program than wrote it."""
    document = pdfium.PdfDocument(pdf)
    return sum(1 for page in document for _ in page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_IMAGE]))


def clients_read(house: House) -> clients.Client:
    found = clients.read(house.db, 1)
    assert found
    return found


def test_photos_that_nothing_shows_are_forgotten_with_the_draft(house: House, browser: Browser) -> None:
    """Dropping a draft drops its photos; what was issued stays."""
    _, told = sends(browser, a_photo(), 2)
    with house.practice.store.write(house.db):
        assert photos.forget_unissued(house.db, 2) == 1
    assert photos.jpeg(house.db, 2, str(told["photo"])) is None
