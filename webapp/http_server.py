"""Runs the app of a practice: waitress with four threads, the worker beside it, an orderly end."""

from __future__ import annotations

import logging
import signal
from collections.abc import Callable
from types import FrameType

from waitress.server import create_server  # type: ignore[import-untyped]

from webapp.app import create_app
from webapp.settings import Settings

THREADS = 4


def serve(settings: Settings, host: str, port: int, announce: Callable[[], None] = lambda: None) -> None:
    """Serves until Ctrl-C or SIGTERM; `announce` is called once the port is open.

    The number of proxies is the app's business (settings.trusted_proxies): the server itself clears nothing and
    believes nothing.
    """
    logging.basicConfig(level=logging.WARNING, format="%(asctime)s %(levelname)s %(name)s: %(message)s")
    app = create_app(settings)
    server = create_server(app, host=host, port=port, threads=THREADS, ident="", clear_untrusted_proxy_headers=False,
                           max_request_body_size=settings.form_body_bytes * 2)
    signal.signal(signal.SIGTERM, _end)
    announce()
    try:
        server.run()
    except (KeyboardInterrupt, SystemExit):
        pass
    finally:
        server.close()
        app.extensions["wattlebird_worker"].stop()
        app.extensions["wattlebird"].store.close()


def _end(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)
