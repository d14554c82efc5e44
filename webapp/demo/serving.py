"""Serves the demo on the loopback address and says where, as whom, and with which link."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from webapp.demo.cases import CASES
from webapp.demo.clinic import LINK_FOR, PASSWORD, PEOPLE
from webapp.demo.making import client_link
from webapp.http_server import serve
from webapp.settings import load_settings
from webapp.translations import translator

HOST = "127.0.0.1"


def serve_demo(folder: Path, port: int) -> int:
    """Serves until it is stopped; 2 where the port is taken."""
    settings, t = load_settings(folder, public_url=f"http://{HOST}:{port}"), translator("en")
    name = next(case.first_name for case in CASES if case.code == LINK_FOR)

    def say() -> None:
        link = client_link(settings, time.time_ns() // 1_000_000)
        print(t("demo.ready", address=settings.public_url, logins=" / ".join(login for login, _n, _r in PEOPLE),
                password=PASSWORD, name=name, link=link), flush=True)

    try:
        serve(settings, HOST, port, say)
    except OSError:
        print(t("demo.port_taken", port=port, next=port + 1), file=sys.stderr)
        return 2
    return 0
