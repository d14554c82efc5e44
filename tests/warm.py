"""What a process imports and works out before servers are forked from it; threads must not be among it."""

from __future__ import annotations

import hibari  # type: ignore[import-untyped]  # noqa: F401
import pyloudnorm  # type: ignore[import-untyped]  # noqa: F401

import tests.browser.serve_clinic
import tests.trust.lives
import webapp.app
from webapp.returned_code import return_table
from webapp.speech.tones import TONE_NAMES, render_tone

READY = (tests.browser.serve_clinic, tests.trust.lives, webapp.app)

for name in TONE_NAMES:
    render_tone(name)
return_table()
