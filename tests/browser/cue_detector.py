"""Finding known sounds in a recording: which, when, and in which order.

A matched filter: the recording is correlated with each sound and divided by its own local energy, so that 1 is the very
sound at any loudness. Steady tones are found too: a clean recording has its one highest place where they begin.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import oaconvolve, resample_poly  # type: ignore[import-untyped]

Samples = npt.NDArray[np.float64]

LEAST_SCORE = 0.8
LEAST_LEVEL = 0.003  # of full scale: silence has no shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """A sound found in a recording; ``at_s`` counts from the recording's start."""

    name: str
    at_s: float
    score: float


def scores(recording: Samples, sound: Samples) -> Samples:
    """Returns for each sample how alike the recording from there on is to the sound; 1 is the same at any loudness."""
    unit = sound / np.sqrt((sound**2).sum())
    product = oaconvolve(recording, unit[::-1], mode="valid")
    energy = np.concatenate([[0.0], np.cumsum(recording**2)])
    local = energy[len(sound) :] - energy[: -len(sound)]
    floor = len(sound) * LEAST_LEVEL**2
    return np.asarray(product / np.sqrt(np.maximum(local, floor)))


def find(recording: Samples, rate_hz: int, name: str, sound: Samples) -> list[Heard]:
    """Finds every place of one sound; two places are at least half its length apart."""
    score = scores(recording, sound)
    apart = len(sound) // 2
    found: list[Heard] = []
    while score.size and (place := int(score.argmax())) >= 0 and score[place] >= LEAST_SCORE:
        found.append(Heard(name=name, at_s=place / rate_hz, score=float(score[place])))
        score[max(0, place - apart) : place + apart] = 0
    return found


def shape(samples: Samples, rate_hz: int) -> Samples:
    """Returns how loud each pitch up to 3 kHz is, hundred times a second: one row a moment."""
    hop = rate_hz // 100
    window = np.hanning(4 * hop)
    moments = np.lib.stride_tricks.sliding_window_view(samples, 4 * hop)[::hop]
    pitches = np.abs(np.fft.rfft(moments * window, axis=1))
    return np.asarray(pitches[:, : 3000 * 4 * hop // rate_hz])


def find_by_shape(recording: Samples, name: str, sound: Samples) -> list[Heard]:
    """Finds every place of one sound by its shape alone; both are given as `shape` makes them."""
    length = len(sound)
    product = sum(np.convolve(recording[:, pitch], sound[::-1, pitch], "valid") for pitch in range(sound.shape[1]))
    energy = np.concatenate([[0.0], np.cumsum((recording**2).sum(1))])
    local = np.maximum(energy[length:] - energy[:-length], (sound**2).sum() * LEAST_LEVEL)
    score = np.asarray(product / np.sqrt(local * (sound**2).sum()))
    found: list[Heard] = []
    while score.size and (place := int(score.argmax())) >= 0 and score[place] >= LEAST_SCORE:
        found.append(Heard(name=name, at_s=place / 100, score=float(score[place])))
        score[max(0, place - length // 2) : place + length // 2] = 0
    return found


def listen_at_any_speed(
    recording: Samples, rate_hz: int, sounds: Mapping[str, Samples], sounds_rate_hz: int
) -> list[Heard]:
    """Finds sounds that are played a little faster or slower at their own pitch, which a matched filter may miss.

    Where two sounds are alike at one moment, the one that is more so counts.
    """
    common = np.gcd(rate_hz, sounds_rate_hz)
    mono = shape(resample_poly(recording, sounds_rate_hz // common, rate_hz // common), sounds_rate_hz)
    heard = [one for name, sound in sounds.items() for one in find_by_shape(mono, name, shape(sound, sounds_rate_hz))]
    best = [one for one in heard if not any(abs(one.at_s - two.at_s) < 0.4 and two.score > one.score for two in heard)]
    return sorted(best, key=lambda one: one.at_s)


def listen(recording: Samples, rate_hz: int, sounds: Mapping[str, Samples], sounds_rate_hz: int) -> list[Heard]:
    """Finds all the sounds in a recording, in the order in which they were heard."""
    common = np.gcd(rate_hz, sounds_rate_hz)
    mono = resample_poly(recording, sounds_rate_hz // common, rate_hz // common)
    heard = [one for name, sound in sounds.items() for one in find(mono, sounds_rate_hz, name, sound)]
    return sorted(heard, key=lambda one: one.at_s)


def errors_ms(heard: Sequence[Heard], expected_ms: Sequence[float]) -> Samples:
    """Returns how late each sound was, after taking out the one unknown: when the recording began."""
    late = np.array([one.at_s * 1000 for one in heard]) - np.array(expected_ms)
    return np.asarray(late - np.median(late))
