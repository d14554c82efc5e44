"""The end of a rest: the therapist says that practice may go on, and the phone hears it by sync or as six digits."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from webapp.client_log import ClientLog
from webapp.errors import refuse
from webapp.serving import audit, database, now_ms, require, signed_in, texts, write
from webapp.storage import devices, rests
from webapp.storage.database import Db
from webapp.therapist import blueprint

MOST_SEQ = 2**31


def end_rests(db: Db, log: ClientLog) -> None:
    """Ends every rest of a client that the log knows of, inside the caller's write transaction."""
    for rest in log.rests:
        _end(db, log.client.id, rest.device, rest.through)


def _end(db: Db, client_id: int, device: str, through: int) -> None:
    if rests.end(db, client_id=client_id, device=device, through=through, ended_ms=now_ms(), ended_by=signed_in().id):
        audit(db, "rest_ended", client_id, device=device, through=through)


@blueprint.post("/clients/<int:client_id>/rest")
@require("therapist", "lead")
def end_rest(client_id: int) -> ResponseReturnValue:
    """Ends the rest of one phone through a record: one that the log knows, or the number that the client reads out."""
    device = devices.by_id(database(), request.form.get("device", ""))
    typed = request.form.get("through", "").strip()
    if device is None or device.client_id != client_id or device.is_paper:
        raise refuse("not_found")
    if typed.isdigit() and 0 < int(typed) < MOST_SEQ:
        with write() as db:
            _end(db, client_id, device.device, int(typed))
        flash(texts()("review.rest.ended"))
    else:
        flash(texts()("review.rest.no_number"))
    return redirect(url_for("therapist.review", client_id=client_id, _anchor="rest"), 303)
