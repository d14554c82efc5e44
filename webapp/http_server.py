"""Runs the app of a practice: waitress with four threads, the worker beside it, an orderly end."""

from __future__ import annotations

import gc
import logging
import signal
from collections.abc import Callable
from types import FrameType

from waitress.server import create_server  # type: ignore[import-untyped]

from webapp.app import create_app
from webapp.settings import Settings

THREADS = 4
GARBAGE = (10_000, 20, 20)  # values made, then rounds: from when on garbage is looked for


def serve(settings: Settings, host: str, port: int, announce: Callable[[], None] = lambda: None) -> None:
    """Serves until Ctrl-C or SIGTERM; `announce` is called once the port is open.

    The number of proxies is the app's business (settings.trusted_proxies): the server itself clears nothing and
    believes nothing.
    """
    logging.basicConfig(level=logging.WARNING, format="%(asctime)s %(levelname)s %(name)s: %(message)s")
    app = create_app(settings)
    settle_memory()
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


def settle_memory() -> None:
    """Has Python look for garbage less often, and no more among what the app keeps for good.

    A page makes some ten thousand short-lived values; at the standard thresholds, looking through all that there is
    takes up to half of the slowest pages' time.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(*GARBAGE)


def _end(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)
