"""Ports on the loopback address for the servers that tests start."""

from __future__ import annotations

import os
import random
import socket

# below the ports that systems give to outgoing connections, so that none of those gets in between; 5000 for each worker
FIRST, EACH = 12_000, 5_000
_WORKER = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw")) % 4
_CHOICE = random.SystemRandom()


def free_port() -> int:
    """Finds a port that nobody uses, and that no other worker of this run looks at."""
    lowest = FIRST + _WORKER * EACH
    while True:
        port = lowest + _CHOICE.randrange(EACH)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
