"""The cue sheet, wattlebird.cue_sheet/1: what the phone plays and shows, with the counts at each moment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import NamedTuple

from webapp.stimulation.cue_events import WORD_KEYS, Event, Wording, make_script, session_events
from webapp.stimulation.cue_levels import LessSaid, few_events, sounds_of, work_events
from webapp.stimulation.cue_sound import TONE_MS, Heard, hear
from webapp.stimulation.cycle import Contraction, work_out_cycle
from webapp.stimulation.hill import hill_points
from webapp.stimulation.plan import Settings
from webapp.stimulation.timetable import ChannelTally, Timetable, build_timetable, tally

__all__ = ["WORD_KEYS", "ChannelSheet", "Cue", "CueSheet", "Phrase", "Wording", "clip_id", "compile_cues", "sounded"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """What a cue shows and says; `clip` is empty where the text has no clip, `seconds` says that a countdown helps."""

    tone: str
    channels: tuple[int, ...]
    phase: str
    text: str
    clip: str
    seconds: bool


class Cue(NamedTuple):
    """One row of the sheet; `done_n` and `on_ms_n` are each channel's contractions and on-time at `at_ms`."""

    at_ms: int
    phrase: int
    until_ms: int
    cycle: int
    said: int
    done_1: int
    done_2: int
    on_ms_1: int
    on_ms_2: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelSheet:
    """One channel's totals and its hill: (ms in the cycle, per mille of full strength)."""

    channel: int
    contractions: int
    on_ms: int
    hill: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CueSheet:
    """The sheet. `session_ms` is the planned length; the last cue, `finished`, comes `may_run_on_ms` after it.

    A cycle position is (session time − `first_rise_ms`) mod `cycle_ms`; before `first_rise_ms` all rest.
    """

    exercise: int
    drive: str
    session_ms: int
    cycle_ms: int
    first_rise_ms: int
    at_end: str
    may_run_on_ms: int
    channels: tuple[ChannelSheet, ...]
    phrases: tuple[Phrase, ...]
    cues: tuple[Cue, ...]
    less_said: LessSaid | None = None  # None in sheets from before a client could choose how much is said


def clip_id(sound: str) -> str:
    """Gives the id of a clip: what it says decides it."""
    return "c-" + sha256(sound.encode("utf-8")).hexdigest()[:16]


def _progress(counted: ChannelTally, c: Contraction, cycle_ms: int, at_ms: int) -> tuple[int, int]:
    """Gives completed contractions and on-time of a channel at a moment, straight from the cycle."""
    since_ms = at_ms - counted.first_ms
    if since_ms <= 0 or not counted.begun:
        return 0, 0
    whole, rest_ms = divmod(since_ms, cycle_ms)
    if whole >= counted.begun:
        return counted.completed, counted.on_time_ms
    done = whole + (rest_ms >= c.on_ms)
    return min(done, counted.completed), min(whole * c.on_ms + min(rest_ms, c.on_ms), counted.on_time_ms)


def _phrase(event: Event, clip_ms: Mapping[str, int]) -> Phrase:
    return Phrase(
        tone=event.phase if event.phase in TONE_MS else "",
        channels=event.channels,
        phase=event.phase,
        text=event.text,
        clip=clip_id(event.sound) if event.sound in clip_ms else "",
        seconds=event.until_ms > event.at_ms and event.phase not in ("halfway", "one_minute"),
    )


def _phrases(events: Sequence[Event], clip_ms: Mapping[str, int]) -> tuple[list[Phrase], list[int]]:
    """Lists each different phrase once, and for each event which one it is."""
    places: dict[tuple[tuple[int, ...], str, str, str], int] = {}
    phrases: list[Phrase] = []
    used = []
    for event in events:
        place = places.setdefault((event.channels, event.phase, event.text, event.sound), len(phrases))
        if place == len(phrases):
            phrases.append(_phrase(event, clip_ms))
        used.append(place)
    return phrases, used


