"""An issued plan becomes the content of a pack: cue sheets, sounds, and what the phone only has to look up."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.formats.issued_json import read_issued, write_issued
from webapp.formats.log_record import FIELDS
from webapp.formats.plan_json import read_settings
from webapp.practice.afterwards import after_rows
from webapp.practice.schedule import (
    NO_DAYS_OFF,
    DaysOff,
    PlanVersion,
    days_from,
    planned_on,
    read_version,
    starts_again,
)
from webapp.practice.skin import decision_rows
from webapp.practice.thresholds import STANDARD
from webapp.speech import voice
from webapp.speech.clips import Clip, SpeechError, clip_of_wav, render_clip
from webapp.speech.tones import TONE_NAMES, render_tone
from webapp.stimulation.cue_events import RECORDED, Event
from webapp.stimulation.cue_levels import MILESTONES
from webapp.stimulation.cue_sheet import WORD_KEYS, CueSheet, Wording, clip_id, compile_cues, sounded
from webapp.stimulation.cue_sound import Heard
from webapp.stimulation.first_trial import tap_lag_ms
from webapp.translations import Translate, translator

DYSREFLEXIA_STEPS = 7
REACTION_MS = 300  # how late a person's tap is on what they see begin; common practice, no source
Json = Mapping[str, Any]
Progress = Callable[[int, int], None]
Recordings = Callable[[str], bytes | None]  # the WAV file of a recording, by the SHA-256 that the plan names it with


@dataclass(frozen=True, slots=True, kw_only=True)
class PackContent:
    """What a pack is rendered from; the same issued plan gives the same content."""

    issued: Json
    compiled: Json
    cue_sheets: tuple[Json, ...]
    clips: tuple[Clip, ...]
    tones: tuple[Clip, ...]
    sample_rate_hz: int
    off: DaysOff = NO_DAYS_OFF


def longest_session_min(exercise: Json) -> float:
    """Finds the longest session that an exercise ever asks for; the phone ends its cue sheet sooner on other days."""
    steps = [step["session_min"] for step in exercise.get("minutes_by_date", ())]
    return float(max([exercise["settings"]["session_min"], *steps]))


def _script(exercise: Json, t: Translate) -> dict[str, Any]:
    """Gives what the cues of an exercise are made of: of its longest session."""
    return {
        "settings": replace(read_settings(exercise["settings"]), session_min=longest_session_min(exercise)),
        "wording": tuple(Wording(**words) for words in exercise["wording"]),
        "switch_does": exercise["stimulator"].get("switch_does"), "ready": bool(exercise.get("ready")),
        "words": {key: t(f"cue.{key}") for key in WORD_KEYS}, "unpaced": unpaced(exercise)}


def unpaced(exercise: Json) -> str:
    """Tells why nobody leads through the phases: walking, the client's own pace; or "" where one does."""
    drive = exercise["settings"]["drive"]
    by_foot = drive == "switched" and exercise["stimulator"].get("switch_socket") == "foot"
    if drive != "steady" and (exercise.get("walking") or by_foot):
        return "walking"
    return "own_pace" if drive == "switched" and exercise.get("pace") == "own" else ""


def cue_sheet(exercise: Json, clip_ms: Mapping[str, int], t: Translate) -> CueSheet:
    """Compiles the cues of one exercise for clips of these lengths."""
    return compile_cues(exercise=exercise["exercise"], clip_ms=clip_ms, **_script(exercise, t))


def sounded_cues(exercise: Json, clip_ms: Mapping[str, int], t: Translate) -> list[tuple[Event, Heard]]:
    """Lists the moments of one exercise's session with how much of each sounds."""
    return sounded(clip_ms=clip_ms, **_script(exercise, t))


def wanted_sounds(exercises: Sequence[Json], t: Translate) -> list[str]:
    """Lists every sound that a plan's cues want, each once; the milestones are for a client who wants to hear few."""
    milestones = {t(f"cue.{key}") for key in MILESTONES}
    cues = {event.sound for one in exercises for event, _heard in sounded_cues(one, {}, t) if event.sound}
    return sorted(cues | milestones)


