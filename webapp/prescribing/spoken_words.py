"""How the cues of a draft will sound: what is said for each, how long it takes, and whether there is time for it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from webapp.formats.plan_json import read_settings
from webapp.formats.reading import ReadingError
from webapp.issuing import sounded_cues
from webapp.prescribing.checking import with_any_strength
from webapp.prescribing.drafting import PHASES, Raw
from webapp.speech.clips import SpeechError
from webapp.stimulation.cue_events import RECORDED, Event
from webapp.stimulation.cue_sound import TONE_AND_CLIP, Heard
from webapp.translations import Translate

LengthOf = Callable[[str], int | None]  # of a sound in ms; None without a voice; raises SpeechError
FITS, TOO_LONG, COVERED = "fits", "too_long", "covered"
TOGETHER, NO_TIME, NO_VOICE, UNSPEAKABLE, UNKNOWN = "together", "no_time", "no_voice", "unspeakable", "unknown"
NOT_SPOKEN = (TOO_LONG, UNSPEAKABLE)  # what somebody has to know before the plan is issued


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenCue:
    """One cue of a draft: its name in the form (`ex1.ch1.rise`), the sentence, and the verdict with its numbers."""

    name: str
    sound: str
    sentence: str
    verdict: str
    length_ms: int | None = None
    room_ms: int | None = None
    problem: str = ""
    params: Mapping[str, object] = field(default_factory=dict)

    @property
    def recording(self) -> str:
        """Gives the hash of the recording that is played, or nothing."""
        return self.sound.removeprefix(RECORDED) if self.sound.startswith(RECORDED) else ""


def spoken_cues(exercise: Raw, length_of: LengthOf, t: Translate) -> list[SpokenCue]:
    """Judges each cue of one exercise, as `drafting.read_exercise` gives it; those without words are left out."""
    whole = _with_timing(exercise)
    if whole is None:
        return [_judged(name, words, None, (), length_of) for name, words in _plain_words(exercise)]
    wanted = _by_cue(sounded_cues(whole, {}, t))
    lengths = _lengths({event.sound for rows in wanted.values() for event, _heard in rows}, length_of)
    heard = _by_cue(sounded_cues(whole, lengths, t))
    sentences = _by_cue(sounded_cues(_unrecorded(whole), {}, t))
    return [_judged(name, _sentence(sentences[key], words), key, heard[key], length_of)
            for (name, words), key in zip(_plain_words(exercise), _keys(exercise), strict=True)]


def _with_timing(exercise: Raw) -> Raw | None:
    """Gives the exercise with a stand-in for strengths that are not found yet; None where its rhythm is not whole."""
    settings = with_any_strength(exercise)
    try:
        read_settings(settings)
    except ReadingError:
        return None
    return exercise | {"settings": settings, "minutes_by_date": []}


def _unrecorded(exercise: Raw) -> Raw:
    spoken = [{name: value for name, value in words.items() if name != "recorded"} for words in exercise["wording"]]
    return exercise | {"wording": spoken}


def _keys(exercise: Raw) -> Iterator[tuple[int, str]]:
    for channel, words in enumerate(exercise["wording"], 1):
        yield from ((channel, phase) for phase in PHASES if words[phase])


def _plain_words(exercise: Raw) -> Iterator[tuple[str, str]]:
    for channel, phase in _keys(exercise):
        words = exercise["wording"][channel - 1]
        said = words.get("say_as", {}).get(phase) or words[phase]
        yield f"ex{exercise['exercise']}.ch{channel}.{phase}", said


def _by_cue(told: Sequence[tuple[Event, Heard]]) -> dict[tuple[int, str], list[tuple[Event, Heard]]]:
    found: dict[tuple[int, str], list[tuple[Event, Heard]]] = defaultdict(list)
    for event, heard in told:
        for channel in event.channels:
            found[channel, event.phase].append((event, heard))
    return found


def _sentence(rows: Sequence[tuple[Event, Heard]], words: str) -> str:
    return rows[-1][0].sound if rows else words


def _lengths(sounds: set[str], length_of: LengthOf) -> dict[str, int]:
    found = {}
    for sound in sounds:
        try:
            length_ms = length_of(sound) if sound else None
        except SpeechError:
            continue
        if length_ms is not None:
            found[sound] = length_ms
    return found


def _judged(
    name: str, sentence: str, key: tuple[int, str] | None, rows: Sequence[tuple[Event, Heard]], length_of: LengthOf
) -> SpokenCue:
    given: dict[str, Any] = {"name": name, "sentence": sentence, "sound": _sentence(rows, sentence)}
    if key and not rows:
        return SpokenCue(**given, verdict=NO_TIME)
    if key and rows[-1][0].channels[0] != key[0]:
        return SpokenCue(**given, verdict=TOGETHER)
    try:
        length_ms = length_of(given["sound"])
    except SpeechError as error:
        return SpokenCue(**given, verdict=UNSPEAKABLE, problem=error.key, params=error.params)
    if length_ms is None:
        return SpokenCue(**given, verdict=NO_VOICE)
    return SpokenCue(**given, **_verdict(length_ms, rows))


def _verdict(length_ms: int, rows: Sequence[tuple[Event, Heard]]) -> dict[str, Any]:
    """Says whether the words are ever spoken; the numbers hold the tone before them too."""
    if not rows:
        return {"verdict": UNKNOWN, "length_ms": length_ms}
    whole_ms = rows[-1][1].length_ms or length_ms
    rooms = [heard.room_ms for _event, heard in rows if heard.room_ms is not None]
    numbers = {"length_ms": whole_ms, "room_ms": min(rooms, default=None)}
    if any(heard.said == TONE_AND_CLIP for _event, heard in rows):
        return {"verdict": FITS, "length_ms": whole_ms, "room_ms": _usual(rooms)}
    late = [room for room in rooms if room < whole_ms]
    return {"verdict": TOO_LONG, **numbers, "room_ms": max(late)} if late else {"verdict": COVERED, **numbers}


def _usual(rooms: Sequence[int]) -> int | None:
    """Gives the room that a cue has in most cycles; the session's end leaves others."""
    return max(set(rooms), key=rooms.count) if rooms else None
