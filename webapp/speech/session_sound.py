"""A whole session as one sound, for a phone that is put away: MP3, mono, 24 kHz, most of it silence.

A media element plays it where the sounds of a page would stop. `LEAD_MS` of silence come first, so that a session can
be counted in; after the end the words of the end come three times more, once a minute.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile  # type: ignore[import-untyped]

from webapp.speech.clips import RATE_HZ
from webapp.stimulation.cue_sound import TONE_TO_CLIP_MS

Json = Mapping[str, Any]
Samples = npt.NDArray[np.float32]
LEAD_MS = 5_000
REMINDERS, REMIND_EVERY_MS = 3, 60_000
TAIL_MS = 6_000  # the words of the last reminder
BLOCK_MS = 60_000
MINUTE_MS = 60_000
TONE_ONLY_MS, SILENT_MS = 4_000, 1_000  # so near the end of a shortened session, as on the phone
PIPELINE_VERSION = 1  # raised whenever the bytes would change


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What a client wants to hear: voice, tones or both; every phase, the muscle's start and stop, milestones."""

    voice: str
    said: str


VOICES = ("both", "voice", "tones")
LEVELS = ("all", "work", "milestones")
CHOICES = tuple(Choice(voice=voice, said=said) for voice in VOICES for said in LEVELS)


def sound_rows(sheet: Json, said: str, session_ms: int) -> list[tuple[int, int, int]]:
    """Lists what sounds at a level as (at_ms, phrase, said), for a session of this length or the sheet's own."""
    less = sheet.get("less_said")
    rows = [(row[0], row[1], row[4]) for row in sheet["cues"]] if said == "all" or not less else less[said]
    if session_ms >= sheet["session_ms"]:
        return [(at_ms, phrase, how) for at_ms, phrase, how in rows if how]
    return list(_shortened(sheet["phrases"], rows, session_ms))


def _shortened(
    phrases: Sequence[Json], rows: Sequence[tuple[int, int, int]], session_ms: int
) -> Iterator[tuple[int, int, int]]:
    places = {"halfway": session_ms // 2, "one_minute": session_ms - MINUTE_MS}
    moved = []
    for at_ms, phrase, how in rows[:-1]:
        phase = phrases[phrase]["phase"]
        if phase != "one_minute" or session_ms - MINUTE_MS > session_ms // 2:
            moved.append((places.get(phase, at_ms), phrase, how))
    for at_ms, phrase, how in sorted(moved, key=lambda row: row[0]):
        left_ms = session_ms - at_ms
        loudest = 0 if left_ms < SILENT_MS else 1 if left_ms < TONE_ONLY_MS else 2
        if left_ms > 0 and min(how, loudest):
            yield at_ms, phrase, min(how, loudest)
    yield session_ms, rows[-1][1], rows[-1][2]


def placed_sounds(sheet: Json, choice: Choice, session_ms: int, lengths_ms: Mapping[str, int]) -> list[tuple[int, str]]:
    """Lists the sounds of a file in order, the reminders after the end too: (time in the file, id of the sound)."""
    rows = sound_rows(sheet, choice.said, session_ms)
    end_ms, phrase, how = rows[-1]
    again = [(end_ms + (n + 1) * REMIND_EVERY_MS, phrase, how) for n in range(REMINDERS)]
    placed = []
    for at_ms, number, how in [*rows, *again]:
        said = sheet["phrases"][number]
        tone = said["tone"] if choice.voice != "voice" and said["tone"] in lengths_ms else ""
        clip = said["clip"] if choice.voice != "tones" and how == 2 and said["clip"] in lengths_ms else ""
        if tone:
            placed.append((LEAD_MS + at_ms, tone))
        if clip:
            placed.append((LEAD_MS + at_ms + (lengths_ms[tone] + TONE_TO_CLIP_MS if tone else 0), clip))
    return placed


def blocks(placed: Sequence[tuple[int, str]], sounds: Mapping[str, Samples], end_ms: int) -> Iterator[Samples]:
    """Gives the session minute by minute; a sound that reaches into the next minute goes on there."""
    size, over = BLOCK_MS * RATE_HZ // 1000, np.zeros(0, np.float32)
    waiting = list(reversed(placed))
    for start_ms in range(0, end_ms, BLOCK_MS):
        block = np.zeros(max(size, len(over)), np.float32)
        block[: len(over)] = over
        while waiting and waiting[-1][0] < start_ms + BLOCK_MS:
            at_ms, name = waiting.pop()
            first = round((at_ms - start_ms) * RATE_HZ / 1000)
            last = first + len(sounds[name])
            block = np.pad(block, (0, max(0, last - len(block))))
            block[first:last] += sounds[name]
        left = min(size, (end_ms - start_ms) * RATE_HZ // 1000)
        over = block[size:]
        yield np.clip(block[:left], -1, 1)


def write_session(
    path: Path, placed: Sequence[tuple[int, str]], wavs: Mapping[str, bytes], progress: Callable[[int, int], None]
) -> None:
    """Writes a session's sound out of the WAV files of its parts; `progress(done, of)` counts its minutes."""
    sounds = {name: soundfile.read(io.BytesIO(wav), dtype="float32")[0] for name, wav in wavs.items()}
    end_ms = (placed[-1][0] if placed else LEAD_MS) + TAIL_MS
    of_n = -(-end_ms // BLOCK_MS)
    with soundfile.SoundFile(path, "w", RATE_HZ, 1, format="MP3", subtype="MPEG_LAYER_III") as out:
        for n, block in enumerate(blocks(placed, sounds, end_ms)):
            progress(n, of_n)
            out.write(block)