def dysreflexia_words(issued: Json, t: Translate) -> list[str]:
    """Lists what is read aloud on the help page of a client who may get autonomic dysreflexia, in order."""
    said = ("title", *(f"do_{n}" for n in range(1, DYSREFLEXIA_STEPS + 1)))
    return [t(f"client.dysreflexia.{key}") for key in said] if issued.get("dysreflexia") else []


def sound_clip(sound: str, language: str, clips_dir: Path, recordings: Recordings) -> Clip:
    """Gives the clip of a sound: a recording as it was made, or words as they are spoken.

    Raises SpeechError where there is no voice, nothing to say or too much, LookupError for a recording that is gone.
    """
    if not sound.startswith(RECORDED):
        return render_clip(sound, language, clips_dir)
    wav = recordings(sound.removeprefix(RECORDED))
    if wav is None:
        raise LookupError(sound)
    return clip_of_wav(wav, name=clip_id(sound), text=sound)


def make_clips(
    sounds: list[str], language: str, clips_dir: Path, recordings: Recordings, progress: Progress
) -> tuple[Clip, ...]:
    """Makes the clips of some sounds; without a voice for the language there are recordings only: the tones lead."""
    spoken = voice.speaks(language)
    clips = []
    for done, sound in enumerate(sounds):
        progress(done, len(sounds) + 1)
        if spoken or sound.startswith(RECORDED):
            with suppress(SpeechError):  # too long to be spoken: the builder has said so, and the screen shows it
                clips.append(sound_clip(sound, language, clips_dir, recordings))
    return tuple(clips)


def without_lost_recordings(exercise: dict[str, Any], recordings: Recordings) -> dict[str, Any]:
    """Leaves out the recordings that are no longer kept: there the voice speaks again."""
    return exercise | {"wording": [_kept_only(words, recordings) for words in exercise["wording"]]}


def _kept_only(words: Json, recordings: Recordings) -> dict[str, Any]:
    kept = {phase: sha256 for phase, sha256 in words.get("recorded", {}).items() if recordings(sha256) is not None}
    return {**words, "recorded": kept}


def compile_days(version: PlanVersion) -> dict[str, list[dict[str, object]]]:
    """Lays the plan out on the calendar: each day's sessions in order."""
    days = {day: planned_on(version, day) for day in days_from(version.starts, version.last_day)}
    return {day.isoformat(): [{"slot": one.slot, "exercise": one.exercise, "session_s": one.planned_s} for one in due]
            for day, due in days.items() if due}


def compile_days_off(version: PlanVersion, off: DaysOff) -> dict[str, dict[str, object]]:
    """Says of each day off when practice starts again, and whether the client may practise anyway.

    Days before this version starts are in it, too: a phone may be told of it while it still works with the one before.
    """
    days = (day for day in sorted(off.days) if day <= version.last_day)
    return {day.isoformat(): {"again": again.isoformat() if (again := starts_again(version, off, day)) else "",
                              "may": day not in off.illness} for day in days}


def _places(exercise: Json) -> list[dict[str, object]]:
    pads = [(number, pad) for number, channel in enumerate(exercise["channels"], 1) for pad in channel["pads"]]
    return [{"n": n, "channel": number, "text": pad["place"]} for n, (number, pad) in enumerate(pads)]


def _strength_step(exercise: Json, setting: str) -> float:
    found = [one for one in exercise["stimulator"].get("settings", ()) if one["name"] == setting]
    return float(found[0].get("step") or 1) if found else 1.0


def _goes_on(unit: Json) -> str:
    at_end = unit.get("at_end", "unknown")
    return {"goes_on": "yes", "unknown": "unknown"}.get(at_end, "no")


