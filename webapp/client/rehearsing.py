"""The set-up tried on a phone that has no pack yet: lent steps of the draft, by a link that works once."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from flask import Response, jsonify, render_template, request
from flask.typing import ResponseReturnValue

from webapp.client import activation, blueprint
from webapp.client.join import read_request
from webapp.client.packing import HTML, TYPES, pack_environment
from webapp.client.pages import photo_path, photos_named, rehearsal_page
from webapp.errors import refuse
from webapp.prescribing.drafting import Known
from webapp.prescribing.preview import exercise_to_try
from webapp.rehearsals import Rehearsal, rehearsals
from webapp.serving import audit, database, now_ms, settings, write
from webapp.static_files import file as static_file
from webapp.storage import clients, photos
from webapp.translations import LANGUAGES, translator

COOKIE, PLACE = "wattlebird_rehearsal", "/rehearse"
GONE = 410


@blueprint.get(PLACE)
def rehearse() -> str:
    """Shows the page that is the same for everybody: the token stays in the phone's address bar."""
    return _outside(ended=False)


def _outside(*, ended: bool) -> str:
    """Renders what a phone sees of no steps, in the language that the code names: nothing else is known of whom."""
    language = request.args.get("l", "")
    shown = language if language in LANGUAGES else LANGUAGES[0]
    return render_template("client/rehearse_start.html", ended=ended, language=shown, t=translator(shown))


@blueprint.post(f"{PLACE}/start")
def start_rehearsal() -> Response:
    """Lets one phone try the steps; the try is counted whether or not it succeeds."""
    given = read_request()
    with write() as db:
        activation.limit_tries(db, f"rehearse {request.remote_addr or ''}", now_ms())
    lent, cookie = rehearsals().open(given.get("token", ""), now_ms())
    with write() as db:
        audit(db, "rehearsal_opened", lent.client_id, exercise=lent.exercise)
    answer = jsonify({"page": f"{PLACE}/steps?l={quote(given.get('language', '')[:5])}"})
    answer.set_cookie(COOKIE, cookie, path=PLACE, max_age=(lent.ends_ms - now_ms()) // 1000, httponly=True,
                      secure=settings().https, samesite="Strict")
    return answer


def _lent() -> Rehearsal | None:
    """Gives what is lent to this phone, if its client is still here."""
    found = rehearsals().of_phone(request.cookies.get(COOKIE, ""), now_ms())
    return found if found and clients.read(database(), found.client_id) else None


def _exercise(lent: Rehearsal) -> tuple[dict[str, Any], Known]:
    client = clients.read(database(), lent.client_id)
    if client is None:
        raise refuse("not_found")
    return exercise_to_try(database(), client, lent.exercise, now_ms())


@blueprint.get(f"{PLACE}/steps")
def rehearsal_steps() -> ResponseReturnValue:
    """Shows the steps as the draft has them now; the page goes by itself when its time is over."""
    lent = _lent()
    try:
        exercise, known = _exercise(lent) if lent else ({}, None)
    except LookupError:
        exercise, known = {}, None
    if lent is None or known is None:
        return _outside(ended=True), GONE
    t, there = translator(known.language), {
        one for one in photos_named([exercise]) if photos.jpeg(database(), lent.client_id, one)}
    page = rehearsal_page(pack_environment(t, known.language), exercise, t, there, working_side=known.working_side,
                          language=known.language)
    left_s = (lent.ends_ms - now_ms()) // 1000 + 1
    return Response(page, content_type=HTML, headers={"Refresh": str(left_s), **_nowhere_else()})


@blueprint.get(f"{PLACE}/alive")
def rehearsal_alive() -> ResponseReturnValue:
    return "", 204 if _lent() else GONE


@blueprint.get(f"{PLACE}/photos/<name>.jpg")
def rehearsal_photo(name: str) -> Response:
    """Sends a photo that the lent steps show, and no other."""
    lent = _lent()
    if lent is None:
        raise refuse("not_found")
    exercise, _known = _exercise(lent)
    named = [one for one in photos_named([exercise]) if photo_path(one) == f"photos/{name}.jpg"]
    content = photos.jpeg(database(), lent.client_id, named[0]) if named else None
    if content is None:
        raise refuse("not_found")
    return Response(content, content_type=TYPES[".jpg"], headers=_nowhere_else())


def _nowhere_else() -> dict[str, str]:
    """Keeps what is lent out of caches, indexes and other sites' logs."""
    return {"Cache-Control": "no-store", "X-Robots-Tag": "noindex, noarchive", "Referrer-Policy": "no-referrer"}


@blueprint.get(f"{PLACE}/static/<path:path>")
def rehearsal_static(path: str) -> Response:
    """Sends styles and scripts where the page looks for them, as a pack has them beside its pages."""
    return static_file(path)
