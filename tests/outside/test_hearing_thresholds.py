"""The tones through an old ear, by published thresholds of hearing.

Median shift of the threshold of a man of 75 against one of 18, otologically normal, ISO 7029:2017 as an open
implementation gives it (phonometry, hearing/threshold.py, which reproduces the standard's check value of 20.209 dB for
a man of 60 at 4 kHz); beside it the formula of the editions of 1984 and 2000, α(Y − 18)², from memory and defined up to
70 years. The standards themselves were not seen.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.speech.sounds import Samples, read_wav
from webapp.speech.clips import render_clip
from webapp.speech.tones import TONE_NAMES, render_tone

AT_HZ = np.array([500, 1000, 2000, 4000])
MAN_75_DB = {
    "ISO 7029:2017": np.array([13.1, 16.8, 26.0, 41.1]),
    "ISO 7029:2000": np.array([0.0035, 0.0040, 0.0070, 0.0160]) * (75 - 18) ** 2,
}
BANDS = ("ISO 7029:2017", "ISO 7029:2000")


def spectrum(samples: Samples, rate_hz: int) -> tuple[Samples, Samples]:
    power = np.abs(np.fft.rfft(samples)) ** 2
    hz = np.asarray(np.fft.rfftfreq(len(samples), 1 / rate_hz), dtype=np.float64)
    return hz, np.asarray(power, dtype=np.float64)


def drop_db(samples: Samples, rate_hz: int, shift_db: Samples, least_hz: float = 0, most_hz: float = 8000) -> float:
    """Gives how much fainter a sound, or a band of it, reaches the old ear; the shift is interpolated over log f."""
    hz, power = spectrum(samples, rate_hz)
    inside = (hz >= max(least_hz, 50)) & (hz <= most_hz)
    loss = np.interp(np.log(hz[inside]), np.log(AT_HZ), shift_db)
    return float(10 * np.log10(power[inside].sum() / (power[inside] * 10 ** (-loss / 10)).sum()))


def test_the_formula_gives_the_published_row() -> None:
    """11.4, 13.0, 22.7 and 52.0 dB at 500, 1000, 2000 and 4000 Hz."""
    assert MAN_75_DB["ISO 7029:2000"] == pytest.approx([11.4, 13.0, 22.7, 52.0], abs=0.05)


@pytest.mark.parametrize("edition", BANDS)
@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_loses_no_more_than_low_frequencies_do(name: str, edition: str) -> None:
    """Less than a pure tone of 1 kHz loses, though each tone glides through higher pitches and has partials above."""
    samples, rate_hz = read_wav(render_tone(name).wav)
    assert drop_db(samples, rate_hz, MAN_75_DB[edition]) < MAN_75_DB[edition][1]


@pytest.mark.parametrize("edition", BANDS)
def test_tones_reach_an_old_ear_better_than_the_consonants_of_speech(edition: str, tmp_path: Path) -> None:
    """Every tone loses less than the band of speech from 1 to 4 kHz, by 4 dB or more."""
    words, rate_hz = read_wav(render_clip("Starting: reach and open", "en", tmp_path).wav)
    speech = drop_db(words, rate_hz, MAN_75_DB[edition], 1000, 4000)
    tones = [drop_db(*read_wav(render_tone(name).wav), MAN_75_DB[edition]) for name in TONE_NAMES]
    assert max(tones) < speech - 4
