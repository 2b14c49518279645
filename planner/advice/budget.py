"""Chooses among candidates with costs of the observer's own what fits a budget."""

from __future__ import annotations

from collections.abc import Sequence

from planner.advice.ladder_set import Rungs


def within_budget(
    rungs: Rungs, costs: Sequence[float], budget: float, *, kept: Sequence[int] = ()
) -> tuple[int, ...]:
    """Return the candidates that are worth most together and cost no more than a budget.

    Parameters
    ----------
    rungs : Rungs
        Its ladder plays no part.
    costs : sequence of float
        Of each, in any unit; 0 for what is kept.
    budget : float
        In the same unit.
    kept : sequence of int
        What is in the set whatever it is worth.

    Notes
    -----
    The better of two: always the one next that adds most, and always the one that adds most for its
    cost (S. Khuller, A. Moss and J. Naor 1999, Information Processing Letters 70, 39); then
    members are exchanged as long as that gains.
    """
    chosen = [_greedy(rungs, costs, budget, kept, by_cost=by_cost) for by_cost in (False, True)]
    return tuple(_exchanged(rungs, costs, budget, kept, max(chosen, key=rungs.value)))


def _greedy(
    rungs: Rungs, costs: Sequence[float], budget: float, kept: Sequence[int], *, by_cost: bool
) -> list[int]:
    members, left = list(kept), budget
    while True:
        worth = rungs.value(members)
        rest = [k for k in range(len(costs)) if k not in members and costs[k] <= left]
        gains = {k: rungs.value([*members, k]) - worth for k in rest}
        gains = {k: gain for k, gain in gains.items() if gain > 0.0}
        if not gains:
            return members
        best = max(gains, key=lambda k: gains[k] / max(costs[k], 1e-9) if by_cost else gains[k])
        members.append(best)
        left -= costs[best]


def _exchanged(
    rungs: Rungs, costs: Sequence[float], budget: float, kept: Sequence[int], members: list[int]
) -> list[int]:
    while True:
        worth = rungs.value(members)
        tries = [
            [*(m for m in members if m != old), new]
            for old in members
            if old not in kept
            for new in range(len(costs))
            if new not in members
        ]
        fitting = [t for t in tries if sum(costs[k] for k in t) <= budget]
        best = max(fitting, key=rungs.value, default=members)
        if rungs.value(best) <= worth * (1.0 + 1e-9):
            return members
        members = best
