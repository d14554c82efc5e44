"""A draft seen as the client: the pack's own pages and scripts, live, for the therapist; nothing is recorded."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response, jsonify, render_template, request
from flask.typing import ResponseReturnValue

from webapp.client import blueprint
from webapp.client.packing import SCRIPT_KEYS, pack_environment
from webapp.client.pages import page_paths, photo_path, photos_named, render_pages
from webapp.errors import refuse
from webapp.formats.cue_sheet_json import write_cue_sheet
from webapp.formats.reading import ReadingError
from webapp.issuing import compile_plan, cue_sheet
from webapp.prescribing.preview import plan_to_preview
from webapp.serving import audit, database, now_ms, require, write
from webapp.speech import voice
from webapp.speech.tones import TONE_NAMES, render_tone
from webapp.static_files import file as static_file
from webapp.storage import clients, clinic, photos
from webapp.translations import catalogue, translator

CUES = "data/cues-"


@blueprint.get("/clinic/clients/<int:client_id>/preview/<path:path>")
@require("therapist", "lead")
def preview(client_id: int, path: str) -> ResponseReturnValue:
    if path.startswith("static/"):
        return static_file(path.removeprefix("static/"))
    if path.startswith("tones/"):
        return _tone(path)
    client = clients.read(database(), client_id)
    if client is None:
        raise refuse("not_found")
    try:
        issued = plan_to_preview(database(), client, now_ms())
    except (ReadingError, LookupError):
        return render_template("therapist/preview_not_yet.html", client=client), 409
    if path.startswith("data/"):
        return _data(issued, path)
    if path.startswith("photos/"):
        return _photo(client_id, issued, path)
    return _page(client_id, issued, path)


def _page(client_id: int, issued: Mapping[str, Any], path: str) -> ResponseReturnValue:
    if path not in page_paths(issued):
        raise refuse("not_found")
    t, language = translator(issued["language"]), str(issued["language"])
    sheets = [write_cue_sheet(cue_sheet(one, {}, t)) for one in issued["exercises"]]
    page = render_pages(pack_environment(t, language), issued, _compiled(issued), t, sheets,
                        _photos(client_id, issued), only=path)[path]
    if path == "today" and request.args.get("fresh"):
        with write() as db:
            audit(db, "draft_previewed", client_id)
    return Response(_marked(page, client_id), content_type="text/html; charset=utf-8")


def _compiled(issued: Mapping[str, Any]) -> dict[str, object]:
    """Compiles the draft without the days off: who looks at it on one of them wants to see a day of practice."""
    return compile_plan(dict(issued), severe_n=clinic.thresholds(database()).pain_severe_n)


def _marked(page: str, client_id: int) -> str:
    """Says on every page what this is, and how to get back."""
    mark = render_template("therapist/preview_mark.html", client_id=client_id)
    page = page.replace("</head>", '<link rel="stylesheet" href="static/styles/preview.css">\n</head>', 1)
    return page.replace('<header class="top">', f'{mark}\n<header class="top">', 1)


def _data(issued: Mapping[str, Any], path: str) -> Response:
    """Gives what scripts ask for; the tones only: words are spoken once the pack is made."""
    t = translator(issued["language"])
    if path == "data/plan.json":
        return jsonify(_compiled(issued))
    if path == "data/strings.json":
        told = catalogue(str(issued["language"]))
        return jsonify({key: text for key, text in told.items() if key.startswith(SCRIPT_KEYS)})
    if path == "data/sounds.json":
        made = {name: render_tone(name) for name in TONE_NAMES}
        return jsonify({name: {"file": f"tones/{name}.wav", "dur_ms": one.dur_ms, "onset_ms": one.onset_ms,
                               "samples": one.samples, "sr": voice.SAMPLE_RATE_HZ} for name, one in made.items()})
    found = [one for one in issued["exercises"] if path == f"{CUES}{one['exercise']}.json"]
    if not found:
        raise refuse("not_found")
    return jsonify(write_cue_sheet(cue_sheet(found[0], {}, t)))


def _photos(client_id: int, issued: Mapping[str, Any]) -> dict[str, bytes]:
    """Gives the photos that a draft shows and that are kept, by hash."""
    found = {one: photos.jpeg(database(), client_id, one) for one in photos_named(issued["exercises"])}
    return {one: jpeg for one, jpeg in found.items() if jpeg is not None}


def _photo(client_id: int, issued: Mapping[str, Any], path: str) -> Response:
    shown = {photo_path(one): jpeg for one, jpeg in _photos(client_id, issued).items()}
    if path not in shown:
        raise refuse("not_found")
    return Response(shown[path], content_type="image/jpeg")


def _tone(path: str) -> Response:
    name = path.removeprefix("tones/").removesuffix(".wav")
    if name not in TONE_NAMES:
        raise refuse("not_found")
    return Response(render_tone(name).wav, content_type="audio/wav")
