"""The five tones: as their recipe says, told apart, and unlike any alarm signal.

Alarm signals: IEC 60601-1-8 (medical electrical equipment, alarm systems). Its pulses have a fundamental of 150–1000 Hz
with at least four harmonics within 15 dB of it (as a maker of buzzers, puiaudio.com, restates the standard; the text
itself was not at hand); bursts of 1–2, 3 or 2×5 pulses of about 75–250 ms that repeat (*from memory*); the optional
category melodies are steps of three notes (usyd.edu.au, page on alarms).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.lib.stride_tricks import sliding_window_view

from tests.speech.sounds import Samples, loudness_lufs, read_wav, true_peak_dbtp
from webapp.speech.tones import TONE_NAMES, render_tone
from webapp.stimulation.cue_sound import TONE_MS

FRAME_S = 0.06
PITCHES_HZ = {  # name: (time in s, pitch) as the recipe's formula gives them
    "rise": [(0.05, 446), (0.35, 622), (0.62, 864)],
    "hold": [(0.05, 482), (0.25, 622), (0.70, 622)],
    "ease": [(0.05, 868), (0.35, 622), (0.62, 448)],
    "rest": [(0.05, 512), (0.35, 370), (0.80, 370)],
    "finished": [(0.10, 502), (0.72, 740), (1.40, 496)],
}
DURATIONS_S = {"rise": 0.7, "hold": 0.8, "ease": 0.7, "rest": 1.0, "finished": 1.8}


def heard(name: str) -> tuple[Samples, int]:
    return read_wav(render_tone(name).wav)


def envelope(samples: Samples, rate_hz: int) -> Samples:
    """The level in each 10 ms."""
    frame = rate_hz // 100
    framed = samples[: len(samples) // frame * frame].reshape(-1, frame)
    return np.asarray(np.sqrt((framed**2).mean(axis=1)))


def spectrum(samples: Samples) -> Samples:
    return np.asarray(np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 1 << 16)))


def pitch_hz(samples: Samples, rate_hz: int) -> float:
    """The strongest frequency: in each tone that is the fundamental."""
    return float(spectrum(samples).argmax() * rate_hz / (1 << 16))


def pitch_track(samples: Samples, rate_hz: int) -> Samples:
    """The pitch every 10 ms, where the tone is loud enough to have one."""
    frames = sliding_window_view(samples, int(FRAME_S * rate_hz))[:: rate_hz // 100]
    loud = np.sqrt((frames**2).mean(axis=1))
    return np.array([pitch_hz(frame, rate_hz) for frame in frames[loud > 0.05 * loud.max()]])


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_glides_as_its_recipe_says(name: str) -> None:
    """Duration and the pitch at three places are those of the formula."""
    samples, rate_hz = heard(name)
    assert len(samples) / rate_hz == pytest.approx(DURATIONS_S[name])
    half = int(FRAME_S / 2 * rate_hz)
    for time_s, expected_hz in PITCHES_HZ[name]:
        middle = int(time_s * rate_hz)
        assert pitch_hz(samples[middle - half : middle + half], rate_hz) == pytest.approx(expected_hz, rel=0.035)


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_can_be_heard_with_an_old_ear(name: str) -> None:
    """At least 99 % of the energy lies below 2 kHz (the loss with age, ISO 7029, grows steep above)."""
    samples, rate_hz = heard(name)
    power = np.abs(np.fft.rfft(samples)) ** 2
    frequency_hz = np.fft.rfftfreq(len(samples), 1 / rate_hz)
    assert power[frequency_hz < 2000].sum() / power.sum() >= 0.99


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_is_levelled(name: str) -> None:
    """−18 LUFS (ITU-R BS.1770 by pyloudnorm), true peak at or under −1.5 dB."""
    samples, rate_hz = heard(name)
    assert loudness_lufs(samples, rate_hz) == pytest.approx(-18, abs=0.1)
    assert true_peak_dbtp(samples) <= -1.5


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_is_one_long_pulse(name: str) -> None:
    """It sounds without a break for longer than twice an alarm's longest pulse: there is no group of pulses in it."""
    level = envelope(*heard(name))
    sounding = np.flatnonzero(level > 0.03 * level.max())
    assert np.diff(sounding).max() == 1
    assert len(sounding) * 0.01 > 0.6
    deepest = level[sounding[8] : sounding[np.flatnonzero(level[sounding] > 0.5 * level.max())[-1]]].min()
    assert deepest > 0.35 * level.max()


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_lasts_at_least_700_ms(name: str) -> None:
    """Alarm pulses last about 75–250 ms."""
    samples, rate_hz = heard(name)
    assert len(samples) / rate_hz >= 0.7


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_has_no_stepped_melody(name: str) -> None:
    """The pitch never moves by more than a semitone within 10 ms: it glides, it does not step from note to note."""
    track = pitch_track(*heard(name))
    assert np.abs(12 * np.diff(np.log2(track))).max() < 1.0


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_has_fewer_than_four_strong_harmonics(name: str) -> None:
    """At every place fewer than four harmonics lie within 15 dB of the fundamental."""
    samples, rate_hz = heard(name)
    length = int(FRAME_S * rate_hz)
    for start in range(length, len(samples) - 2 * length, length):
        lines = spectrum(samples[start : start + length])
        root = pitch_hz(samples[start : start + length], rate_hz)
        bins = [round(n * root * (1 << 16) / rate_hz) for n in range(1, 9)]
        levels = [lines[b - 60 : b + 61].max() for b in bins]
        strong = [20 * np.log10(level / levels[0]) > -15 for level in levels[1:]]
        assert sum(strong) < 4


def test_the_cue_sheet_counts_with_the_real_lengths() -> None:
    """The lengths that decide which words fit are those of the tones."""
    assert {name: render_tone(name).dur_ms for name in TONE_NAMES} == TONE_MS


def test_no_two_tones_are_alike() -> None:
    """The largest correlation between two tones at any shift stays under a quarter."""
    sounds = {name: heard(name)[0] for name in TONE_NAMES}
    units = {name: samples / np.sqrt((samples**2).sum()) for name, samples in sounds.items()}
    for one, other in combinations(TONE_NAMES, 2):
        size = 1 << int(np.ceil(np.log2(len(units[one]) + len(units[other]))))
        product = np.fft.rfft(units[one], size) * np.conj(np.fft.rfft(units[other], size))
        assert np.abs(np.fft.irfft(product)).max() < 0.25, (one, other)


def test_a_tone_has_the_same_bytes_each_time() -> None:
    """Rendering anew, past the cache, gives the same file."""
    for name in TONE_NAMES:
        first = render_tone(name)
        render_tone.cache_clear()
        assert render_tone(name).sha256 == first.sha256
