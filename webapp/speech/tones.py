"""The five tones, one for each phase and one for the end; the same in every plan.

Each is one continuous sound of 0.7 s or more with three partials, played once. That keeps them apart from the alarm
signals of IEC 60601-1-8, which are groups of short pulses with at least four strong harmonics, repeated until somebody
acknowledges them. The end is a tone like the others: what needs attention is said in words and on the screen, never by
a tone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from webapp.speech.clips import RATE_HZ, Clip, encode
from webapp.speech.loudness import Samples, level

TONE_LUFS = -18.0
TONE_NAMES = ("rise", "hold", "ease", "rest", "finished")

_BRIGHT = (1.0, 0.40, 0.16)
_FULL = (1.0, 0.60, 0.25)  # small loudspeakers fade below about 450 Hz: the rest tone leans on its upper partials


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneRecipe:
    """How a tone is made; ``pitch_hz`` and ``swell`` are functions of the time in seconds."""

    dur_s: float
    pitch_hz: Callable[[Samples], Samples]
    partials: tuple[float, ...]
    attack_s: float
    release_s: float
    swell: Callable[[Samples], Samples] = np.ones_like


def _eased(part: Samples) -> Samples:
    """Goes from 0 to 1 with level ends."""
    return 3 * part**2 - 2 * part**3


def _settling(time_s: Samples, within_s: float) -> Samples:
    """Goes from 1 to 0 within a time and stays there."""
    return np.cos(np.pi / 2 * np.minimum(time_s / within_s, 1)) ** 2


RECIPES = {
    "rise": ToneRecipe(
        dur_s=0.70, pitch_hz=lambda t: 440 * 2 ** _eased(t / 0.70), partials=_BRIGHT, attack_s=0.06, release_s=0.12
    ),
    "hold": ToneRecipe(
        dur_s=0.80,
        pitch_hz=lambda t: 622.25 * 2 ** (-5 / 12 * _settling(t, 0.20)),
        partials=_BRIGHT,
        attack_s=0.08,
        release_s=0.15,
        swell=lambda t: 1 - 0.35 * (0.5 - 0.5 * np.cos(2 * np.pi * 5 * t)),
    ),
    "ease": ToneRecipe(
        dur_s=0.70, pitch_hz=lambda t: 880 * 2 ** -_eased(t / 0.70), partials=_BRIGHT, attack_s=0.06, release_s=0.12
    ),
    "rest": ToneRecipe(
        dur_s=1.00,
        pitch_hz=lambda t: 370 * 2 ** (6 / 12 * _settling(t, 0.30)),
        partials=_FULL,
        attack_s=0.10,
        release_s=0.50,
        swell=lambda t: np.exp(-t / 0.7),
    ),
    "finished": ToneRecipe(
        dur_s=1.80,
        pitch_hz=lambda t: 494 * 2 ** (7 / 12 * np.sin(np.pi * np.minimum(t / 1.80 / 0.8, 1)) ** 2),
        partials=_BRIGHT,
        attack_s=0.12,
        release_s=0.60,
    ),
}


def _edges(count: int, attack: int, release: int) -> Samples:
    """Returns an envelope with raised-cosine edges."""
    envelope = np.ones(count)
    envelope[:attack] = 0.5 - 0.5 * np.cos(np.pi * np.arange(attack) / attack)
    envelope[count - release :] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(release) / release)
    return envelope


def tone(name: str, rate_hz: int = RATE_HZ) -> Samples:
    """Returns a tone's samples, levelled to −18 LUFS."""
    recipe = RECIPES[name]
    count = round(recipe.dur_s * rate_hz)
    time_s = np.arange(count) / rate_hz
    phase = 2 * np.pi * np.cumsum(recipe.pitch_hz(time_s)) / rate_hz
    raw = sum((share * np.sin((n + 1) * phase) for n, share in enumerate(recipe.partials)), np.zeros(count))
    shaped = (
        raw * recipe.swell(time_s) * _edges(count, round(recipe.attack_s * rate_hz), round(recipe.release_s * rate_hz))
    )
    return level(shaped, rate_hz, TONE_LUFS)


@cache
def render_tone(name: str) -> Clip:
    """Returns a tone as a clip whose id is the tone's name."""
    return encode(tone(name), name=name, text="")
