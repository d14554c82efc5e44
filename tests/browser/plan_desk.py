"""A therapist at the plan builder: from an empty plan to the printed sheet."""

from __future__ import annotations

import io
import time

from PIL import Image
from playwright.sync_api import expect

from tests.browser.desk import Desk
from tests.prescribing.invented import UNIT
from tests.prescribing.ready import make_ready
from tests.qr_reader import read_codes
from webapp.prescribing.drafting import read_draft
from webapp.prescribing.known import read_known
from webapp.storage import clients, clinic, drafts, equipment, stimulators
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Store


def fill_practice(store: Store) -> None:
    """Puts a clinic, a unit and a client into a store."""
    db = store.connect()
    with store.write(db):
        stimulators.add(db, UNIT, 1)
        clients.add(db, code="SL-07", first_name="Maren", working_side="right", language="en", details=ClientDetails(),
                    therapist_id=1, created_ms=1)
        things = {"owner": "clinic", "serial": "WB-0042-7", "pads_kind": "with gel, from the clinic's own drawer",
                  "pads_sessions": "15", "battery": "two AA cells, loaded anew each week"}
        equipment.save(db, 1, things, user_id=1, now_ms=1)
        clinic.change(db, clinic.Clinic(
            name="Saltmarsh Lane Rehab", lines=("12 Saltmarsh Lane",), call_who="Hazel Reed", call_phone="0555 0100",
            call_when="weekdays 9 to 5", call_skin="the same day", emergency="Call 999", time_zone="Europe/London",
            cautions=("Keep the unit and the pads away from children and pets.", "Not while the heat pad is on.",
                      "Take rings and watches off first, on both hands.")))
    db.close()


class PlanDesk(Desk):
    """A desk at the plan builder."""

    def opens_the_plan(self) -> None:
        self.opens_the_plan_of(1)

    def opens_the_plan_of(self, client_id: int) -> None:
        self.opens(f"clients/{client_id}/plan")
        self.page.locator("form[data-ready]").wait_for()

    def chooses(self, name: str, value: str) -> None:
        """Chooses from a list that rebuilds the form, and waits for the rebuilt one."""
        self.page.locator(f'[id="{name}"]').select_option(value)
        self.page.locator(f'input[name="ex1.defaults_for"][value*="{value}"]').wait_for(state="attached")

    def types(self, **values: str) -> None:
        for name, value in values.items():
            self.page.locator(f'[id="{name.replace("__", ".")}"]').fill(value)

    def tab(self, name: str) -> None:
        self.page.get_by_role("tab", name=name).click()

    def is_saved(self) -> None:
        expect(self.page.locator("[data-save-state]")).to_have_attribute("data-state", "saved")

    def describes_a_plan(self) -> None:
        """Fills a whole plan for two channels."""
        self.opens_the_plan()
        self.chooses("ex1.movement", "open_hand")
        self.chooses("ex1.stimulator", "1")
        self.page.locator("label", has_text="Two").click()
        self.page.locator('[id="ex1.ch2.intensity"]').wait_for(state="attached")
        self.tries_the_muscle(1, 2)
        self.tab("Settings")
        self.types(ex1__ch1__intensity="22", ex1__ch1__ceiling="28", ex1__ch2__intensity="18", ex1__ch2__ceiling="24",
                   ex1__hold_s="6", ex1__rest_s="12")
        self.is_saved()

    def tries_the_muscle(self, n: int, channels: int, felt: str = "8", moved: str = "13", most: str = "40") -> None:
        """Notes the feeling under each pad, what the muscle did at which strength, the skin at rest."""
        self.page.locator(f"#ex{n}").get_by_role("tab", name="First trial").click()
        for c in range(1, channels + 1):
            for pad in ("pad_a", "pad_b"):
                name = f"ex{n}.ch{c}.{pad}.sensation"
                self.page.locator(f'[name="{name}"][value="full"]').check(force=True)
            self.types(**{f"ex{n}__ch{c}__felt": felt, f"ex{n}__ch{c}__moved": moved, f"ex{n}__ch{c}__most": most})
        self.types(**{f"ex{n}__skin_at_rest": "even, as on the other arm"})

    def is_ready_for_home(self) -> None:
        """Answers the screening and shows the steps, by the functions behind those pages."""
        self.is_saved()
        store = Store(self.server.data_dir / "wattlebird.db")
        db = store.connect()
        now_ms = int(time.time() * 1000)
        known = read_known(db, clients.read(db, 1), now_ms)  # type: ignore[arg-type]
        saved = drafts.read(db, 1)
        with store.write(db):
            make_ready(db, 1, read_draft(saved.content if saved else {}, known)["exercises"], now_ms)
        db.close()
        store.close()

    def issues(self, why: str = "It was time for it") -> None:
        self.is_ready_for_home()
        self.page.get_by_role("button", name="Check and issue").click()
        self.page.get_by_label("Why this version").fill(why)
        self.presses("Issue the plan")
        self.page.wait_for_url("**/plans/*")

    def presses_first(self, name: str) -> None:
        self.page.get_by_role("button", name=name).first.click()

    def opens_the_sheet(self, version: int = 1) -> None:
        self.opens(f"clients/1/plans/{version}/sheet")
        self.page.locator("body[data-fitted]").wait_for()
        self.page.emulate_media(media="print")


def decoded(picture: bytes) -> str:
    """Reads the QR code in a picture with a decoder that knows nothing of the encoder."""
    [text] = read_codes(Image.open(io.BytesIO(picture)))
    return text
