"""Photos of where the pads go: taken in while a plan is written, shown on the clinic's pages that ask for one."""

from __future__ import annotations

from flask import Response, request
from flask.typing import ResponseReturnValue

from webapp.errors import Refusal, refuse
from webapp.photo import MOST_BYTES, clean_photo
from webapp.serving import audit, database, now_ms, require, signed_in, write
from webapp.serving import texts as translate
from webapp.storage import photos
from webapp.therapist import blueprint
from webapp.therapist.plan import client_or_refuse


@blueprint.post("/clients/<int:client_id>/plan/photos")
@require("therapist", "lead")
def add_photo(client_id: int) -> ResponseReturnValue:
    client_or_refuse(client_id)
    try:
        made, at_ms = clean_photo(request.stream.read(MOST_BYTES + 1)), now_ms()
    except Refusal as refusal:
        told = [translate()(f"error.{refusal.code}{part}", **refusal.params) for part in ("", ".do")]
        return {"problem": ". ".join(told)}, refusal.status
    with write() as db:
        photos.add(db, client_id, made.sha256, made.jpeg, (made.width, made.height), user_id=signed_in().id,
                   now_ms=at_ms)
        audit(db, "photo_added", client_id)
    return {"photo": made.sha256, "height": round(1000 * made.height / made.width)}


@blueprint.get("/clients/<int:client_id>/photos/<sha256>.jpg")
@require("therapist", "lead")
def photo(client_id: int, sha256: str) -> ResponseReturnValue:
    client_or_refuse(client_id)
    content = photos.jpeg(database(), client_id, sha256)
    if content is None:
        raise refuse("not_found")
    return Response(content, mimetype="image/jpeg", headers={"Cache-Control": "private, no-store"})
