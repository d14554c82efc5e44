"""Which cues sound, and how much of them: decided here and nowhere else.

- No sounding cue begins within 1000 ms of another. The more telling one wins: finished, rise, ease, rest, hold, ready.
- Words begin one tone length and 120 ms after their tone, and are said only if they end before the next sounding cue.
- Where a hold would cut off the words of the rise before it, the hold is silent (the rise carries the task).
- A text without a clip length is never said.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from webapp.stimulation.cue_events import WEIGHT, Event

TONE_MS: Mapping[str, int] = {"rise": 700, "hold": 800, "ease": 700, "rest": 1000, "finished": 1800}
TONE_TO_CLIP_MS = 120
LEAST_APART_MS = 1000
SILENT, TONE, TONE_AND_CLIP = 0, 1, 2


class Heard(NamedTuple):
    """How much of a cue sounds: what is said of it (0 to 2), how long tone and words take, and how long they may."""

    said: int
    length_ms: int | None
    room_ms: int | None


def sound_length_ms(event: Event, clip_ms: Mapping[str, int]) -> int | None:
    """Gives how long a cue sounds with its words, or None where the words have no clip."""
    words_ms = clip_ms.get(event.sound) if event.sound else None
    if words_ms is None:
        return None
    tone_ms = TONE_MS.get(event.phase)
    return words_ms if tone_ms is None else tone_ms + TONE_TO_CLIP_MS + words_ms


def _too_near(times: Sequence[int], at_ms: int) -> bool:
    place = bisect_right(times, at_ms - LEAST_APART_MS)
    return place < len(times) and times[place] < at_ms + LEAST_APART_MS


def _cuts_words(at_ms: int, times: Sequence[int], ends: Mapping[int, int]) -> bool:
    """Says whether a cue here would cut off words before it that the cue after it leaves whole."""
    place = bisect_left(times, at_ms)
    if not place:
        return False
    end_ms = ends.get(times[place - 1], 0)
    return end_ms > at_ms and (place == len(times) or end_ms <= times[place])


def _chosen(events: Sequence[Event], lengths: Sequence[int | None]) -> dict[int, int]:
    """Picks the cues that sound, the more telling first: time → place in the list."""
    chosen: dict[int, int] = {}
    times: list[int] = []
    ends: dict[int, int] = {}
    for n in sorted(range(len(events)), key=lambda n: (-events[n].weight, n)):
        event, length_ms = events[n], lengths[n]
        if _too_near(times, event.at_ms) or (event.phase not in TONE_MS and length_ms is None):
            continue
        if event.weight <= WEIGHT["hold"] and _cuts_words(event.at_ms, times, ends):
            continue
        insort(times, event.at_ms)
        chosen[event.at_ms] = n
        if length_ms is not None:
            ends[event.at_ms] = event.at_ms + length_ms
    return dict(sorted(chosen.items()))


def hear(events: Sequence[Event], clip_ms: Mapping[str, int]) -> list[Heard]:
    """Decides for each cue: 0 silent, 1 tone, 2 tone and words (words alone where the phase has no tone)."""
    lengths = [sound_length_ms(event, clip_ms) for event in events]
    heard = [Heard(SILENT, length_ms, None) for length_ms in lengths]
    chosen = _chosen(events, lengths)
    times = list(chosen)
    for at_ms, next_ms in zip(times, [*times[1:], None], strict=True):
        n, length_ms = chosen[at_ms], lengths[chosen[at_ms]]
        room_ms = None if next_ms is None else next_ms - at_ms
        fits = length_ms is not None and (room_ms is None or length_ms <= room_ms)
        said = TONE_AND_CLIP if fits else TONE if events[n].phase in TONE_MS else SILENT
        heard[n] = Heard(said, length_ms, room_ms)
    return heard
