"""New pads are due after so many sessions: counted on the phone since new ones were noted."""

from __future__ import annotations

from typing import Any

import pytest

from tests.client_pages.phone_modules import evaluate

NEW_PADS, BATTERY = {"kind": "changed", "record": {"what": 1}}, {"kind": "changed", "record": {"what": 2}}
DONE, HARDLY_BEGUN = ({"kind": "session", "record": {"cued_s": cued_s}} for cued_s in (1200, 20))


@pytest.mark.parametrize(("log", "lasts", "due"), [
    ([DONE] * 19, 20, 0), ([DONE] * 20, 20, 20), ([DONE] * 25, 20, 25), ([DONE] * 25, 0, 0),
    ([*[DONE] * 30, NEW_PADS, *[DONE] * 3], 20, 0), ([NEW_PADS, *[DONE] * 20, BATTERY], 20, 20),
    ([HARDLY_BEGUN] * 40, 20, 0), ([], 20, 0),
], ids=range(8))  # fmt: skip
def test_sessions_are_counted_since_the_last_new_pads(log: list[Any], lasts: int, due: int) -> None:
    """A new battery is no new pad; a session that hardly began wears nothing out; nobody said is never due."""
    assert evaluate("pads_due", "m.padsDue(plan, log)", plan={"pads_sessions": lasts}, log=log) == due
