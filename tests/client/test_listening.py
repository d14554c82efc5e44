"""The sound of a whole session, for a phone that is put away: made when a phone asks, fetched in ranges, in time."""

from __future__ import annotations

import base64
import hashlib
import io
import json
from typing import Any

import numpy as np
import pytest
import soundfile  # type: ignore[import-untyped]

from tests.browser.cue_detector import listen
from tests.client.conftest import Desk
from tests.client.invented_clinic import TOKEN
from tests.client_pages.phone_modules import evaluate
from tests.stimulation.plans import plan
from webapp import sealing
from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.speech.session_sound import LEAD_MS, sound_rows
from webapp.speech.tones import tone
from webapp.stimulation.cue_sheet import Wording, compile_cues

ASKED = {"exercise": 1, "session_s": 60, "voice": "both", "said": "all"}


class Listener:
    """A phone of the invented clinic, and the worker that makes what it asks for."""

    def __init__(self, desk: Desk) -> None:
        self.app = desk.app()
        self.browser = self.app.test_client()
        self.phone: dict[str, Any] = self.browser.post("/join/activate", json={"token": TOKEN}).get_json()

    def asks(self, **different: object) -> Any:
        """Asks for a session's sound and gives what is answered."""
        content = {"for": "listen", "device": self.phone["device"], "pack_id": self.phone["pack_id"], **ASKED}
        body = json.dumps({**content, **different}).encode()
        key = sealing.derive(base64.b64decode(self.phone["device_key"]), "cookie")
        return self.browser.post(f"/my/{self.phone['handle']}/listen", data=body, content_type="application/json",
                                 headers={"Wattlebird-Seal": sealing.seal(key, body)})  # fmt: skip

    def fetches(self, sha256: str, **headers: str) -> Any:
        address = f"/my/{self.phone['handle']}/pack/{self.phone['pack_id']}/listen/{sha256}.mp3"
        return self.browser.get(address, headers=headers)

    def reads(self, path: str) -> Any:
        return self.browser.get(f"/my/{self.phone['handle']}/pack/{self.phone['pack_id']}/{path}").get_json()

    def waits_for_the_worker(self) -> None:
        while self.app.extensions["wattlebird_worker"].do_one():
            pass


@pytest.fixture
def listener(desk: Desk) -> Listener:
    return Listener(desk)


def test_a_session_is_made_as_one_sound_and_fetched_in_ranges(listener: Listener) -> None:
    """First it is being made, then ready with its hash; ranges make up the whole; a rise is within 2 ms of its cue."""
    assert listener.asks().get_json() == {"state": "making", "done": 0, "of": 1}
    listener.waits_for_the_worker()
    ready = listener.asks().get_json()
    size = ready["bytes"]
    parts = [listener.fetches(ready["sha256"], Range=f"bytes={at}-{min(at + 99_999, size - 1)}")
             for at in range(0, size, 100_000)]  # fmt: skip
    assert {part.status_code for part in parts} == {206}
    whole = b"".join(part.data for part in parts)
    assert (hashlib.sha256(whole).hexdigest(), len(whole)) == (ready["sha256"], size)
    samples, rate_hz = soundfile.read(io.BytesIO(whole))
    heard = listen(np.asarray(samples), rate_hz, {"rise": tone("rise")}, 24_000)
    sheet = listener.reads("data/cues-1.json")
    rises = [row[0] + LEAD_MS for row in sheet["cues"] if row[4] and sheet["phrases"][row[1]]["tone"] == "rise"]
    assert np.abs(np.array([one.at_s * 1000 for one in heard]) - rises).max() <= 2
    finished = listen(np.asarray(samples), rate_hz, {"finished": tone("finished")}, 24_000)
    assert [round(one.at_s) for one in finished] == [65, 125, 185, 245]


def test_what_is_not_hers_is_not_there(listener: Listener) -> None:
    """No seal, no plan of hers, no such session, choice or sound: each is refused, and nothing is made."""
    assert listener.browser.post(f"/my/{listener.phone['handle']}/listen", json={"for": "listen"}).status_code == 401
    assert listener.asks(pack_id="0" * 32).status_code == 404
    assert listener.asks(session_s=61).get_json() == {"state": "gone"}
    assert listener.asks(voice="shouting").status_code == 400
    assert listener.asks(session_s="60").status_code == 400
    assert listener.fetches("0" * 64).status_code == 404
    assert not listener.app.extensions["wattlebird_worker"].do_one()


@pytest.mark.parametrize("said", ["all", "work", "milestones"])
def test_a_shorter_session_sounds_as_the_phone_would_play_it(said: str) -> None:
    """On a day of the build-up the sound is cut as the phone cuts its cue sheet."""
    words = Wording(rise="Reach", hold="Keep", ease="Let go", rest="Rest")
    lengths = dict.fromkeys(["Reach", "Keep", "Let go", "Rest", "Half", "Minute", "Done"], 800)
    told = {"halfway": "Half", "one_minute": "Minute", "finished": "Done"}
    sheet = write_cue_sheet(compile_cues(plan(session_min=8), 1, [words], lengths, words=told))
    for session_s in (480, 301, 100):
        cut = evaluate("cue_cut", "m.cutSheet(sheet, ms)", sheet=sheet, ms=session_s * 1000)
        rows = [[row[0], row[1], row[4]] for row in cut["cues"] if row[4]] if said == "all" else cut["less_said"][said]
        assert [list(row) for row in sound_rows(sheet, said, session_s * 1000)] == rows