def compile_exercise(exercise: Json, version: PlanVersion) -> dict[str, object]:
    """Gives the part of the compiled plan that belongs to one exercise."""
    shows = "level" if any("ceiling_level" in channel for channel in exercise["channels"]) else "ma"
    unit = exercise["stimulator"]
    today = version.exercise(exercise["exercise"])
    return {
        "exercise": exercise["exercise"], "title": exercise["title"],
        "session_s": today.session_s_on(version.starts) if today else 0, "places": _places(exercise),
        "ceilings": [channel[f"ceiling_{shows}"] for channel in exercise["channels"]], "shows": shows,
        "strength_step": _strength_step(exercise, f"intensity_{shows}"),
        "strength_start": [channel.get(f"intensity_{shows}") for channel in exercise["settings"]["channels"]],
        "channel_names": [channel["name"] for channel in exercise["channels"]],
        "sensory_loss": bool(exercise.get("sensory_loss", False)), "can_pause": bool(unit.get("pause_does")),
        "goes_on": _goes_on(unit), "pause_stops_clock": unit.get("pause_stops_clock", "unknown"),
        "unit": unit["name"], "own_sign": bool(unit.get("start_sign")), "tap_lag_ms": expected_lag_ms(exercise),
        "unpaced": unpaced(exercise),
        "short_steps_from": exercise.get("short_steps_from", ""),
        "settings_stay": unit.get("settings_survive_off", "unknown") == "yes",
        "look_half_way": bool(exercise.get("sensory_loss")) and exercise["settings"]["drive"] != "steady",
    }


def expected_lag_ms(exercise: Json) -> int:
    """Gives how long after the start of channel 1's rise the client notices it, by the first trial; 0 where unknown.

    Who feels it goes by the feeling; who does not, by the movement.
    """
    trial = exercise["channels"][0].get("trial") or {}
    noticed = trial.get("first_movement" if exercise.get("sensory_loss") else "first_feeling")
    dosed = exercise["settings"]["channels"][0]
    strength = dosed.get("intensity_ma", dosed.get("intensity_level"))
    return tap_lag_ms(exercise["settings"].get("ramp_up_s", 0), noticed or trial.get("first_movement"), strength)


def compile_plan(
    issued: Json, off: DaysOff = NO_DAYS_OFF, severe_n: int = STANDARD.pain_severe_n
) -> dict[str, object]:
    """Compiles `data/plan.json`: nothing in it has to be worked out on the phone; `severe_n` is the clinic's, of 10."""
    version = read_version(issued)
    kept = ("plan", "version", "language", "first_day", "last_day", "working_side", "least_hours_between",
            "most_per_day", "asks", "call", "changes")
    fields = {kind: {name: rule._asdict() for name, rule in table.items()} for kind, table in FIELDS.items()}
    return {
        **{name: issued[name] for name in kept}, "code": issued["client_code"],
        "pads_sessions": issued.get("pads_sessions") or 0, "days": compile_days(version),
        "days_off": compile_days_off(version, off),
        "exercises": [compile_exercise(exercise, version) for exercise in issued["exercises"]],
        "said_dysreflexia": [clip_id(text) for text in dysreflexia_words(issued, translator(str(issued["language"])))],
        "reaction_ms": REACTION_MS, "record_fields": fields, **decision_rows(), **after_rows(severe_n),
    }


def no_recordings(_sha256: str) -> bytes | None:
    """Stands for a practice where nobody has recorded anything."""
    return None


def compile_pack(
    issued: Json, clips_dir: Path, progress: Progress, recordings: Recordings = no_recordings,
    off: DaysOff = NO_DAYS_OFF, severe_n: int = STANDARD.pain_severe_n
) -> PackContent:
    """Compiles everything that a pack is rendered from; `progress(done, of)` follows the clips."""
    issued = dict[str, Any](write_issued(read_issued(issued)))  # complete: pages need not know what may be left out
    language, t = str(issued["language"]), translator(str(issued["language"]))
    exercises = [without_lost_recordings(exercise, recordings) for exercise in issued["exercises"]]
    wanted = sorted({*wanted_sounds(exercises, t), *dysreflexia_words(issued, t)})
    clips = make_clips(wanted, language, clips_dir, recordings, progress)
    clip_ms = {clip.text: clip.dur_ms for clip in clips}
    return PackContent(
        issued=issued, compiled=compile_plan(issued, off, severe_n), clips=clips,
        tones=tuple(map(render_tone, TONE_NAMES)),
        cue_sheets=tuple(write_cue_sheet(cue_sheet(exercise, clip_ms, t)) for exercise in exercises),
        sample_rate_hz=voice.SAMPLE_RATE_HZ, off=off)
