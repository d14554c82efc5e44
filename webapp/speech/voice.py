"""The spoken voices: the only module that calls the speech engines.

English is a neural voice; the other languages have a small one, clearer in quiet than in noise: there the tones, the
screen and a therapist's own recording carry more. No engine fetches anything.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from hibari import Hibari  # type: ignore[import-untyped]

SAMPLE_RATE_HZ = 24_000
SEED = 0  # the neural engine draws noise: a fixed seed gives the same bytes for the same text
NEURAL, SMALL = "hibari-tts", "py-nanotts"
_SMALL_RATE_HZ = 16_000
_SMALL_VOLUME, _SMALL_PITCH = 0.5, 1.0  # at full volume it clips
_FULL_SCALE = 32768


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """One voice: its engine, its name there, how fast it speaks."""

    engine: str
    name: str
    speed: float

    @property
    def mark(self) -> tuple[str, ...]:
        """Gives all that decides how a text sounds, but for the text."""
        return (self.engine, version(self.engine), self.name, str(self.speed), str(SEED))


# speeds: between 140 and 150 words a minute on whole sentences
VOICES = {
    "en": Voice(engine=NEURAL, name="heart", speed=0.85),  # the one voice inside its package
    "de": Voice(engine=SMALL, name="de-DE", speed=0.85),
    "fr": Voice(engine=SMALL, name="fr-FR", speed=0.85),
}
LANGUAGES = tuple(VOICES)

_one_at_a_time = threading.Lock()


def _voice(language: str) -> Voice | None:
    return VOICES.get(language.split("-")[0].lower())


def speaks(language: str) -> bool:
    """Tells whether there is a voice for a language tag such as ``en`` or ``en-GB``."""
    return _voice(language) is not None


def mark(language: str) -> tuple[str, ...]:
    """Names the voice of a language with everything that decides its sound."""
    return VOICES[language.split("-")[0].lower()].mark


@lru_cache(maxsize=1)
def _engine(name: str) -> Hibari:
    from hibari import Hibari  # loads its network here, not when the module is imported

    return Hibari(voice=name)


def speak(text: str, language: str = "en") -> npt.NDArray[np.float64]:
    """Returns the spoken text as mono samples at ``SAMPLE_RATE_HZ``, untrimmed and not levelled.

    A full stop is appended: without one the engines let the last word trail off.
    """
    voice, sentence = VOICES[language.split("-")[0].lower()], text.rstrip(".!? ") + "."
    with _one_at_a_time:
        if voice.engine == SMALL:
            return _speak_small(sentence, voice)
        samples = _engine(voice.name)(sentence, speed=voice.speed, seed=SEED)
    return np.asarray(samples, dtype=np.float64)


def _speak_small(sentence: str, voice: Voice) -> npt.NDArray[np.float64]:
    from py_nanotts import NanoTTS  # type: ignore[import-untyped]
    from scipy.signal import resample_poly  # type: ignore[import-untyped]

    pcm = NanoTTS().speak(sentence, voice=voice.name, speed=voice.speed, pitch=_SMALL_PITCH, volume=_SMALL_VOLUME)
    samples = np.frombuffer(pcm, dtype="<i2").astype(np.float64) / _FULL_SCALE
    return np.asarray(resample_poly(samples, SAMPLE_RATE_HZ // 8000, _SMALL_RATE_HZ // 8000), dtype=np.float64)
