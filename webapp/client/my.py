"""A phone's own addresses: pack files and pages by its cookie, its cookie by its seal."""

from __future__ import annotations

from pathlib import Path

from flask import Response, jsonify, request, send_file

from webapp import sealing
from webapp.client import blueprint
from webapp.client.blobs import Blob, find_blob
from webapp.client.worker import outside_page
from webapp.errors import refuse
from webapp.phone_requests import cookie_device, give_cookie, sealed_device
from webapp.serving import audit, database, now_ms, settings, write
from webapp.storage import devices, packs
from webapp.storage.devices import Device
from webapp.storage.packs import Pack

HANDLE = "<string(length=16):handle>"
FIRST_PAGE = "today"
REJOIN_HOURS = 24
HOUR_MS = 3_600_000


def send_blob(blob: Blob) -> Response:
    """Sends one file of a pack, compressed where that helps and is welcome; byte ranges are answered."""
    if blob.compressed and request.accept_encodings["gzip"] and not request.headers.get("Range"):
        response = send_file(blob.compressed, mimetype=blob.type, etag=f"{blob.sha256}-gz")
        response.headers["Content-Encoding"] = "gzip"
    else:
        response = send_file(blob.file, mimetype=blob.type, etag=blob.sha256, conditional=True)
    response.headers["Content-Type"] = blob.type
    del response.headers["Content-Disposition"]  # it named the file as it lies here, which a phone would save it as
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Vary"] = "Accept-Encoding, Cookie"
    return response


def allowed_device(handle: str) -> Device:
    """Gives the device whose cookie came, or refuses."""
    device = cookie_device(handle)
    if device is None:
        raise refuse("device_unknown")
    if device.revoked:
        raise refuse("device_revoked")
    return device


@blueprint.get(f"/my/{HANDLE}/pack/<pack_id>/<path:path>")
def pack_file(handle: str, pack_id: str, path: str) -> Response:
    """Sends a file of one pack for the phone's worker to keep."""
    device, pack = allowed_device(handle), packs.by_id(database(), pack_id)
    if pack is None or pack.client_id != device.client_id:
        raise refuse("not_found")
    if path == "manifest.json":
        answer = Response(pack.manifest, content_type="application/json; charset=utf-8")
        answer.headers["Cache-Control"] = "private, no-cache"
        return answer
    return _from_pack(pack, path)


def _from_pack(pack: Pack, path: str) -> Response:
    blob = find_blob(settings().packs_dir, pack.manifest, path)
    if blob is None:
        raise refuse("not_found")
    return send_blob(blob)


@blueprint.get(f"/my/{HANDLE}/")
@blueprint.get(f"/my/{HANDLE}/<path:path>")
def page(handle: str, path: str = FIRST_PAGE) -> Response:
    """Shows a page to a phone without a worker (its first opening, an emptied store), or how to open the plan again."""
    device = cookie_device(handle)
    if path == "open-again" or device is None or device.revoked:
        return outside_page("open_again", 200 if path in {"open-again", FIRST_PAGE} else 401)
    pending = path.startswith("next/")
    newest = packs.newest_for_client(database(), device.client_id)
    current = packs.by_id(database(), device.pack_id) if device.pack_id and not pending else None
    pack = current or newest
    name = path.removeprefix("next/") or FIRST_PAGE
    blob = find_blob(settings().packs_dir, pack.manifest, name) if pack else None
    return send_blob(blob) if blob else outside_page("not_found", 404)


@blueprint.post(f"/my/{HANDLE}/cookie")
def cookie(handle: str) -> Response:
    """Gives a phone a new cookie for its seal: one that lost its cookie has lost nothing."""
    device = sealing_device(handle, "cookie")
    value = sealing.new_cookie()
    with write() as db:
        devices.set_cookie(db, device.device, sealing.sha256_hex(value))
    answer = jsonify({"device": device.device})
    give_cookie(answer, handle, value)
    return answer


@blueprint.post(f"/my/{HANDLE}/rejoin-token")
def rejoin_token(handle: str) -> Response:
    """Lets this phone's home-screen app in once within a day, where that app starts with a store of its own."""
    device = sealing_device(handle, "rejoin")
    ends_ms = now_ms() + REJOIN_HOURS * HOUR_MS
    token = sealing.rejoin_token(device.device_key, ends_ms)
    with write() as db:
        devices.set_rejoin(db, device.device, sealing.sha256_hex(token), ends_ms)
        audit(db, "rejoin_token_made", device.client_id, device=device.device)
    return jsonify({"ends_ms": ends_ms})


@blueprint.get(f"/my/{HANDLE}/rejoin.webmanifest")
def rejoin_manifest(handle: str) -> Response:
    """Sends the manifest whose start address carries the re-join token, in its fragment."""
    device = allowed_device(handle)
    if device.rejoin_sha256 is None or device.rejoin_ends_ms is None:
        raise refuse("not_found")
    pack = packs.newest_for_client(database(), device.client_id)
    blob = find_blob(settings().packs_dir, pack.manifest, "manifest.webmanifest") if pack else None
    if blob is None:
        raise refuse("not_found")
    token = sealing.rejoin_token(device.device_key, device.rejoin_ends_ms)
    return _with_start(Path(blob.file), f"open-again#rejoin={token}")


def _with_start(manifest: Path, start: str) -> Response:
    text = manifest.read_text(encoding="utf-8").replace('"start_url":"today"', f'"start_url":"{start}"')
    return Response(text, content_type="application/manifest+json", headers={"Cache-Control": "no-store"})


def sealing_device(handle: str, asked_for: str) -> Device:
    """Gives the device that sealed this request; what it asks for is in the sealed body: no seal serves for two."""
    request.max_content_length = 1_024
    given = request.get_json(silent=True)
    if not isinstance(given, dict) or given.get("for") != asked_for:
        raise refuse("message_malformed")
    device = sealed_device(devices.by_handle(database(), handle), request.get_data(), "cookie")
    if device.revoked:
        raise refuse("device_revoked")
    return device
