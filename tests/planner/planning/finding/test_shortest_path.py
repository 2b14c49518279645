"""The cheapest way through a net, against every way there is."""

from __future__ import annotations

import heapq
from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.planning.finding.shortest_path import cheapest_way

NODES = 6
costs = st.integers(1, 20).map(float)
nets = st.dictionaries(
    st.tuples(st.integers(0, NODES - 1), st.integers(0, NODES - 1)).filter(lambda e: e[0] != e[1]),
    costs,
    min_size=1,
    max_size=20,
)
beginnings = st.dictionaries(st.integers(0, NODES - 2), costs, min_size=1)


def by_dijkstra(starts: dict[int, float], net: dict[tuple[int, int], float]) -> float:
    """The cost of the cheapest way to the last node, by another algorithm."""
    heap = [(cost, node) for node, cost in starts.items()]
    heapq.heapify(heap)
    done: set[int] = set()
    while heap:
        cost, node = heapq.heappop(heap)
        if node == NODES - 1:
            return cost
        if node not in done:
            done.add(node)
            for (begin, end), more in net.items():
                if begin == node:
                    heapq.heappush(heap, (cost + more, end))
    return float("inf")


@given(beginnings, nets)
@settings(max_examples=300)
def test_no_way_is_cheaper(starts: dict[int, float], net: dict[tuple[int, int], float]) -> None:
    """The cost is Dijkstra's, and the moves that are named lead there at that cost."""
    begin, end = np.array(list(net)).T
    cost = np.array(list(net.values()))
    start_costs = np.array([starts.get(node, np.inf) for node in range(NODES)])
    found, way = cheapest_way(start_costs, begin, end, cost)
    assert found == by_dijkstra(starts, net)
    if np.isfinite(found):
        assert end[way[-1]] == NODES - 1
        assert all(end[a] == begin[b] for a, b in pairwise(way))
        assert start_costs[begin[way[0]]] + cost[list(way)].sum() == found
    else:
        assert way == ()


def test_a_way_of_too_many_moves_is_none() -> None:
    """Nine moves in a row are one more than anybody wants to make."""
    count = 10
    starts = np.full(count, np.inf)
    starts[0] = 1.0
    found, way = cheapest_way(starts, np.arange(count - 1), np.arange(1, count), np.ones(count - 1))
    assert (found, way) == (np.inf, ())
