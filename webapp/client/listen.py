"""A phone asks for the sounds of its sessions and fetches them, a range at a time."""

from __future__ import annotations

from typing import Any

from flask import Response, current_app, jsonify, request, send_file

from webapp.client import blueprint
from webapp.client.listening import Session, can_be_made, find_by_hash, find_sound, job_kind
from webapp.client.my import HANDLE, allowed_device, sealing_device
from webapp.errors import refuse
from webapp.serving import database, now_ms, settings, write
from webapp.speech.session_sound import CHOICES, Choice
from webapp.storage import jobs, packs
from webapp.storage.devices import Device
from webapp.storage.packs import Pack

MOST_SESSION_S = 40_000


@blueprint.post(f"/my/{HANDLE}/listen")
def listen(handle: str) -> Response:
    """Says where the sound of a session is: ready, being made (then with how far), or not to be had."""
    device = sealing_device(handle, "listen")
    given = request.get_json()
    pack = _own_pack(device, str(given.get("pack_id")))
    choice, session = _choice(given), _session(given)
    sound = find_sound(settings(), pack, choice, session)
    if sound:
        return jsonify({"state": "ready", "sha256": sound.sha256, "bytes": sound.bytes})
    if not can_be_made(settings(), pack, session):
        return jsonify({"state": "gone"})
    return jsonify(_made_in_background(pack, choice))


def _made_in_background(pack: Pack, choice: Choice) -> dict[str, object]:
    """Queues the work, once, and says how far it is."""
    job = jobs.latest(database(), job_kind(choice), pack.plan_id)
    if job and job.state in ("waiting", "running"):
        return {"state": "making", "done": job.done_n, "of": job.of_n}
    with write() as db:
        jobs.add(db, job_kind(choice), pack.plan_id, now_ms())
    current_app.extensions["wattlebird_worker"].wake()
    return {"state": "failed" if job and job.state == "failed" else "making", "done": 0, "of": 1}


def _own_pack(device: Device, pack_id: str) -> Pack:
    pack = packs.by_id(database(), pack_id)
    if pack is None or pack.client_id != device.client_id:
        raise refuse("not_found")
    return pack


def _choice(given: dict[str, Any]) -> Choice:
    found = [one for one in CHOICES if (one.voice, one.said) == (given.get("voice"), given.get("said"))]
    if not found:
        raise refuse("message_malformed")
    return found[0]


def _session(given: dict[str, Any]) -> Session:
    exercise, session_s = given.get("exercise"), given.get("session_s")
    if not isinstance(exercise, int) or not isinstance(session_s, int) or not 1 <= session_s <= MOST_SESSION_S:
        raise refuse("message_malformed")
    return Session(exercise=exercise, session_s=session_s)


@blueprint.get(f"/my/{HANDLE}/pack/<pack_id>/listen/<sha256>.mp3")
def session_sound(handle: str, pack_id: str, sha256: str) -> Response:
    """Sends the sound of a session; byte ranges are answered, so that a broken download goes on where it was."""
    sound = find_by_hash(settings(), _own_pack(allowed_device(handle), pack_id), sha256)
    if sound is None:
        raise refuse("not_found")
    response = send_file(sound.file, mimetype="audio/mpeg", etag=sound.sha256, conditional=True)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
