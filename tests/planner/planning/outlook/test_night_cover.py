"""The fewest nights that hold a list, against solvers that have nothing to do with ours."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from planner.planning.outlook.night_cover import best_slots, fewest_nights


def a_season(seed: int) -> list[Any]:
    """Return nights with slots and targets spread over a year, a few of them under the Moon."""
    rng = np.random.default_rng(seed)
    targets, nights, slots = rng.integers(10, 25), rng.integers(10, 25), rng.integers(3, 6)
    place, half = rng.uniform(0.0, 1.0, targets), rng.uniform(0.04, 0.13, targets)
    found = []
    for night in range(nights):
        sky = (night / nights + np.arange(slots) * 0.17 / slots) % 1.0
        apart = np.abs((place[:, None] - sky + 0.5) % 1.0 - 0.5)
        shown = (apart < half[:, None]) & (rng.uniform() > 0.4)
        found.append(np.where(shown, 1.0 - apart, 0.0))
    return found


def most_placed(nights: list[Any]) -> int:
    """Return how many targets so many nights hold at most (scipy's assignment)."""
    if not nights:
        return 0
    serves = np.concatenate(nights, axis=1) > 0.0
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415  # slow to load

    rows, columns = linear_sum_assignment(~serves)
    return int(serves[rows, columns].sum())


def fewest_by_solver(nights: list[Any], wanted: int) -> int:
    """Return the fewest nights that hold so many targets (HiGHS, by way of scipy)."""
    looks = [
        (n, t, k) for n, night in enumerate(nights) for t, k in zip(*night.nonzero(), strict=True)
    ]
    targets, slots = len(nights[0]), nights[0].shape[1]
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415  # slow to load
    from scipy.sparse import lil_matrix  # noqa: PLC0415

    matrix = lil_matrix((targets + len(nights) * slots + 1, len(nights) + len(looks)))
    for column, (night, target, slot) in enumerate(looks, start=len(nights)):
        matrix[target, column] = 1
        matrix[targets + night * slots + slot, column] = 1
        matrix[-1, column] = 1
    for night in range(len(nights)):
        for slot in range(slots):
            matrix[targets + night * slots + slot, night] = -1
    most = np.concatenate([np.ones(targets), np.zeros(len(nights) * slots), [np.inf]])
    least = np.concatenate([np.full(len(most) - 1, -np.inf), [wanted]])
    cost = np.concatenate([np.ones(len(nights)), np.zeros(len(looks))])
    found = milp(
        cost,
        constraints=LinearConstraint(matrix.tocsr(), least, most),
        integrality=np.arange(len(cost)) < len(nights),
        bounds=Bounds(0, 1),
    )
    return round(found.fun)


def test_nights_are_within_five_percent_of_the_fewest() -> None:
    """Over twenty seasons; each holds all that the whole season can hold."""
    ours = solver = 0
    for seed in range(20):
        nights = a_season(seed)
        chosen = fewest_nights(nights)
        wanted = most_placed(nights)
        assert most_placed([nights[n] for n in chosen]) == wanted
        ours += len(chosen)
        solver += fewest_by_solver(nights, wanted)
    assert solver <= ours <= 1.05 * solver


@pytest.mark.parametrize("seed", range(20))
def test_slots_are_the_best_of_all_ways(seed: int) -> None:
    """As many targets as scipy's assignment places, and as well; more targets than slots too."""
    rng = np.random.default_rng(seed)
    shape = (rng.integers(1, 12), rng.integers(1, 12))
    quality = np.where(rng.uniform(size=shape) < 0.6, rng.uniform(0.05, 1.0, size=shape), 0.0)
    slots = best_slots(quality)
    placed = np.flatnonzero(slots >= 0)
    assert len(set(slots[placed])) == len(placed)
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415  # slow to load

    rows, columns = linear_sum_assignment(np.where(quality > 0.0, 1.0 - quality, 1000.0))
    best = quality[rows, columns]
    assert len(placed) == np.count_nonzero(best)
    np.testing.assert_allclose(quality[placed, slots[placed]].sum(), best.sum(), atol=1e-9)


def test_no_night_is_taken_where_none_shows_anything() -> None:
    """Nights without a target, and no nights at all."""
    assert fewest_nights([np.zeros((4, 3)), np.zeros((4, 2))]) == ()
    assert fewest_nights([]) == ()
