"""A person's own voice: what a browser recorded, looked at, trimmed, levelled, a clip like the spoken ones.

What comes in is a WAV file of 16 bits that the browser wrote sample by sample, so nothing here decodes a compressed
format: the standard library reads it, within the bytes that were let in.
"""

from __future__ import annotations

import io
import wave
from math import gcd

import numpy as np

from webapp.speech.clips import RATE_HZ, SPEECH_LUFS, Clip, SpeechError, encode, frame_levels, high_passed, trim
from webapp.speech.loudness import Samples, level

MOST_BYTES = 4_000_000  # twenty seconds of stereo at 48 kHz
MOST_S = 20.0
MOST_CLIP_S = 10.0  # longer than any phase is a sentence, not a cue
LEAST_S = 0.3
# what a recording is refused for: proposed, not tested on people
_LEAST_LEVEL_DB = -45.0
_MOST_CLIPPED = 0.001
_LEAST_ABOVE_NOISE_DB = 15.0
_FULL_SCALE = 0.999
_RATES_HZ = (8_000, 192_000)


def take_recording(body: bytes, *, name: str, text: str) -> Clip:
    """Returns a recording as a clip at the loudness of all others.

    Raises SpeechError: not a WAV file of 16 bits, too long, too short, too quiet, overdriven, too much noise.
    """
    samples = _read(body)
    _refuse_unusable(samples)
    cut = trim(high_passed(samples))
    if len(cut) < LEAST_S * RATE_HZ:
        raise SpeechError("speech.recording.short", least=f"{LEAST_S:g}")
    if len(cut) > MOST_CLIP_S * RATE_HZ:
        raise SpeechError("speech.recording.long", most=f"{MOST_CLIP_S:g}", length=f"{len(cut) / RATE_HZ:.1f}")
    return encode(level(cut, RATE_HZ, SPEECH_LUFS), name=name, text=text)


def _read(body: bytes) -> Samples:
    """Reads a WAV file as mono samples at the rate of all clips."""
    if len(body) > MOST_BYTES:
        raise SpeechError("speech.recording.large", most=f"{MOST_S:g}")
    try:
        with wave.open(io.BytesIO(body)) as sound:
            channels, width, rate = sound.getnchannels(), sound.getsampwidth(), sound.getframerate()
            content = sound.readframes(sound.getnframes())
    except (wave.Error, EOFError, ValueError, RuntimeError) as error:
        raise SpeechError("speech.recording.not_sound") from error
    if width != 2 or channels not in (1, 2) or not _RATES_HZ[0] <= rate <= _RATES_HZ[1]:
        raise SpeechError("speech.recording.not_sound")
    pcm = np.frombuffer(content[: len(content) // (2 * channels) * 2 * channels], dtype="<i2")
    if len(pcm) > MOST_S * rate * channels:
        raise SpeechError("speech.recording.large", most=f"{MOST_S:g}")
    return _at_our_rate(pcm.reshape(-1, channels).mean(axis=1) / 32768, rate)


def _at_our_rate(samples: Samples, rate_hz: int) -> Samples:
    from scipy.signal import resample_poly  # type: ignore[import-untyped]  # here: it takes half a second to load

    if rate_hz == RATE_HZ or not len(samples):
        return samples
    common = gcd(rate_hz, RATE_HZ)
    return np.asarray(resample_poly(samples, RATE_HZ // common, rate_hz // common), dtype=np.float64)


def _refuse_unusable(samples: Samples) -> None:
    if len(samples) < LEAST_S * RATE_HZ:
        raise SpeechError("speech.recording.short", least=f"{LEAST_S:g}")
    levels_db = 20 * np.log10(frame_levels(samples) + 1e-9)
    loud_db, quiet_db = np.percentile(levels_db, 95), np.percentile(levels_db, 10)
    if loud_db < _LEAST_LEVEL_DB:
        raise SpeechError("speech.recording.quiet")
    if np.mean(np.abs(samples) > _FULL_SCALE) > _MOST_CLIPPED:
        raise SpeechError("speech.recording.overdriven")
    if loud_db - quiet_db < _LEAST_ABOVE_NOISE_DB:
        raise SpeechError("speech.recording.noisy")
