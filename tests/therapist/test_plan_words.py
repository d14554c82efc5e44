"""The words of a plan: judged against their time, heard as the pack has them, recorded in the therapist's voice."""

from __future__ import annotations

import io
import json
import re
import wave
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from typing import Any

import numpy as np
import pytest

from tests.prescribing.invented import UNIT, typed_draft
from tests.speech.sounds import Samples, loudness_lufs, read_wav
from tests.therapist.house import Browser, House
from webapp.issuing import compile_pack
from webapp.prescribing.checking import check_draft
from webapp.prescribing.drafting import Typed
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.storage import clients, clinic, drafts, plans, recordings, stimulators
from webapp.storage.clients import ClientDetails

PLAN = "/clinic/clients/1/plan"
RATE_HZ = 48_000


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """One clinic for all: with one client and one unit."""
    house = House(tmp_path_factory.mktemp("clinic"))
    with house.practice.store.write(house.db):
        stimulators.add(house.db, UNIT, 1)
        clients.add(house.db, code="SL-07", first_name="Maren", working_side="right", language="en",
                    details=ClientDetails(), therapist_id=1, created_ms=1)
        clinic.change(house.db, replace(
            clinic.Clinic(), name="Larkfield Therapy", call_who="Imogen Vale", call_phone="0555 0101",
            call_skin="The same day", emergency="Call 999", time_zone="Europe/London"))
    yield house
    house.close()


@pytest.fixture(scope="module")
def desk(house: House) -> Browser:
    return house.browser("otto")


