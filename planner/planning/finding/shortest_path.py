"""The cheapest way through a net of moves."""

from __future__ import annotations

import numpy as np

from targets.arrays import Codes, Floats

# More moves than this nobody wants to make.
MOST_MOVES = 8


def cheapest_way(
    starts: Floats, begin: Codes, end: Codes, cost: Floats
) -> tuple[float, tuple[int, ...]]:
    """Return the cheapest way to the last node.

    Parameters
    ----------
    starts : ndarray
        What it costs to begin at each of M nodes, ``(M,)``; infinite where one cannot.
    begin, end : ndarray of int
        Nodes from which and to which each of E moves leads, ``(E,)``.
    cost : ndarray
        Of each move, above 0, ``(E,)``.

    Returns
    -------
    cost : float
        Infinite when no way leads there in eight moves.
    way : tuple of int
        The moves in order; empty when there is none.

    Notes
    -----
    All ways of one move more are tried at once, as Bellman and Ford do.

    References
    ----------
    Bellman 1958, "On a routing problem", Quarterly of Applied Mathematics 16, 87.
    """
    reached = starts.copy()
    for _ in range(MOST_MOVES):
        better = reached.copy()
        np.minimum.at(better, end, reached[begin] + cost)
        if np.array_equal(better, reached):
            break
        reached = better
    return float(reached[-1]), _moves_back(reached, starts, begin, end, cost)


def _moves_back(
    reached: Floats, starts: Floats, begin: Codes, end: Codes, cost: Floats
) -> tuple[int, ...]:
    """Return the moves of the cheapest way to the last node, found from its end."""
    way, node = list[int](), len(starts) - 1
    while reached[node] < starts[node]:
        moves = np.flatnonzero(end == node)
        move = int(moves[np.argmin(reached[begin[moves]] + cost[moves])])
        way.append(move)
        node = int(begin[move])
    return tuple(reversed(way))
