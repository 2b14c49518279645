"""Sets: greedy choice with exchanges beside trying everything, and what must hold of any set."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.advice.best_set import best_addition, choose_set, set_value

# Rounding of a sum of some hundred products.
ROUNDING = 1e-12


def random_scores(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Return 40 looks with 9 candidates."""
    random = np.random.default_rng(seed)
    return random.random((40, 9)) ** 2, random.random(40)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("seed", range(8))
def test_a_set_is_within_a_percent_of_the_best(seed: int, count: int) -> None:
    """Whatever the scores, against every set there is."""
    score, weight = random_scores(seed)
    best = max(set_value(score, weight, m) for m in combinations(range(9), count))
    chosen = choose_set(score, weight, count)
    assert len(set(chosen)) == count
    assert set_value(score, weight, chosen) >= 0.99 * best


def test_exchanges_mend_what_greed_gets_wrong() -> None:
    """The one that is fair at everything comes first, and is in the way of two specialists."""
    score = np.array([[1.0, 0.0, 0.7], [0.0, 1.0, 0.7]])
    assert choose_set(score, np.ones(2), 1) == (2,)
    assert choose_set(score, np.ones(2), 2) == (0, 1)


def test_a_value_is_reckoned_by_hand() -> None:
    """Look 1 in the first at 0.5, look 2 in the second at 0.8: 2 x 0.5 + 3 x 0.8 = 3.4."""
    score, weight = np.array([[0.5, 0.2], [0.1, 0.8]]), np.array([2.0, 3.0])
    assert_allclose(set_value(score, weight, [0, 1]), 3.4, rtol=ROUNDING)
    assert set_value(score, weight, []) == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_more_is_never_worth_less_and_gains_less_each_time(seed: int) -> None:
    """What is added gains no more than the one before it: the value is submodular."""
    score, weight = random_scores(seed)
    values = [set_value(score, weight, choose_set(score, weight, n)) for n in range(1, 6)]
    assert all(np.diff(values) >= -ROUNDING)
    members = list(choose_set(score, weight, 2))
    gains = []
    for _ in range(3):
        before = set_value(score, weight, members)
        added, value = best_addition(score, weight, members)
        assert_allclose(value, set_value(score, weight, [*members, added]), rtol=ROUNDING)
        gains.append(value - before)
        members.append(added)
    assert all(np.diff(gains) <= ROUNDING)


def test_more_than_there_are_is_all_there_are() -> None:
    """A count above the candidates is no fault."""
    score, weight = random_scores(1)
    assert choose_set(score, weight, 20) == tuple(range(9))
