"""How much a session says: every phase, only start and stop of the muscle, only milestones. The phone looks it up.

What is said less often has more room: so which words fit is decided anew for each level, by the same rules.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from webapp.stimulation.cue_events import Event, Script, milestone_events
from webapp.stimulation.cue_sound import SILENT, hear

MILESTONES = ("halfway", "one_minute")
ALWAYS_SAID = (*MILESTONES, "finished")


class Sound(NamedTuple):
    """A cue that sounds at a level; `said` as in a row of cues, never 0."""

    at_ms: int
    phrase: int
    said: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LessSaid:
    """The sounds of the levels below *every phase*, in order; the words on the screen stay those of the cues."""

    work: tuple[Sound, ...]
    milestones: tuple[Sound, ...]


def work_events(events: Sequence[Event], has_ramp_down: bool) -> Iterator[Event]:
    """Gives the starts and stops of the muscle; without a ramp down the rest that follows is the stop."""
    stop = "ease" if has_ramp_down else "rest"
    for event in events:
        begins_session = event.phase == "rest" and event.at_ms == 0
        if event.phase in ("rise", stop, *ALWAYS_SAID) and not begins_session:
            yield event


def few_events(script: Script, events: Sequence[Event]) -> list[Event]:
    """Gives the first start, half of the time, the last minute, the end."""
    first = next((event for event in events if event.phase == "rise"), None)
    marks = [event for event in events if event.phase in ALWAYS_SAID]
    if not script.settings.is_steady and not script.unpaced:
        marks = [*(event for event in milestone_events(script) if event.sound), *marks]
    return sorted([*([first] if first else []), *marks], key=lambda event: (event.at_ms, event.weight))


def sounds_of(events: Sequence[Event], places: Mapping[Event, int], clip_ms: Mapping[str, int]) -> tuple[Sound, ...]:
    """Decides which of some events sound; `places` says which phrase each has."""
    rows = zip(events, hear(events, clip_ms), strict=True)
    return tuple(Sound(event.at_ms, places[event], heard.said) for event, heard in rows if heard.said != SILENT)
