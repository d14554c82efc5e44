"""A pad place that leaves the choice to the client is to be decided before a plan goes home."""

from __future__ import annotations

import pytest

from tests.prescribing.invented import T, known, typed_draft
from webapp.prescribing.checking import check_draft
from webapp.prescribing.editing import apply_action
from webapp.stimulation.placement import MOVEMENTS
from webapp.translations import LANGUAGES, catalogue


@pytest.mark.parametrize(("name", "place"), [
    ("ch1.pad_b.place", "palm side of the wrist, or back of the hand"),
    ("ch1.pad_a.place", "Handgelenk oder Handrücken"), ("ch1.second_place", "dos de la main ou poignet")])
def test_a_place_that_names_two_stops_the_plan_at_its_field(name: str, place: str) -> None:
    """With its own words in the sentence; nothing is wrong with a word that only contains one of them."""
    draft = apply_action(typed_draft(), "save", known(), T)
    fine = check_draft(draft | {f"ex1.{name}": "top of the forearm, doors side"}, known())
    assert "undecided" not in {one.key for one in fine.exercises[0].troubles}
    checked = check_draft(draft | {f"ex1.{name}": place}, known())
    [trouble] = [one for one in checked.exercises[0].troubles if one.key == "undecided"]
    assert trouble.field == f"ex1.{name}"
    assert place in T(f"problem.{trouble.key}", **trouble.params)
    assert checked.stops == fine.stops + 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_places_that_are_offered_are_decided(language: str) -> None:
    """In each language: what is taken over unchanged can be issued."""
    texts, draft = catalogue(language), apply_action(typed_draft(), "save", known(), T)
    for one in MOVEMENTS:
        for key in (one.pads.first, one.pads.second):
            troubles = check_draft(draft | {"ex1.ch1.pad_a.place": texts[key]}, known()).exercises[0].troubles
            assert "undecided" not in {trouble.key for trouble in troubles}, key