def _cues(events: Sequence[Event], used: Sequence[int], said: Sequence[int], settings: Settings) -> list[Cue]:
    cycle = work_out_cycle(settings)
    channels = list(zip(tally(settings, cycle), cycle.contractions, strict=True))
    cues = []
    for event, phrase, loud in zip(events, used, said, strict=True):
        counts = [_progress(t, c, cycle.cycle_ms, event.at_ms) for t, c in channels]
        (done_1, on_1), (done_2, on_2) = counts[0], counts[1] if len(counts) == 2 else (0, 0)
        cues.append(Cue(event.at_ms, phrase, event.until_ms, event.cycle, loud, done_1, done_2, on_1, on_2))
    return cues


def _uncounted(cues: Sequence[Cue]) -> list[Cue]:
    return [cue._replace(done_1=0, done_2=0, on_ms_1=0, on_ms_2=0) for cue in cues]


def _channel_sheet(settings: Settings, channel: int, timetable: Timetable) -> ChannelSheet:
    return ChannelSheet(
        channel=channel,
        contractions=timetable.contractions[channel - 1],
        on_ms=timetable.on_time_ms[channel - 1],
        hill=tuple((ms, round(level * 1000)) for ms, level in hill_points(settings, channel)),
    )


def _less_said(
    events: Sequence[Event], few: Sequence[Event], used: Sequence[int], clip_ms: Mapping[str, int], has_ramp_down: bool
) -> LessSaid:
    places = dict(zip([*events, *few], used, strict=True))
    work = list(work_events(events, has_ramp_down))
    return LessSaid(work=sounds_of(work, places, clip_ms), milestones=sounds_of(few, places, clip_ms))


def sounded(
    settings: Settings,
    wording: Sequence[Wording],
    clip_ms: Mapping[str, int],
    switch_does: str | None = None,
    ready: bool = False,
    words: Mapping[str, str] | None = None,
    unpaced: str = "",
) -> list[tuple[Event, Heard]]:
    """Lists every moment of a session with how much of it sounds; what is given is as for `compile_cues`."""
    script = make_script(settings, wording, words or {}, switch_does, ready, unpaced)
    events = session_events(script, build_timetable(settings), clip_ms)
    return list(zip(events, hear(events, clip_ms), strict=True))


def compile_cues(
    settings: Settings,
    exercise: int,
    wording: Sequence[Wording],
    clip_ms: Mapping[str, int],
    switch_does: str | None = None,
    ready: bool = False,
    words: Mapping[str, str] | None = None,
    unpaced: str = "",
) -> CueSheet:
    """Compiles the cue sheet of one exercise; raises PlanError where the timing is impossible.

    `wording` has one entry for each channel; one for all where there is only one. `clip_ms` maps a sound (`Said.sound`;
    `sounded` says which are wanted) to the length of its clip in ms. `words` are the catalogue's texts under
    `WORD_KEYS` (those of the switch hold `{text}`, where the task's words go). `unpaced` (see `Script`) leaves
    the phases out, and nothing is counted then. What sounds is decided in `cue_sound`.
    """
    table = build_timetable(settings)
    told = sounded(settings, wording, clip_ms, switch_does, ready, words, unpaced)
    events = [event for event, _heard in told]
    few = few_events(make_script(settings, wording, words or {}, switch_does, ready, unpaced), events)
    phrases, used = _phrases([*events, *few], clip_ms)
    cues = _cues(events, used[: len(events)], [heard.said for _event, heard in told], settings)
    return CueSheet(
        exercise=exercise,
        drive=settings.drive,
        session_ms=table.session_ms,
        cycle_ms=table.cycle_ms,
        first_rise_ms=table.first_rise_ms,
        at_end=settings.at_end,
        may_run_on_ms=table.end_ms - table.session_ms,
        channels=tuple(_channel_sheet(settings, n, table) for n in range(1, len(settings.channels) + 1)),
        phrases=tuple(phrases),
        cues=tuple(_uncounted(cues) if unpaced else cues),
        less_said=_less_said(events, few, used, clip_ms, settings.ramp_down_ms > 0),
    )
