"""Processes forked from one that has the whole app imported: importing it anew takes longer than most tests."""

from __future__ import annotations

import multiprocessing

FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(["tests.warm"])
