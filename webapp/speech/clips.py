"""Text to a clip that a phone plays: spoken, trimmed, levelled, a WAV file, kept in a cache.

A clip is WAV, 16 bit, mono, 24 kHz: every browser decodes it without a delay of its own.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import tempfile
import unicodedata
import wave
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from webapp.speech import voice
from webapp.speech.loudness import Samples, level, loudness_lufs, true_peak_dbtp

RATE_HZ = voice.SAMPLE_RATE_HZ
SPEECH_LUFS = -16.0
MOST_CHARACTERS = 80
PIPELINE_VERSION = 1  # raised whenever the bytes of a clip would change: it is part of the cache's key

_HIGH_PASS_HZ = 90.0
_SOUNDING_DB = -45.0  # of the loudest 5 ms: below this a clip's ends count as silence
_ONSET_DB = -40.0
_BEFORE_S, _AFTER_S = 0.015, 0.060
_MARK_UP = "<>&"


class SpeechError(ValueError):
    """A text that cannot be spoken; ``key`` names its sentence in the catalogue, ``params`` fill it."""

    def __init__(self, key: str, **params: str | int) -> None:
        super().__init__(f"{key} {params}")
        self.key = key
        self.params = params


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """A sound as it is sent to a phone."""

    id: str
    text: str
    wav: bytes
    dur_ms: int
    onset_ms: int
    samples: int
    sha256: str
    lufs: float
    dbtp: float


def clip_id(text: str) -> str:
    """Returns the name of a text's clip, as cue sheets use it."""
    return "c-" + hashlib.sha256(text.encode()).hexdigest()[:16]


def _is_not_spoken(character: str) -> bool:
    return character in _MARK_UP or unicodedata.category(character).startswith("C")


def sanitise(text: str) -> str:
    """Returns what is spoken for a text: no mark-up signs, no control characters, single spaces.

    Raises SpeechError for a text with nothing to say or of more than 80 characters.
    """
    plain = unicodedata.normalize("NFC", text)
    spoken = " ".join("".join(" " if _is_not_spoken(character) else character for character in plain).split())
    if not any(character.isalnum() for character in spoken):
        raise SpeechError("speech.empty", text=text[:MOST_CHARACTERS])
    if len(spoken) > MOST_CHARACTERS:
        raise SpeechError("speech.too_long", text=spoken, limit=MOST_CHARACTERS, length=len(spoken))
    return spoken


def frame_levels(samples: Samples) -> Samples:
    """Returns the RMS level of each whole 5 ms."""
    frame = RATE_HZ // 200
    framed = samples[: len(samples) // frame * frame].reshape(-1, frame)
    return np.asarray(np.sqrt(np.mean(framed**2, axis=1)), dtype=np.float64)


def trim(samples: Samples) -> Samples:
    """Cuts the silence before and after, leaving a little of each and fading the cut edges."""
    frame = RATE_HZ // 200
    energy = frame_levels(samples)
    sounding = np.flatnonzero(energy > energy.max() * 10 ** (_SOUNDING_DB / 20))
    start = max(0, int(sounding[0] * frame - _BEFORE_S * RATE_HZ))
    end = min(len(samples), int((sounding[-1] + 1) * frame + _AFTER_S * RATE_HZ))
    cut = samples[start:end].copy()
    fade_in, fade_out = RATE_HZ // 200, RATE_HZ // 40
    cut[:fade_in] *= np.linspace(0, 1, fade_in)
    cut[-fade_out:] *= np.linspace(1, 0, fade_out)
    return cut


def onset_sample(samples: Samples) -> int:
    """Returns the first sample within 40 dB of the clip's peak; the phone measures the same after decoding."""
    loud = np.abs(samples)
    return int(np.argmax(loud > loud.max() * 10 ** (_ONSET_DB / 20)))


def high_passed(samples: Samples) -> Samples:
    import pyloudnorm  # type: ignore[import-untyped]  # here, for the reason that loudness.py gives

    rumble = pyloudnorm.IIRfilter(0.0, 1 / np.sqrt(2), _HIGH_PASS_HZ, RATE_HZ, "high_pass")
    return np.asarray(rumble.apply_filter(samples), dtype=np.float64)


def _wav(pcm: np.ndarray[tuple[int], np.dtype[np.int16]]) -> bytes:
    held = io.BytesIO()
    with wave.open(held, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE_HZ)
        out.writeframes(pcm.astype("<i2").tobytes())
    return held.getvalue()


def encode(samples: Samples, *, name: str, text: str) -> Clip:
    """Returns levelled samples as a clip; what it says of itself is measured on the 16-bit samples."""
    pcm = np.round(np.clip(samples, -1.0, 1.0) * 32767).astype(np.int16)
    heard = pcm.astype(np.float64) / 32768
    wav = _wav(pcm)
    return Clip(
        id=name,
        text=text,
        wav=wav,
        dur_ms=round(1000 * len(pcm) / RATE_HZ),
        onset_ms=round(1000 * onset_sample(heard) / RATE_HZ),
        samples=len(pcm),
        sha256=hashlib.sha256(wav).hexdigest(),
        lufs=round(loudness_lufs(heard, RATE_HZ), 2),
        dbtp=round(true_peak_dbtp(heard), 2),
    )


def clip_of_wav(wav: bytes, *, name: str, text: str) -> Clip:
    """Returns a levelled WAV file of 24 kHz, mono, 16 bit as a clip; its bytes stay as they are."""
    with wave.open(io.BytesIO(wav)) as sound:
        pcm = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2")
    return encode(pcm.astype(np.float64) / 32767, name=name, text=text)


def cache_key(spoken: str, language: str) -> str:
    """Returns the name in the cache: everything that decides a clip's bytes."""
    parts = (*voice.mark(language), spoken, PIPELINE_VERSION)
    return hashlib.sha256(json.dumps(parts, ensure_ascii=False).encode()).hexdigest()


def _cached(cache: Path, key: str, text: str) -> Clip | None:
    """Returns a clip from the cache, or None where it is absent or not what was written."""
    try:
        wav = (cache / f"{key}.wav").read_bytes()
        described = json.loads((cache / f"{key}.json").read_text("utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(described, dict) or hashlib.sha256(wav).hexdigest() != described.get("sha256"):
        return None
    return Clip(**{**described, "id": clip_id(text), "text": text, "wav": wav})


def _write_whole(path: Path, content: bytes) -> None:
    """Writes a file so that a reader sees all of it or none."""
    handle, temporary = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "wb") as out:
        out.write(content)
    Path(temporary).replace(path)


def _keep(cache: Path, key: str, clip: Clip) -> None:
    cache.mkdir(parents=True, exist_ok=True)
    described = {name: value for name, value in asdict(clip).items() if name != "wav"}
    _write_whole(cache / f"{key}.wav", clip.wav)
    _write_whole(cache / f"{key}.json", json.dumps(described, ensure_ascii=False).encode())


def render_clip(text: str, language: str, cache: Path) -> Clip:
    """Returns the spoken clip of a text, from the cache folder where it was rendered before.

    The same text gives the same bytes. Raises SpeechError where there is no voice for the language, for an empty text
    and for one of more than 80 characters.
    """
    if not voice.speaks(language):
        raise SpeechError("speech.no_voice", language=language)
    spoken = sanitise(text)
    key = cache_key(spoken, language)
    found = _cached(cache, key, text)
    if found is not None:
        return found
    levelled = level(trim(high_passed(voice.speak(spoken, language))), RATE_HZ, SPEECH_LUFS)
    clip = encode(levelled, name=clip_id(text), text=text)
    _keep(cache, key, clip)
    return clip
