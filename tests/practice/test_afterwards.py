"""What a phone asks to tell the therapist first, by the clinic's own limit for pain."""

from __future__ import annotations

import pytest

from webapp.practice.afterwards import NOT_SAID, TELL, after_rows, pain_after
from webapp.practice.thresholds import RANGES, STANDARD

SEVERE = set(range(7, 11))  # 7 to 10 of 10 is severe: reference.md §5 [S48]


@pytest.mark.parametrize("limit", range(RANGES["pain_severe_n"][0], RANGES["pain_severe_n"][1] + 1))
def test_pain_is_told_first_from_the_limit_of_the_clinic_and_never_later_than_severe(limit: int) -> None:
    """What the therapist's list calls severe, the phone asks to tell; pain of 7 or more whatever the list says."""
    asked = {n for n, outcome in pain_after(limit).items() if outcome == TELL}
    assert asked == SEVERE | set(range(limit, 11))
    assert NOT_SAID not in asked


def test_the_tables_of_a_phone_are_keyed_by_what_its_records_hold() -> None:
    """An answer is looked up as text; without a clinic's limit the standard one holds."""
    assert after_rows()["pain_after"] == {str(n): outcome for n, outcome in pain_after(STANDARD.pain_severe_n).items()}
    assert {n for n, outcome in after_rows()["ended"].items() if outcome == TELL} == {"2", "4"}  # pain, unwell
