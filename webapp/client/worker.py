"""The phone's worker, one file a release and the same for all, and the pages it shows where there is no pack."""

from __future__ import annotations

import hashlib
import json
from functools import lru_cache

from flask import Response, make_response, render_template

from webapp.client import blueprint
from webapp.client.packing import HTML
from webapp.client.reachable import named_in_page, reachable
from webapp.serving import settings
from webapp.settings import release, static_folder
from webapp.static_files import static_url

OUTSIDE = {"/my/open-again": "open_again", "/my/not-found": "not_found"}
LEFT_OUT = (".woff2", ".txt")  # the reading font is in every pack; outside one the phone's own will do


def outside_page(name: str, status: int = 200) -> Response:
    """Renders a page that belongs to no pack; the same for everybody, so that the worker can keep it."""
    response = make_response(render_template(f"client/{name}.html"), status)
    response.headers["Content-Type"] = HTML
    response.headers["Cache-Control"] = "no-cache"
    return response


@blueprint.get("/my/open-again")
def open_again() -> Response:
    return outside_page("open_again")


@blueprint.get("/my/not-found")
def not_found() -> Response:
    return outside_page("not_found")


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def shell() -> dict[str, str]:
    """Lists what the worker keeps of its own, address to hash: the pages outside packs and what they need."""
    pages = {address: render_template(f"client/{name}.html") for address, name in OUTSIDE.items()}
    files = reachable(static_folder(), set().union(*map(named_in_page, pages.values())))
    kept = {static_url(path): _sha256((static_folder() / path).read_bytes()) for path in files
            if not path.endswith(LEFT_OUT)}
    return kept | {address: _sha256(page.encode()) for address, page in pages.items()}


@lru_cache(maxsize=1)
def _script(release_name: str, shell_json: str) -> str:
    text = (static_folder() / "sw.js").read_text(encoding="utf-8")
    return text.replace('"RELEASE"', json.dumps(release_name)).replace('"SHELL"', shell_json)


@blueprint.get("/sw.js")
def script() -> Response:
    """Sends the worker of this release; it may rule /my/ though it lies above it, and nothing else.

    Where phones are to go on without one, it sends the worker that takes its place and answers nothing.
    """
    if settings().phone_worker:
        text = _script(release(), json.dumps(shell(), sort_keys=True))
    else:
        text = (static_folder() / "sw_off.js").read_text(encoding="utf-8")
    return Response(text, content_type="text/javascript; charset=utf-8",
                    headers={"Cache-Control": "no-cache", "Service-Worker-Allowed": "/my/"})
