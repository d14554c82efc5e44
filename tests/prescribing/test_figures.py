"""The numbers beside the settings: those of the sketch, to the last digit."""

from __future__ import annotations

import pytest

from tests.prescribing.invented import T, known, typed_draft
from webapp.prescribing.checking import check_draft
from webapp.prescribing.electrical import share_of
from webapp.prescribing.figures import Figures, work_out_figures
from webapp.prescribing.finding_words import finding_text


def figures(**changed: str) -> Figures | None:
    """Works out the figures of the invented draft."""
    return work_out_figures(check_draft(typed_draft(**changed), known()).exercises[0], T)


def test_the_figures_are_rounded_with_their_units() -> None:
    """42 and 41 contractions in 20 minutes of 29 s cycles; charge, rms, density and power of 22 and 18 mA."""
    found = figures()
    assert found is not None
    assert [f.value for f in found.numbers] == ["42 · 41", "5:36 · 5:30 min", "8 : 21"]
    assert found.numbers[0].remark == "the end cuts one more off: not counted, but in the working time"
    assert [f.value for f in found.electrical] == [
        "5.5 · 4.5 µC", "2.91 · 2.38 mA", "0.116 · 0.0952 mA/cm²", "0.169 · 0.113 mW/cm²"]
    assert [f.at_ceiling for f in found.electrical] == [
        "7 · 6 µC", "3.7 · 3.17 mA", "0.148 · 0.127 mA/cm²", "0.274 · 0.202 mW/cm²"]
    assert found.hills[1][1] == (9000, 0)
    assert found.hills[1][2] == (10000, 1000)


@pytest.mark.parametrize(("value", "said"), [
    (50 / 8.6, "one eighth"), (25, "half"), (25.1, "51 %"),
    (50 / 43.9, "1/43"), (49.999, "100 %"), (50, "all or more")])  # fmt: skip
def test_a_share_of_a_limit_is_rounded_up(value: float, said: str) -> None:
    """Of one in 8.6 an eighth is said, never a ninth."""
    assert share_of(value, 50, T) == said


def test_what_the_client_can_reach_is_what_is_judged() -> None:
    """The strength is within 2 mA/cm² on a small pad, the ceiling is not: one finding, at the ceiling."""
    small = {f"ex1__ch1__pad_{pad}__{side}_cm": "1.4" for pad in "ab" for side in ("width", "height")}
    typed = typed_draft(**small, ex1__ch1__ceiling="40", ex1__ch1__most="40", ex1__ch1__moved="20")
    [found] = [one for one in check_draft(typed, known()).exercises[0].findings
               if one.finding.rule == "current_density"]
    assert (found.field, found.finding.severity) == ("ex1.ch1.ceiling", "caution")
    assert finding_text(found.finding, "", T).startswith("Channel 1 at its ceiling of 40 mA: 2.7 mA rms/cm²")


def test_the_electrical_figures_say_what_they_wait_for() -> None:
    """The field that can't be read, by its name; and what else was found stays."""
    typed = typed_draft(ex1__frequency_hz="-3", ex1__session_min="61", ex1__ch1__ceiling="20")
    checked = check_draft(typed, known()).exercises[0]
    found = work_out_figures(checked, T)
    assert found is not None
    assert found.nearest_limit == "Electrical figures wait for: Frequency."
    assert {one.finding.rule for one in checked.findings} >= {"unit_session_min", "above_ceiling"}


def test_the_hill_is_there_before_strengths_and_pads() -> None:
    """Then without electrical figures."""
    found = figures(ex1__ch1__intensity="", ex1__frequency_hz="x")
    assert found is not None
    assert len(found.hills) == 2
    assert found.electrical == ()


def test_impossible_times_have_no_hill() -> None:
    """The problem says why, no picture guesses."""
    assert figures(ex1__hold_s="long") is None
