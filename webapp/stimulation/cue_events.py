"""The moments of a session worth a cue, with their words; whether they sound is decided in `cue_sound`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from webapp.stimulation.plan import Settings
from webapp.stimulation.timetable import Interval, Timetable
from webapp.stimulation.units import MS_PER_MIN

# the words of a session that are not the task's: keys of `words`, in the catalogue under `cue.`
WORD_KEYS = (
    "finished",
    "halfway",
    "one_minute",
    "own_pace",
    "walking",
    "switch.press_on_press_off.rise",
    "switch.press_on_press_off.ease",
    "switch.while_pressed.rise",
    "switch.while_pressed.ease",
    "switch.on_release.rise",
    "switch.on_release.ease",
    "switch.one_contraction.rise",
)
WEIGHT = {"ready": 0, "hold": 1, "rest": 2, "ease": 3, "rise": 4, "halfway": 5, "one_minute": 5, "finished": 6}
READY_LEAD_MS = 1000
RISE_WITHOUT_RAMP_MS = 1000
_PHASES = {"ramp_up": "rise", "hold": "hold", "ramp_down": "ease", "rest": "rest"}
RECORDED = "recording:"  # before the hash of a recording, in the place of words that a voice says
SayIn = Callable[[int, str], "Said"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """The task's words of one channel for each phase, and those a second before the rise (or None).

    By phase, where there are any: `say_as` words that are spoken in place of those shown, `recorded` the SHA-256 of a
    recording that is played in place of both.
    """

    rise: str
    hold: str
    ease: str
    rest: str
    ready: str | None = None
    say_as: Mapping[str, str] | None = None
    recorded: Mapping[str, str] | None = None


class Said(NamedTuple):
    """What a cue shows, and what names its sound: the words as they are spoken, or `RECORDED` and a hash."""

    text: str
    sound: str


class Event(NamedTuple):
    """A moment before its sound is decided; of several at once the most telling comes last. `sound` as in `Said`."""

    at_ms: int
    weight: int
    until_ms: int
    cycle: int
    channels: tuple[int, ...]
    phase: str
    text: str
    sound: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """What the words of a sheet come from: the task's for each channel, and the session's own.

    `unpaced` is why no phase is led through (`own_pace`: the client's own; `walking`: nobody looks at a phone), or "".
    """

    settings: Settings
    wording: tuple[Wording, ...]
    words: Mapping[str, str]
    switch_does: str | None
    ready: bool
    unpaced: str = ""

    def say(self, channel: int, phase: str) -> Said:
        """Gives the words of a phase; where a switch makes the muscle work, what to do with the switch as well."""
        if self.settings.drive != "switched" or self.switch_does is None:
            return self.say_plainly(channel, phase)
        lets_go_in = "ease" if self.settings.ramp_down_ms else "rest"
        step = "ease" if phase == lets_go_in else phase
        return self._framed(channel, phase, self.words.get(f"switch.{self.switch_does}.{step}", ""))

    def say_plainly(self, channel: int, phase: str) -> Said:
        """Gives the task's words alone."""
        return self._framed(channel, phase, "")

    def _framed(self, channel: int, phase: str, frame: str) -> Said:
        wording = self.wording[channel - 1]
        shown: str = getattr(wording, phase) or ""
        spoken = (wording.say_as or {}).get(phase) or shown
        recorded = (wording.recorded or {}).get(phase)
        sound = RECORDED + recorded if recorded else frame.format(text=spoken) if frame else spoken
        return Said(frame.format(text=shown) if frame else shown, sound)

    def own(self, key: str) -> Said:
        """Gives words of the session that are not the task's."""
        text = self.words.get(key, "")
        return Said(text, text)


def make_script(
    settings: Settings,
    wording: Sequence[Wording],
    words: Mapping[str, str],
    switch_does: str | None,
    ready: bool,
    unpaced: str = "",
) -> Script:
    """Gives each channel its wording: its own, or the last one where there are fewer."""
    each = tuple(wording[min(n, len(wording) - 1)] for n in range(len(settings.channels)))
    return Script(settings=settings, wording=each, words=words, switch_does=switch_does, ready=ready, unpaced=unpaced)


def _phase_events(interval: Interval, say: SayIn, has_ramp_up: bool) -> Iterator[Event]:
    start, end, channel, row, cycle = interval
    phase = _PHASES[row]
    if phase == "hold" and not has_ramp_up:
        # without a ramp the start is still the moment to move: the rise takes the first second of the hold
        split = start + min(RISE_WITHOUT_RAMP_MS, (end - start) // 2)
        yield Event(start, WEIGHT["rise"], split, cycle, (channel,), "rise", *say(channel, "rise"))
        start = split
    yield Event(start, WEIGHT[phase], end, cycle, (channel,), phase, *say(channel, phase))


def _ready_event(rest: Interval, ready: str, clip_ms: Mapping[str, int], session_ms: int) -> Iterator[Event]:
    lead_ms = max(READY_LEAD_MS, clip_ms.get(ready, 0))
    if rest.end_ms < session_ms and rest.end_ms - lead_ms >= rest.start_ms:
        cycle = rest.cycle + 1 if rest.start_ms else 1
        at_ms = rest.end_ms - lead_ms
        yield Event(at_ms, WEIGHT["ready"], rest.end_ms, cycle, (rest.channel,), "ready", ready, ready)


def _interval_events(script: Script, interval: Interval, clip_ms: Mapping[str, int]) -> Iterator[Event]:
    # the rest that a session begins with follows no contraction: no switch to let go of
    before_all = interval.phase == "rest" and interval.start_ms == 0
    say = script.say_plainly if before_all else script.say
    yield from _phase_events(interval, say, script.settings.ramp_up_ms > 0)
    ready = script.wording[interval.channel - 1].ready
    if script.ready and ready and interval.phase == "rest":
        yield from _ready_event(interval, ready, clip_ms, script.settings.session_ms)


def milestone_events(script: Script) -> Iterator[Event]:
    """Gives half of the time, and the last minute where the half is not in it."""
    channels = tuple(range(1, len(script.settings.channels) + 1))
    end_ms = script.settings.session_ms
    half_ms, minute_ms = end_ms // 2, end_ms - MS_PER_MIN
    has_minute = minute_ms > half_ms
    until_ms = minute_ms if has_minute else end_ms
    yield Event(half_ms, WEIGHT["halfway"], until_ms, 1, channels, "halfway", *script.own("halfway"))
    if has_minute:
        yield Event(minute_ms, WEIGHT["one_minute"], end_ms, 1, channels, "one_minute", *script.own("one_minute"))


def _unpaced_events(script: Script) -> Iterator[Event]:
    """Gives the start and half of the time; what the muscle does between them nobody leads."""
    half, *minute = milestone_events(script)
    yield Event(0, WEIGHT["rise"], half.at_ms, 1, half.channels, "rise", *script.own(script.unpaced))
    yield from (half, *([] if script.unpaced == "walking" else minute))


def _merged(events: Iterable[Event]) -> Iterator[Event]:
    """Makes one of two channels that do the same until the same moment; channel 1 gives the words."""
    ordered = sorted(events)
    for _, same in groupby(ordered, key=lambda e: (e.at_ms, e.weight, e.until_ms, e.phase)):
        first, *others = same
        yield first._replace(channels=(1, 2)) if others else first


def session_events(script: Script, timetable: Timetable, clip_ms: Mapping[str, int]) -> list[Event]:
    """Lists every moment of the session in order, `finished` last."""
    channels = tuple(range(1, len(script.settings.channels) + 1))
    if script.settings.is_steady:
        events = list(milestone_events(script))
    elif script.unpaced:
        events = list(_unpaced_events(script))
    else:
        events = [e for row in timetable.intervals for e in _interval_events(script, row, clip_ms)]
    cycle = max((row.cycle for row in timetable.intervals[-1:]), default=1)
    end_ms = timetable.end_ms
    finished = Event(end_ms, WEIGHT["finished"], end_ms, cycle, channels, "finished", *script.own("finished"))
    return [*_merged(events), finished]
