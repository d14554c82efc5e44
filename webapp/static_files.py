"""Serves static files: for ever under the address of this release, asked for again each time under any other."""

from __future__ import annotations

import gzip
import mimetypes
from functools import lru_cache
from pathlib import Path

from flask import Blueprint, Response, request, send_from_directory
from werkzeug.security import safe_join

from webapp.settings import release, static_folder

YEAR_S = 31_536_000
COMPRESSED_SUFFIXES = frozenset({".css", ".js", ".mjs", ".svg", ".json", ".webmanifest", ".wasm"})
WASM = "application/wasm"  # a browser compiles it while it comes, but not with a charset after it

blueprint = Blueprint("static_files", __name__)
for suffix in (".js", ".mjs"):  # some machines' own tables know them under another name, which browsers refuse
    mimetypes.add_type("text/javascript", suffix)


def static_url(path: str) -> str:
    """Names a static file's address in this release."""
    return f"/static/{release()}/{path}"


@blueprint.get("/static/<path:path>")
def file(path: str) -> Response:
    first, _, rest = path.partition("/")
    versioned = first == release()
    name = rest if versioned else path
    response = _gzipped_file(name) or send_from_directory(static_folder(), name)
    if Path(name).suffix in COMPRESSED_SUFFIXES:
        response.vary.add("Accept-Encoding")
    response.headers["Cache-Control"] = f"public, max-age={YEAR_S}, immutable" if versioned else "no-cache"
    return response


def _gzipped_file(name: str) -> Response | None:
    """Makes the compressed answer where the file and the browser allow one."""
    found = safe_join(str(static_folder()), name)
    if not found or not request.accept_encodings["gzip"] or Path(found).suffix not in COMPRESSED_SUFFIXES:
        return None
    if not Path(found).is_file():
        return None
    packed = _gzipped(Path(found), Path(found).stat().st_mtime_ns)
    kind = WASM if Path(found).suffix == ".wasm" else f"{mimetypes.guess_type(found)[0] or 'text/plain'}; charset=utf-8"
    response = Response(packed, content_type=kind)
    response.headers["Content-Encoding"] = "gzip"
    response.add_etag()
    response.make_conditional(request)
    return response


@lru_cache(maxsize=512)
def _gzipped(path: Path, _changed_ns: int) -> bytes:
    return gzip.compress(path.read_bytes(), compresslevel=9, mtime=0)
