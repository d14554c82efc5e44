"""A therapist records her own voice for a cue, through the browser's own way from the microphone to the pack."""

from __future__ import annotations

import json
import wave
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Locator, Playwright, expect
from scipy.signal import resample_poly  # type: ignore[import-untyped]

from tests.browser.clinic_server import ClinicServer
from tests.browser.desk import add_lead
from tests.browser.plan_desk import PlanDesk, fill_practice
from tests.ports import free_port
from tests.speech.sounds import Samples, loudness_lufs, read_wav
from tests.waiting import until
from webapp.speech import voice
from webapp.storage import recordings
from webapp.storage.database import Store

pytestmark = pytest.mark.browser
RATE_HZ = 48_000
WORDS = "Reach for the cup"


def microphone(file: Path) -> Samples:
    """Writes what the microphone hears over and over: quiet, somebody saying the words, quiet."""
    said = resample_poly(voice.speak(WORDS), 2, 1)
    around = 0.0003 * np.random.default_rng(2).standard_normal(RATE_HZ)
    heard = np.concatenate([around, 0.3 * said / np.abs(said).max(), around])
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE_HZ)
        out.writeframes((heard * 32767).astype("<i2").tobytes())
    return np.asarray(said, dtype=np.float64)


def likeness(one: Samples, other: Samples) -> float:
    """Gives the largest normalised correlation of two sounds at 24 kHz."""
    size = len(one) + len(other)
    spectrum = np.fft.rfft(one, size) * np.conj(np.fft.rfft(other, size))
    return float(np.abs(np.fft.irfft(spectrum, size)).max() / np.sqrt(np.sum(one**2) * np.sum(other**2)))


def hears(meter: Locator, is_loud: bool) -> bool:
    level = float(meter.evaluate("meter => meter.value"))
    return level > 0.15 if is_loud else level < 0.01


@pytest.fixture
def desk(browser_tool: Playwright, tmp_path: Path) -> Iterator[PlanDesk]:
    """Gives the lead at a desk whose browser has a microphone."""
    add_lead(tmp_path)
    store = Store(tmp_path / "wattlebird.db")
    fill_practice(store)
    store.close()
    microphone(tmp_path / "heard.wav")
    server = ClinicServer(tmp_path, free_port())
    server.starts()
    flags = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
             f"--use-file-for-fake-audio-capture={tmp_path / 'heard.wav'}"]
    at = PlanDesk(browser_tool, server, flags)
    at.signs_in()
    yield at
    at.closes()
    server.stops()


def test_a_therapist_records_hears_and_removes_her_own_voice(desk: PlanDesk, tmp_path: Path) -> None:
    """Said into the microphone; trimmed, levelled, heard as it is kept; removed, it is nowhere any more."""
    page = desk.page
    desk.opens_the_plan()
    desk.chooses("ex1.movement", "open_hand")
    desk.tab("Words and task")
    desk.types(ex1__ch1__say_rise=WORDS)
    page.locator('[id="ex1.ch1.say_rise"]').blur()
    cue = page.locator('[data-cue="ex1.ch1.rise"]')
    page.locator(f'[data-cue="ex1.ch1.rise"][data-sentence="{WORDS}"]').wait_for()  # the voice may have to load first
    note, record = cue.locator("[data-note-place]"), cue.locator("[data-record]")
    record.click()
    expect(note).to_contain_text(f"Say: “{WORDS}”")
    level = cue.locator("[data-level]")
    for is_loud in (False, True, False):  # the words, from beginning to end
        until(partial(hears, level, is_loud))
    record.click()
    expect(note).to_contain_text("Your voice. Takes")
    cue.locator("[data-hear]").click()
    page.locator('[data-cue="ex1.ch1.rise"][data-heard-ms]').wait_for()
    desk.is_saved()
    store = Store(tmp_path / "wattlebird.db")
    db = store.connect()
    [made] = recordings.of_client(db, 1).values()
    assert made.said == WORDS
    assert cue.get_attribute("data-heard-ms") == str(made.dur_ms)
    samples, rate_hz = read_wav(recordings.wav(db, 1, made.sha256) or b"")
    assert rate_hz == 24_000
    assert loudness_lufs(samples, rate_hz) == pytest.approx(-16, abs=0.5)
    assert likeness(samples, np.asarray(voice.speak(WORDS))) > 0.5
    cue.locator("[data-forget]").click()
    expect(note).not_to_contain_text("Your voice")
    desk.is_saved()
    assert recordings.of_client(db, 1) == {}
    assert json.loads(db.execute("SELECT content FROM drafts").fetchone()[0])["ex1.ch1.own_rise"] == ""
    db.close()
    store.close()
    assert desk.complaints == []
