"""Serves a test's clinic: `python -m tests.browser.serve_clinic DATA PORT PUBLIC_URL`; files there change how."""

from __future__ import annotations

import os
import signal
import sys
from functools import cache
from pathlib import Path

from waitress import serve  # type: ignore[import-untyped]

import webapp.settings
from webapp.settings import Settings

SECRET = "invented for tests " * 3


def main(data_dir: Path, port: int, public_url: str) -> None:
    """Serves until it is told to end; what it says goes to a file."""
    with (data_dir / "server.log").open("ab") as log:
        os.dup2(log.fileno(), 1)
        os.dup2(log.fileno(), 2)
    ahead, newer = data_dir / "clock_ahead_ms", data_dir / "release"
    if newer.is_file():
        # before anything reads it: the same app as another release
        webapp.settings.release = cache(newer.read_text)
    from webapp.app import create_app
    from webapp.serving import wall_clock_ms

    def now_ms() -> int:
        return wall_clock_ms() + (int(ahead.read_text()) if ahead.is_file() else 0)

    proxies = 1 if public_url.startswith("https") else 0
    settings = Settings(data_dir=data_dir, public_url=public_url, secret_key=SECRET, trusted_proxies=proxies,
                        phone_worker=not (data_dir / "worker_off").is_file())
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    serve(create_app(settings, now_ms), host="127.0.0.1", port=port, threads=8)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
