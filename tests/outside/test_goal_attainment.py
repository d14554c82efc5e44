"""Goal attainment against its published formula.

Turner-Stokes L. Goal attainment scaling (GAS) in rehabilitation: a practical guide. Clin Rehabil 2009;23:362-370, with
its erratum: the printed formulas are wrong. The score itself: Kiresuk, Sherman, Community Ment Health J 1968;4:443
(from memory): a weighted sum of levels with variance 1 and pairwise correlation 0.3, put on a scale of mean 50 and
standard deviation 10. The expected figures are that arithmetic, to four decimals.
"""

from __future__ import annotations

from datetime import date
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.practice.goals import Attainment, Goal, attainment, baseline

DAY = date(2026, 9, 7)
WORDS = ("much less", "less", "as expected", "more", "much more")
FACTORS = {1: (1, 1), 2: (1, 2), 3: (1, 3), 4: (2, 2), 6: (2, 3), 9: (3, 3), 0: (0, 3)}


def goal(number: int, weight: int, level: int) -> Goal:
    importance, difficulty = FACTORS[weight]
    return Goal(number=number, words="w", levels=WORDS, importance=importance, difficulty=difficulty, baseline=level,
                set_on=DAY)


def scored(weights: tuple[int, ...], levels: tuple[int, ...]) -> Attainment:
    return baseline([goal(n, w, x) for n, (w, x) in enumerate(zip(weights, levels, strict=True))])


WORKED = [
    ((1,), (1,), 60.0), ((1,), (2,), 70.0), ((1,), (-1,), 40.0), ((1,), (-2,), 30.0),
    ((1, 1), (1, 1), 62.4035), ((1, 1), (1, 0), 56.2017), ((1, 1), (1, -1), 50.0), ((1, 1), (-1, -1), 37.5965),
    ((1, 1), (2, 2), 74.8069), ((1, 1), (-2, -2), 25.1931), ((1, 1, 1), (1, 1, 1), 63.6931),
    ((1, 1, 1), (-1, -1, -1), 36.3069), ((1, 1, 1), (1, 0, 0), 54.5644), ((1, 1, 1), (2, 1, 0), 63.6931),
    ((1,) * 4, (1,) * 4, 64.5095), ((1,) * 5, (1,) * 5, 65.0756), ((6, 2), (1, -1), 55.8222),
    ((2, 1, 1), (1, 0, -1), 53.3333), ((9, 4, 1), (0, 1, 2), 55.3158),
]  # fmt: skip


@pytest.mark.parametrize(("weights", "levels", "t_score"), WORKED)
def test_t_score_is_the_one_of_the_erratum(weights: tuple[int, ...], levels: tuple[int, ...], t_score: float) -> None:
    """Each worked example comes out to four decimals."""
    assert scored(weights, levels).t_score == pytest.approx(t_score, abs=5e-5)


def test_misprinted_forms_give_other_figures() -> None:
    """Forgetting the root, or the square of the summed weights, is seen by these examples."""
    found = scored((6, 2), (1, -1))
    without_root = 50 + 10 * found.sum_weighted / (0.7 * found.sum_squares + 0.3 * found.sum_weights**2)
    without_square = 50 + 10 * found.sum_weighted / sqrt(0.7 * found.sum_squares + 0.3 * found.sum_weights)
    assert found.t_score == pytest.approx(55.8222, abs=5e-5)
    assert abs(without_root - 55.8222) > 1
    assert abs(without_square - 55.8222) > 1


def test_change_is_achieved_less_baseline() -> None:
    """Two equal goals from −1 to +1 each change the score by 24.8069."""
    before, after = scored((1, 1), (-1, -1)).t_score, scored((1, 1), (1, 1)).t_score
    assert before is not None
    assert after is not None
    assert after - before == pytest.approx(24.8069, abs=5e-5)


@pytest.mark.parametrize("weights", [(), (0,), (0, 0)])
def test_no_weight_gives_no_score(weights: tuple[int, ...]) -> None:
    """Where every weight is zero the score is not defined, and none is given."""
    assert scored(weights, (1,) * len(weights)).t_score is None


@given(st.lists(st.tuples(st.sampled_from([1, 2, 3, 4, 6, 9]), st.sampled_from([-2, -1, 0, 1, 2])), min_size=1,
                max_size=8))
def test_spread_is_that_of_correlated_levels(drawn: list[tuple[int, int]]) -> None:
    """The root is the standard deviation of the weighted sum: √(w·R·w), where R has 0.3 beside its diagonal of ones."""
    weights, levels = tuple(w for w, _ in drawn), tuple(x for _, x in drawn)
    vector = np.array(weights, dtype=float)
    matrix = np.full((len(weights), len(weights)), 0.3) + 0.7 * np.eye(len(weights))
    found = scored(weights, levels)
    assert found.spread == pytest.approx(float(np.sqrt(vector @ matrix @ vector)))
    assert found.t_score == pytest.approx(50 + 10 * float(vector @ np.array(levels)) / found.spread)


def test_goal_without_review_counts_at_its_baseline() -> None:
    """Until a goal is reviewed its baseline stands; one that was set aside counts nowhere."""
    kept, aside = goal(1, 1, -1), goal(2, 9, 2)
    aside = Goal(number=2, words="w", levels=WORDS, importance=3, difficulty=3, baseline=2, set_on=DAY,
                 set_aside="moved house")
    assert aside.weight == 9
    assert attainment([kept, aside], [], DAY).t_score == 40.0
