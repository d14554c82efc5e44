"""Reading a log that came without a network: codes from a screen, or a file. Nothing is stored before *Take it in*."""

from __future__ import annotations

from dataclasses import dataclass

from flask import make_response, render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.returns import MOST_PAYLOADS, sessions_n, take_in_returned, weigh
from webapp.security_headers import CONTENT_SECURITY_POLICY, PERMISSIONS_POLICY
from webapp.serving import audit, database, now_ms, require, write
from webapp.storage import clinic
from webapp.storage.records import Road
from webapp.therapist import blueprint, words

# the reader of codes is WebAssembly, and it wants the camera: on this page, and on no other
READER_POLICY = CONTENT_SECURITY_POLICY.replace("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'")
CAMERA_POLICY = PERMISSIONS_POLICY.replace("camera=()", "camera=(self)")


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedIn:
    """One request of the page: payloads as they were read, and the road that they came by."""

    payloads: tuple[str, ...]
    road: Road


@blueprint.get("/returns")
@require("therapist", "lead")
def returns() -> ResponseReturnValue:
    page = make_response(render_template("therapist/returns.html"))
    page.headers["Content-Security-Policy"] = READER_POLICY
    page.headers["Permissions-Policy"] = CAMERA_POLICY
    return page


@blueprint.post("/returns/preview", endpoint="returns_preview")
@require("therapist", "lead")
def preview() -> ResponseReturnValue:
    """Says whose log it is and what is new in it; stores nothing of it."""
    returned = weigh(database(), _handed_in().payloads)
    with write() as db:
        for phone in returned.phones:
            audit(db, "return_shown", phone.client.id, device=phone.device.device)
    return _part("preview", returned=returned)


@blueprint.post("/returns/take-in", endpoint="returns_taken")
@require("therapist", "lead")
def take_in() -> ResponseReturnValue:
    """Takes it in; the receipts are shown after the commit."""
    handed = _handed_in()
    with write() as db:
        returned = weigh(db, handed.payloads)
        taken = take_in_returned(db, returned, handed.road, now_ms())
        for one in taken:
            audit(db, "records_came", one.weighed.client.id, device=one.weighed.device.device, road=handed.road,
                  new=one.receipt.new, aside=one.receipt.aside)
    return _part("taken", taken=taken, unread=returned.unread)


def _part(name: str, **values: object) -> str:
    zone = clinic.read(database()).zone
    return render_template(f"therapist/returns_{name}.html", sessions_n=sessions_n, words=words, zone=zone, **values)


def _handed_in() -> HandedIn:
    sent = request.get_json(silent=True)
    given: dict[str, object] = sent if isinstance(sent, dict) else {}
    payloads = given.get("payloads")
    if not isinstance(payloads, list) or not all(isinstance(one, str) for one in payloads):
        raise refuse("message_malformed")
    if len(payloads) > MOST_PAYLOADS:
        raise refuse("too_large")
    return HandedIn(payloads=tuple(payloads), road="file" if given.get("road") == "file" else "code")
