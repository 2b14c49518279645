"""The best order of looks by an exact solver, or a bound that no order can pass.

The objective is the planner's: the worth of the looks, less the ways there, less the repeats of a
kind, along a path through the network of `exact_network` that comes to no target twice.

The network is too large to be solved as it is. First, prices for a second look at a target and for
looks of a kind (Lagrange multipliers) turn the problem into a longest path, which is a bound, and
show which arcs cannot be in any order as good as a known one: those go (reduced cost fixing). What
is left goes to CP-SAT of OR-tools, which proves the best order or gives a bound of its own.

References
----------
Fisher, M. L. (1981), The Lagrangian relaxation method for solving integer programming problems,
Management Science 27, 1-18.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from exact_network import Network, build_network

from planner.planning.scheduling.pace import REPEAT_WORTH, Pace
from targets.arrays import Codes, Flags, Floats

# The solver counts in whole numbers: a millionth of a showpiece.
UNIT = 1e-6
# The prices move at first by the whole way that would close the gap to the known order, by half as
# much whenever the bound has not fallen for some rounds.
ROUNDS = 400
FIRST_STRIDE = 1.0
LEAST_STRIDE = 1e-3
PATIENCE = 12
# Above this many arcs the solver is not asked: in a minute it would not better the bound.
MOST_ARCS = 60_000


class Answer(NamedTuple):
    """Worth of the best order that was found, the bound that none passes, and whether they meet."""

    worth: float
    bound: float
    proven: bool


class Prices(NamedTuple):
    """What a look at each target costs in the relaxed problem, (N,), and what that gives back."""

    price: Floats
    given_back: float


def solve(pace: Pace, known: Sequence[int], *, seconds: float) -> Answer:
    """Find the best order, or a bound.

    Parameters
    ----------
    pace : Pace
        With looks that last whole minutes, and as many of them as fit.
    known : sequence of int
        Rows of an order that is known, in its order; what is worth less is not looked at.
    seconds : float
        Time limit of the solver [s].

    Returns
    -------
    Answer
    """
    network = build_network(pace)
    nodes = [0]
    for row in known:
        nodes.append(int(network.head[nodes[-1], row]))
    gains = [float(network.worth[a, network.row[b]]) for a, b in pairwise(nodes)]
    worth = sum(gains) - _repeats_of(pace, known)
    relaxation = Relaxation(network, pace)
    bound, prices = relaxation.tighten(worth)
    matter = relaxation.arcs_that_matter(prices, worth)
    if matter.sum() > MOST_ARCS:
        return Answer(worth, bound, proven=False)
    model = _Model(pace, network, matter)
    model.hint(set(pairwise(nodes)))
    found = model.solve(seconds=seconds)
    return found._replace(worth=max(found.worth, worth), bound=min(found.bound, bound))


def _repeats_of(pace: Pace, rows: Sequence[int]) -> float:
    seen, cost = pace.seen_before, 0.0
    for kind in pace.candidates.kind[list(rows)]:
        cost += REPEAT_WORTH * seen[kind]
        seen[kind] += 1.0
    return cost


class Relaxation:
    """The longest path through a network, on which a target may come twice, at a price."""

    def __init__(self, network: Network, pace: Pace) -> None:
        self.network, self.kind, self.seen = network, pace.candidates.kind, pace.seen_before
        self.twice = np.zeros(len(pace.candidates))
        self.kinds = np.zeros(len(self.seen))

    def prices(self) -> Prices:
        """Return the prices, and the repeats of each kind that would be best under them."""
        cost = self._repeats()
        saved = (self.kinds[:, None] * np.arange(cost.shape[1]) - cost).max(axis=1)
        return Prices(self.twice + self.kinds[self.kind], float(self.twice.sum() + saved.sum()))

    def _repeats(self) -> Floats:
        """Return what n looks of a kind cost, (kinds, n)."""
        many = np.arange(len(self.kind) + 1)
        return REPEAT_WORTH * (self.seen[:, None] * many + many * (many - 1) / 2.0)

    def values(self, price: Floats) -> Floats:
        """Return the most that can follow each node; the last entry is for no node."""
        value = np.full(len(self.network.row) + 1, -np.inf)
        for low, high in reversed(list(pairwise(self.network.edges))):
            along = self.network.worth[low:high] - price + value[self.network.head[low:high]]
            value[low:high] = np.maximum(along.max(axis=1), 0.0)
        return value

    def path(self, price: Floats, value: Floats) -> Codes:
        """Return the targets on the longest path."""
        node, rows = 0, []
        while value[node] > 0.0:
            along = self.network.worth[node] - price + value[self.network.head[node]]
            rows.append(int(np.argmax(along)))
            node = self.network.head[node, rows[-1]]
        return np.array(rows, dtype=np.intp)

    def tighten(self, known: float) -> tuple[float, Prices]:
        """Move the prices as long as the bound falls; give the lowest and its prices."""
        lowest, best, stride, since = np.inf, self.prices(), FIRST_STRIDE, 0
        kept = self.twice, self.kinds
        for _ in range(ROUNDS):
            prices = self.prices()
            value = self.values(prices.price)
            bound = prices.given_back + float(value[0])
            since += 1
            if bound < lowest - UNIT:
                lowest, best, since, kept = bound, prices, 0, (self.twice, self.kinds)
            if lowest - known < UNIT or stride < LEAST_STRIDE:
                break
            if since > PATIENCE:
                stride, since = stride / 2.0, 0
                self.twice, self.kinds = kept
            else:
                self._move(self.path(prices.price, value), stride * (bound - known))
        return lowest, best

    def _move(self, rows: Codes, way: float) -> None:
        """Raise the prices of what the path has too much of, lower those of what it lacks."""
        cost = self._repeats()
        wanted = (self.kinds[:, None] * np.arange(cost.shape[1]) - cost).argmax(axis=1)
        twice = np.bincount(rows, minlength=len(self.kind)) - 1.0
        twice[(self.twice <= 0.0) & (twice < 0.0)] = 0.0
        kinds = np.bincount(self.kind[rows], minlength=len(self.seen)) - wanted
        norm = float(twice @ twice + kinds @ kinds)
        if norm > 0.0:
            self.twice = np.maximum(self.twice + way / norm * twice, 0.0)
            self.kinds = np.maximum(self.kinds + way / norm * kinds, 0.0)

    def arcs_that_matter(self, prices: Prices, known: float) -> Flags:
        """Tell which arcs can be part of an order that is worth as much as a known one, (M, N)."""
        network, value = self.network, self.values(prices.price)
        reach = np.full(len(network.row) + 1, -np.inf)
        reach[0] = 0.0
        matter = np.zeros(network.head.shape, dtype=bool)
        for low, high in pairwise(network.edges):
            head = network.head[low:high]
            here = reach[low:high, None] + network.worth[low:high] - prices.price
            matter[low:high] = (head >= 0) & (
                here + np.maximum(value[head], 0.0) + prices.given_back >= known - UNIT
            )
            np.maximum.at(reach, head[head >= 0], here[head >= 0])
        return matter


class _Model:
    """The arcs that matter as a problem for the solver: a path, no target twice, repeats."""

    def __init__(self, pace: Pace, network: Network, matter: Flags) -> None:
        from ortools.sat.python import cp_model  # noqa: PLC0415  # slow to load

        self.model = cp_model.CpModel()
        tails, rows = np.nonzero(matter)
        heads = network.head[tails, rows]
        self.arcs = list(zip(tails.tolist(), heads.tolist(), strict=True))
        self.takes = [self.model.new_bool_var("") for _ in self.arcs]
        self.at: dict[int, list[Any]] = defaultdict(list)
        for take, row in zip(self.takes, rows.tolist(), strict=True):
            self.at[row].append(take)
        for takes in self.at.values():
            self.model.add_at_most_one(takes)
        self._join()
        worth = [round(gain / UNIT) for gain in network.worth[tails, rows].tolist()]
        total = sum(gain * take for gain, take in zip(worth, self.takes, strict=True))
        self.model.maximize(total - self._repeats(pace))

    def _join(self) -> None:
        """Leave a node only when it was come to; a path begins once, and ends where it likes."""
        into, out_of = defaultdict(list), defaultdict(list)
        for take, (tail, head) in zip(self.takes, self.arcs, strict=True):
            out_of[tail].append(take)
            into[head].append(take)
        for node, takes in out_of.items():
            self.model.add(sum(takes) <= (sum(into[node]) if node else 1))

    def _repeats(self, pace: Pace) -> Any:  # the solver's sums have no common type
        """Return what the looks of each kind cost: the first, the second, ... each a switch."""
        cost: Any = 0
        for kind, before in enumerate(pace.seen_before.tolist()):
            mine = [takes for row, takes in self.at.items() if pace.candidates.kind[row] == kind]
            if mine:
                switches = [self.model.new_bool_var("") for _ in mine]
                self.model.add(sum(take for takes in mine for take in takes) == sum(switches))
                for number, switch in enumerate(switches):
                    cost += round(REPEAT_WORTH * (before + number) / UNIT) * switch
        return cost

    def hint(self, known: set[tuple[int, int]]) -> None:
        """Tell the solver of an order to begin with."""
        for take, arc in zip(self.takes, self.arcs, strict=True):
            self.model.add_hint(take, arc in known)

    def solve(self, *, seconds: float) -> Answer:
        """Ask the solver; it may find nothing in the time."""
        from ortools.sat.python import cp_model  # noqa: PLC0415  # slow to load

        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 2
        solver.parameters.random_seed = 1
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Answer(0.0, np.inf, proven=False)
        proven = status == cp_model.OPTIMAL
        return Answer(solver.objective_value * UNIT, solver.best_objective_bound * UNIT, proven)