def a_voice(seconds: float = 1.0, loud: float = 0.2, noise: float = 0.0004) -> Samples:
    """Gives half a second of quiet, a hum that swells like syllables, and quiet again."""
    time_s = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    hum = sum((np.sin(2 * np.pi * 170 * k * time_s) / k for k in range(1, 12)), np.zeros(len(time_s)))
    swelling = loud * hum / np.abs(hum).max() * (0.55 - 0.45 * np.cos(2 * np.pi * 3 * time_s))
    around = np.zeros(RATE_HZ // 2)
    chance = np.random.default_rng(1)
    whole = np.concatenate([around, swelling, around])
    return np.asarray(whole + noise * chance.standard_normal(len(whole)), dtype=np.float64)


def wav_of(samples: Samples, width: int = 2) -> bytes:
    """Writes samples as a WAV file."""
    held = io.BytesIO()
    with wave.open(held, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(width)
        out.setframerate(RATE_HZ)
        out.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return held.getvalue()


def record(desk: Browser, body: bytes, said: str = "Reach and open") -> tuple[int, dict[str, str]]:
    """Sends a recording as the page's script does."""
    answer = desk.client.post(f"{PLAN}/recordings", query_string={"said": said}, data=body,
                              headers={"X-CSRFToken": desk.token(), "Content-Type": "audio/wav",
                                       "Accept": "application/json"})
    return answer.status_code, answer.get_json()


def notes(desk: Browser, draft: Typed) -> dict[str, str]:
    """Reads what the builder says beside each cue."""
    told = desk.send(f"{PLAN}/words?exercise=1", **draft).text
    found = re.findall(r'data-note="([^"]+)".*?>\s*<span>(.*?)</div>', told, re.DOTALL)
    return {name: re.sub(r"<[^>]+>|\s+", " ", text).strip() for name, text in found}


def issue(house: House, draft: Typed) -> dict[str, Any]:
    """Puts a draft among the issued plans, as the pages before it would."""
    client = clients.read(house.db, 1)
    assert client is not None
    issued = complete(check_draft(draft, read_known(house.db, client, house.clock())).issued)
    with house.practice.store.write(house.db):
        plans.insert(house.db, client_id=1, version=plans.next_version(house.db, 1), issued=json.dumps(issued), note="",
                     user_id=2, now_ms=house.clock())
    return issued


def hear(desk: Browser, draft: Typed, cue: str) -> bytes:
    answer = desk.send(f"{PLAN}/hear?exercise=1&cue={cue}", **draft)
    assert answer.content_type == "audio/wav", answer.text
    return bytes(answer.data)


def test_a_clip_that_does_not_fit_is_said_with_its_seconds(desk: Browser) -> None:
    """In the builder beside the cue, and once more before issuing; it is not cut."""
    draft = typed_draft(ex1__ch1__say_ease="Letting it all go, slowly, all the way down to the table")
    told = notes(desk, draft)
    assert re.match(r"Takes \d\.\d s with its tone; there are \d+\.\d s\.", told["ex1.ch1.rise"])
    assert re.match(r"Shown, not spoken: with its tone it takes \d\.\d s, and there are 1\.0 s", told["ex1.ch1.ease"])
    assert "the words before it" in told["ex1.ch1.hold"]
    desk.client.post(PLAN, data={**draft, "csrf_token": desk.token(), "do": "save"})
    assert "slowly, all the way down to the table”: Shown, not spoken" in desk.get("/clinic/clients/1/issue").text


def test_what_is_heard_is_the_very_clip_of_the_pack(desk: Browser, house: House) -> None:
    """For words as shown, for words said another way, and for a recording."""
    status, made = record(desk, wav_of(a_voice()), said="Keep it")
    assert status == 200
    draft = typed_draft(ex1__hold_s="9", ex1__ramp_up_s="4", ex1__ch1__as_rise="Reech, and open",
                        ex1__ch1__own_hold=made["sha256"])
    heard = {cue: hear(desk, draft, f"ex1.ch1.{cue}") for cue in ("rise", "hold", "rest")}
    plan = issue(house, draft)
    content = compile_pack(plan, house.settings.clips_dir, lambda *_: None,
                           lambda sha: recordings.wav(house.db, 1, sha))
    wavs = {clip.id: clip.wav for clip in content.clips}
    phrases = {phrase["phase"]: phrase for phrase in content.cue_sheets[0]["phrases"] if phrase["channels"] == [1]}
    assert phrases["rise"]["text"] != "Reech, and open"
    assert {cue: wavs[phrases[cue]["clip"]] for cue in heard} == heard
    assert sha256(heard["hold"]).hexdigest() == made["sha256"]


def test_a_recording_is_trimmed_and_as_loud_as_all_cues(desk: Browser, house: House) -> None:
    """Within 0.5 LU of −16 LUFS; the second of quiet round it is gone, the words are whole."""
    for loud in (0.02, 0.7):
        status, made = record(desk, wav_of(a_voice(loud=loud, noise=loud / 500)))
        assert status == 200, made
        kept = recordings.wav(house.db, 1, made["sha256"])
        assert kept is not None
        samples, rate_hz = read_wav(kept)
        assert loudness_lufs(samples, rate_hz) == pytest.approx(-16, abs=0.5)
        assert len(samples) / rate_hz == pytest.approx(1.05, abs=0.1)


@pytest.mark.parametrize(("body", "words"), [
    (b"", "not a recording"),
    (b"<html>not audio</html>" * 50, "not a recording"),
    (wav_of(a_voice())[:30], "not a recording"),
    (wav_of(a_voice(), width=1), "not a recording"),
    (wav_of(np.zeros(RATE_HZ)), "too quiet"),
    (wav_of(a_voice(0.1)[: RATE_HZ // 5]), "hardly anything"),
    (wav_of(a_voice(loud=9.0)), "too loud"),
    (wav_of(a_voice(noise=0.1)), "too much noise"),
    (wav_of(a_voice(9.0)[: 9 * RATE_HZ]) + b"\0" * 100_000, ""),
])  # fmt: skip
def test_what_is_no_usable_voice_is_refused_in_words(desk: Browser, body: bytes, words: str) -> None:
    """Each with what is wrong and what to do; a file with something behind its sound is taken as its sound."""
    status, told = record(desk, body)
    assert status == (422 if words else 200), told
    assert words in told.get("problem", "")


def test_a_huge_recording_is_refused_before_it_is_read(desk: Browser) -> None:
    """More than a form may hold is not taken in."""
    answer = desk.client.post(f"{PLAN}/recordings", data=b"RIFF" + b"\0" * 1_100_000,
                              headers={"X-CSRFToken": desk.token(), "Content-Type": "audio/wav"})
    assert answer.status_code == 413


def test_a_recording_for_other_words_is_named(desk: Browser) -> None:
    """The words were changed after it was made."""
    _status, made = record(desk, wav_of(a_voice()), said="Reach and open")
    told = notes(desk, typed_draft(ex1__ch1__say_rise="Lift your foot", ex1__ch1__own_rise=made["sha256"]))
    assert "recorded for “Reach and open”" in told["ex1.ch1.rise"]


def test_a_removed_recording_is_gone_and_the_voice_speaks_again(desk: Browser, house: House) -> None:
    """Also where the draft still names it; one that an issued plan plays stays with that plan."""
    _status, made = record(desk, wav_of(a_voice(1.3)))
    draft = typed_draft(ex1__ch1__own_rise=made["sha256"])
    own = hear(desk, draft, "ex1.ch1.rise")
    headers = {"X-CSRFToken": desk.token()}
    assert desk.client.post(f"{PLAN}/recordings/{made['sha256']}/forget", headers=headers).json == {"deleted": True}
    assert recordings.wav(house.db, 1, made["sha256"]) is None
    assert hear(desk, draft, "ex1.ch1.rise") != own
    record(desk, wav_of(a_voice(1.3)))
    issue(house, draft)
    with house.practice.store.write(house.db):
        drafts.discard(house.db, 1)  # another test may have left one: the page then shows that
    assert desk.client.post(f"{PLAN}/recordings/{made['sha256']}/forget", headers=headers).json == {"deleted": False}
    assert made["sha256"] in desk.get(PLAN).text
