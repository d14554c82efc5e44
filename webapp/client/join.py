"""The first opening: a page that asks for one tap, and the POST that lets a phone in."""

from __future__ import annotations

import re
from typing import Any

from flask import Response, jsonify, render_template, request

from webapp import sealing
from webapp.client import activation, blueprint
from webapp.errors import refuse
from webapp.phone_requests import give_cookie
from webapp.practice.hold import stops
from webapp.prescribing.holds import holding_now
from webapp.serving import audit, now_ms, write
from webapp.storage import links
from webapp.storage.database import Db

MOST_BYTES = 2_048
REQUEST = re.compile(r"[0-9a-f]{32}")


@blueprint.get("/join")
def join() -> str:
    """Shows the page that is the same for everybody: the token stays in the phone's address bar."""
    return render_template("client/join.html")


def read_request() -> dict[str, str]:
    """Reads what a phone offers to be let in by."""
    request.max_content_length = MOST_BYTES
    given = request.get_json(silent=True)
    if not isinstance(given, dict) or not all(isinstance(value, str) for value in given.values()):
        raise refuse("message_malformed")
    return given


def _asking(given: dict[str, str]) -> activation.Asking:
    """Reads who asks; the request counts with what it offers, so that it is worth nothing without that."""
    request_id, offered = given.get("request", ""), [given.get(name, "") for name in ("rejoin", "typed", "token")]
    hashed = sealing.sha256_hex(" ".join([request_id, *offered])) if REQUEST.fullmatch(request_id) else ""
    return activation.Asking(kind=given.get("kind", "")[:40], at_ms=now_ms(), request_sha256=hashed,
                             was=given.get("was", ""))


def _admit(db: Db, given: dict[str, str]) -> activation.Admission:
    asking = _asking(given)
    if admission := activation.let_in_before(db, asking):
        return admission
    if "rejoin" in given:
        return activation.by_rejoin(db, given["rejoin"], asking)
    if "typed" in given:
        typed = activation.typed_characters(given["typed"])
        return activation.by_link(db, links.find_by_typed(db, sealing.sha256_hex(typed)), asking)
    return activation.by_link(db, links.find_by_token(db, sealing.sha256_hex(given.get("token", ""))), asking)


@blueprint.post("/join/activate")
def activate() -> Response:
    """Lets one more device in; the try is counted whether or not it succeeds."""
    given: dict[str, Any] = read_request()
    with write() as db:
        activation.limit_tries(db, request.remote_addr or "", now_ms())
    with write() as db:
        admission = _admit(db, given)
        if stops(holding_now(db, admission.device.client_id, now_ms())):
            raise refuse("practice_stopped")  # the transaction goes back: nobody was let in, no use is spent
        audit(db, "phone_let_in", admission.device.client_id, device=admission.device.device,
              replaces=admission.device.replaces or "",
              by="rejoin" if "rejoin" in given else "typed" if "typed" in given else "token")
    answer = jsonify(admission.answer())
    give_cookie(answer, admission.device.handle, admission.cookie)
    return answer
