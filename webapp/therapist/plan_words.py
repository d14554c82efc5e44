"""The words of a plan as they will be heard: judged, played, recorded in the therapist's own voice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flask import Response, render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.issuing import Recordings, sound_clip, without_lost_recordings
from webapp.prescribing.checking import CheckedDraft
from webapp.prescribing.drafting import Known, Raw, Typed, exercise_count, read_exercise
from webapp.prescribing.known import read_known
from webapp.prescribing.spoken_words import NOT_SPOKEN, SpokenCue, spoken_cues
from webapp.serving import audit, database, now_ms, require, settings, signed_in, write
from webapp.serving import texts as translate
from webapp.speech import voice
from webapp.speech.clips import SpeechError
from webapp.speech.recording import take_recording
from webapp.storage import recordings
from webapp.storage.recordings import Recording
from webapp.therapist import blueprint
from webapp.therapist.plan import client_or_refuse, client_words, typed_form

LONGEST_SENTENCE = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class CueNote:
    """What the builder says beside a cue, and what its script needs."""

    cue: SpokenCue
    text: str
    made_for: str

    @property
    def is_trouble(self) -> bool:
        return self.cue.verdict in NOT_SPOKEN

    @property
    def is_for_other_words(self) -> bool:
        return bool(self.made_for) and self.made_for != self.cue.sentence


def _kept(client_id: int) -> Recordings:
    db = database()
    return lambda sha256: recordings.wav(db, client_id, sha256)


def _length_of(known: Known, kept: Recordings) -> Callable[[str], int | None]:
    def length_of(sound: str) -> int | None:
        if not voice.speaks(known.language) and not kept(sound):
            return None
        return sound_clip(sound, known.language, settings().clips_dir, kept).dur_ms

    return length_of


def cue_notes(client_id: int, known: Known, exercise: Raw) -> list[CueNote]:
    """Judges the words of one exercise of a draft."""
    kept, made = _kept(client_id), recordings.of_client(database(), client_id)
    cues = spoken_cues(without_lost_recordings(exercise, kept), _length_of(known, kept), client_words(known))
    return [_note(cue, made.get(cue.recording)) for cue in cues]


def _note(cue: SpokenCue, recording: Recording | None) -> CueNote:
    t = translate()
    seconds = {name: f"{ms / 1000:.1f}" for name, ms in (("length", cue.length_ms), ("room", cue.room_ms))
               if ms is not None}
    key = "builder.cue.fits_alone" if cue.verdict == "fits" and cue.room_ms is None else f"builder.cue.{cue.verdict}"
    text = t(cue.problem, **cue.params) if cue.problem else t(key, **seconds)
    return CueNote(cue=cue, text=text, made_for=recording.said if recording else "")


def not_spoken(client_id: int, known: Known, checked: CheckedDraft) -> dict[int, list[CueNote]]:
    """Lists by exercise the words of a checked draft that nobody will hear."""
    notes = {one.n: cue_notes(client_id, known, one.raw) for one in checked.exercises}
    return {n: [note for note in found if note.is_trouble] for n, found in notes.items()}


def _exercise(draft: Typed, known: Known, n: int) -> Raw:
    return read_exercise(draft, min(max(n, 1), exercise_count(draft)), known)


@blueprint.post("/clients/<int:client_id>/plan/words")
@require("therapist", "lead")
def plan_words(client_id: int) -> ResponseReturnValue:
    """Answers how each cue of an exercise will be heard."""
    known = read_known(database(), client_or_refuse(client_id), now_ms())
    exercise = _exercise(typed_form(request.form), known, request.args.get("exercise", 1, int))
    return render_template("therapist/plan_cues.html", notes=cue_notes(client_id, known, exercise))


@blueprint.post("/clients/<int:client_id>/plan/hear")
@require("therapist", "lead")
def hear_cue(client_id: int) -> ResponseReturnValue:
    """Sends the very clip that a cue will have in the pack."""
    known = read_known(database(), client_or_refuse(client_id), now_ms())
    name, kept = request.args.get("cue", ""), _kept(client_id)
    exercise = _exercise(typed_form(request.form), known, request.args.get("exercise", 1, int))
    exercise = without_lost_recordings(exercise, kept)
    found = [cue for cue in spoken_cues(exercise, _length_of(known, kept), client_words(known)) if cue.name == name]
    if not found:
        return {"problem": translate()("builder.cue.nothing")}, 422
    try:
        clip = sound_clip(found[0].sound, known.language, settings().clips_dir, kept)
    except SpeechError as error:
        return {"problem": translate()(error.key, **error.params)}, 422
    return Response(clip.wav, content_type="audio/wav")


@blueprint.post("/clients/<int:client_id>/plan/recordings")
@require("therapist", "lead")
def record_cue(client_id: int) -> ResponseReturnValue:
    """Takes in what the browser recorded for a sentence, and names it."""
    client_or_refuse(client_id)
    said = " ".join(request.args.get("said", "").split())[:LONGEST_SENTENCE]
    try:
        clip = take_recording(request.get_data(cache=False), name="", text=said)
    except SpeechError as error:
        return {"problem": translate()(error.key, **error.params)}, 422
    made = Recording(sha256=clip.sha256, said=said, dur_ms=clip.dur_ms)
    with write() as db:
        recordings.add(db, client_id, made, clip.wav, user_id=signed_in().id, now_ms=now_ms())
        audit(db, "cue_recorded", client_id, sha256=clip.sha256[:16])
    return {"sha256": clip.sha256, "dur_ms": clip.dur_ms}


@blueprint.post("/clients/<int:client_id>/plan/recordings/<sha256>/forget")
@require("therapist", "lead")
def forget_recording(client_id: int, sha256: str) -> ResponseReturnValue:
    """Deletes a recording, unless an issued plan plays it."""
    client_or_refuse(client_id)
    if len(sha256) != 64:
        raise refuse("not_found")
    with write() as db:
        gone = recordings.forget_unissued(db, client_id, sha256)
        audit(db, "cue_recording_removed", client_id, sha256=sha256[:16], deleted=bool(gone))
    return {"deleted": bool(gone)}
