"""Everything held of a client as one archive: each table as JSON, the usual files beside it, and what is what."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo


def archive(tables: Mapping[str, Iterable[Mapping[str, Any]]], files: Mapping[str, bytes], readme: str,
            made_ms: int) -> bytes:
    """Writes the archive; the same content made at the same moment gives the same bytes."""
    out = BytesIO()
    made = datetime.fromtimestamp(made_ms / 1000, UTC)
    with ZipFile(out, "w", ZIP_DEFLATED) as packed:
        for name, content in {"README.txt": readme.encode(), **{
                f"tables/{table}.json": _table(rows) for table, rows in tables.items()}, **files}.items():
            packed.writestr(ZipInfo(name, made.timetuple()[:6]), content, compress_type=ZIP_DEFLATED)
    return out.getvalue()


def _table(rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Writes rows as JSON; a column that holds JSON comes as what it says, bytes that are no text as base64."""
    plain = [{name: _plain(value) for name, value in row.items()} for row in rows]
    return json.dumps(plain, ensure_ascii=False, indent=1).encode()


def _plain(value: object) -> object:
    if isinstance(value, bytes):
        try:
            return _plain(value.decode())
        except UnicodeDecodeError:
            return {"base64": b64encode(value).decode()}
    if isinstance(value, str) and value[:1] in {"{", "["}:
        try:
            return json.loads(value)
        except ValueError:
            return value
    return value
