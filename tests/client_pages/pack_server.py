"""Serves one rendered pack from memory, with the headers of a real one: what a phone has once the pack is stored."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any

from webapp.client.packing import PackFile
from webapp.security_headers import security_headers

HANDLE = "q3m5k2w7a4e6t2xy"
ROOT = f"/my/{HANDLE}/"


def _handler(files: Mapping[str, PackFile]) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            path = self.path.partition("?")[0].removeprefix(ROOT).removeprefix("next/")
            file = files.get(path or "today")
            self.send_response(200 if file else 404)
            for name, value in security_headers(https=False).items():
                self.send_header(name, value)
            self.send_header("Content-Type", file.type if file else "text/plain")
            self.end_headers()
            self.wfile.write(file.content if file else b"")

        def do_POST(self) -> None:
            self.send_error(503)

        def log_message(self, format: str, *args: Any) -> None:  # noqa: A002
            """Says nothing."""

    return Handler


@contextmanager
def served(files: Mapping[str, PackFile]) -> Iterator[str]:
    """Serves the files of a pack; gives the address of its phone's pages."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(files))
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}{ROOT}"
    finally:
        server.shutdown()
        server.server_close()
