"""Chooses a few out of many so that every look has one that suits it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from targets.arrays import Floats

# A change must gain this share to be made: less is rounding, and would never end.
LEAST_GAIN = 1e-9


def set_value(score: Floats, weight: Floats, members: Sequence[int]) -> float:
    """Return what a set is worth: every look in the member that suits it best.

    Parameters
    ----------
    score : ndarray
        Of N looks with C candidates, shape (N, C).
    weight : ndarray
        Of the looks, shape (N,).
    members : sequence of int
        Candidates in the set.
    """
    return float(weight @ np.max(score[:, list(members)], axis=1, initial=0.0))


def choose_set(score: Floats, weight: Floats, count: int) -> tuple[int, ...]:
    """Choose candidates that are worth most together.

    Parameters
    ----------
    score, weight : ndarray
        As in `set_value`.
    count : int
        How many; at most all candidates.

    Returns
    -------
    tuple of int
        In rising order.

    Notes
    -----
    This is the facility location problem. One after the other, each time the one that gains most,
    reaches at least 1 - 1/e of the best (G. L. Nemhauser, L. A. Wolsey and M. L. Fisher 1978,
    Mathematical Programming 14, 265); members are then exchanged as long as that gains.
    """
    members: list[int] = []
    for _ in range(min(count, score.shape[1])):
        values = _values_with(score, weight, members)
        values[members] = -1.0
        members.append(int(np.argmax(values)))
    return tuple(sorted(_exchanged(score, weight, members)))


def best_addition(score: Floats, weight: Floats, members: Sequence[int]) -> tuple[int, float]:
    """Return the candidate that adds most to a set, and what the set is then worth."""
    values = _values_with(score, weight, members)
    best = int(np.argmax(values))
    return best, float(values[best])


def _values_with(score: Floats, weight: Floats, members: Sequence[int]) -> Floats:
    """Return what the set is worth with each candidate added, (C,)."""
    base = np.max(score[:, list(members)], axis=1, initial=0.0)
    return np.asarray(weight @ np.maximum(score, base[:, None]))


def _exchanged(score: Floats, weight: Floats, members: list[int]) -> list[int]:
    """Put others in the place of members, the best exchange first, until none gains."""
    members = list(members)
    value = set_value(score, weight, members)
    while True:
        tries = []
        for place in range(len(members)):
            others = members[:place] + members[place + 1 :]
            best, reached = best_addition(score, weight, others)
            tries.append((reached, place, best))
        reached, place, best = max(tries, default=(0.0, 0, 0))
        if reached <= value * (1.0 + LEAST_GAIN):
            return members
        members[place], value = best, reached
