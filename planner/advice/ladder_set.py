"""Chooses a set of eyepieces whose powers make a ladder: no step too small, none too wide."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import field
from itertools import pairwise

import numpy as np

from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen

# A change must gain this share to be made: less is rounding, and would never end.
LEAST_GAIN = 1e-9
# Between these the powers of a set follow each other (common practice).
LEAST_STEP, WIDEST_STEP = 1.3, 2.0
ROUNDING = 1.0 + 1e-9
# A set reaches the widest field with one so near to it, and what the air bears with a power less
# than a step below it (our choice).
WIDE_ENOUGH = 0.9
# A smaller barrel or a lighter eyepiece is preferred while all such exchanges together cost no more
# than this share of the set's worth: less than anybody notices.
SIMPLER_COSTS = 0.003
# How many beginnings of a ladder are carried on for each power that they end with.
CARRIED = 6

Members = tuple[int, ...]
# How many, what is kept, and how many come after them.
Asked = tuple[int, Members, int]


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


@frozen(eq=False)
class Rungs:
    """C eyepieces of which a set is made; arrays of shape (C,).

    Parameters
    ----------
    score, weight : ndarray
        As in `set_value`, (N, C) and (N,).
    power, field_deg : ndarray
        Of each alone.
    burden : ndarray
        By which of two that serve alike the simpler one is found.
    useful : ndarray of bool
        Whether one may be chosen: no light wasted, no power beyond what the air bears.
    factor : float
        Of the Barlow beside the set; 1 for none.
    amplified : ndarray of bool
        Which go into the Barlow.
    highest_power : float
        What the aperture and the air bear.
    apart : ndarray of bool
        Which two keep their distance; worked out from the others.
    widest_deg : float
        The widest field that may be chosen.
    reachable_power : float
        The highest power that can be made up to what the air bears.
    begun : dict
        Beginnings of ladders that have been found, by what they were asked with.
    """

    score: Floats
    weight: Floats
    power: Floats
    field_deg: Floats
    burden: Floats
    useful: Flags
    factor: float
    amplified: Flags
    highest_power: float
    apart: Flags = field(init=False)
    widest_deg: float = field(init=False)
    reachable_power: float = field(init=False)
    begun: dict[Asked, list[Members]] = field(init=False)

    def __post_init__(self) -> None:
        """Find how far all of them reach, and which keep their distance, Barlow included."""
        bare = self.power
        longer = np.where(self.amplified, self.factor * bare, np.nan)
        longer = np.where(longer <= self.highest_power, longer, np.nan)
        apart = np.ones((len(bare), len(bare)), dtype=bool)
        for one in (bare, longer):
            for other in (bare, longer):
                ratio = one[:, None] / other[None, :]
                apart &= ~(np.maximum(ratio, 1.0 / ratio) * ROUNDING < LEAST_STEP)
        object.__setattr__(self, "apart", apart)
        widest_deg = float(np.max(self.field_deg[self.useful], initial=0.0))
        object.__setattr__(self, "widest_deg", widest_deg)
        reachable = max(self.powers(np.flatnonzero(self.useful)), default=0.0)
        object.__setattr__(self, "reachable_power", reachable)
        object.__setattr__(self, "begun", {})

    def value(self, members: Sequence[int]) -> float:
        """Return what a set is worth."""
        return set_value(self.score, self.weight, members)

    def powers(self, members: Iterable[int]) -> list[float]:
        """Return the powers of a set up to what the air bears, Barlow included, in order."""
        bare = {float(self.power[k]) for k in members}
        longer = {self.factor * float(self.power[k]) for k in members if self.amplified[k]}
        return sorted(bare | {power for power in longer if power <= self.highest_power})


def stands_apart(rungs: Rungs, members: Sequence[int], more: int) -> bool:
    """Whether one more keeps its distance from all powers of a set, Barlow included."""
    return bool(rungs.apart[more, list(members)].all())


def is_ladder(rungs: Rungs, members: Sequence[int], kept: Sequence[int] = ()) -> bool:
    """Whether the steps of a set are neither too small nor too wide.

    Those that are kept are taken as they are: steps that they alone make may be small.
    """
    steps = [high / low for low, high in pairwise(rungs.powers(members))]
    if any(step > WIDEST_STEP * ROUNDING for step in steps):
        return False
    before = list(kept)
    for member in (m for m in members if m not in kept):
        if not stands_apart(rungs, before, member):
            return False
        before.append(member)
    return True


def covers(rungs: Rungs, members: Sequence[int]) -> bool:
    """Whether a set reaches from the widest useful field to what the air bears."""
    wide = float(np.max(rungs.field_deg[list(members)], initial=0.0))
    high = max(rungs.powers(members), default=0.0)
    return (
        wide >= WIDE_ENOUGH * rungs.widest_deg
        and high * LEAST_STEP * ROUNDING >= rungs.reachable_power
    )


def best_ladder(
    rungs: Rungs, count: int, *, kept: Sequence[int] = (), whole: bool = False
) -> tuple[int, ...] | None:
    """Choose the set that is worth most among those that make a ladder.

    Parameters
    ----------
    count : int
        How many, those that are kept included.
    kept : sequence of int
        What is in the set whatever it is worth.
    whole : bool
        Whether the set has to reach from the widest useful field to what the air bears.

    Returns
    -------
    tuple of int or None
        In order of power; None when there is no such set.

    Notes
    -----
    Ladders grow from the lowest power up; of those that end with one eyepiece the best few are
    carried on, with and without the widest field. Members are then exchanged as long as that gains,
    and simpler ones put in where it costs next to nothing.
    """
    found = [
        members
        for members in _grown(rungs, count, tuple(kept))
        if is_ladder(rungs, members, kept) and (not whole or covers(rungs, members))
    ]
    if not found:
        return None
    best = _exchanged(rungs, max(found, key=rungs.value), kept, whole=whole)
    return tuple(sorted(_simplified(rungs, best, kept, whole=whole), key=lambda k: rungs.power[k]))


def _grown(rungs: Rungs, size: int, kept: Members, *, left: int = 0) -> list[Members]:
    """Return promising ladders of so many members; their widest steps are not yet all judged.

    ``left`` says how many are still to come, for which those that are kept are waiting.
    """
    if not size:
        return [()]
    asked = size, kept, left if kept else 0
    if asked not in rungs.begun:
        before = _grown(rungs, size - 1, kept, left=left + 1)
        rungs.begun[asked] = _carried_on(rungs, before, kept, left=left)
    return rungs.begun[asked]


def _carried_on(
    rungs: Rungs, before: Sequence[Members], kept: Members, *, left: int
) -> list[Members]:
    """Return the best few ladders with one more member, for each end that they have."""
    wide = (rungs.field_deg >= WIDE_ENOUGH * rungs.widest_deg).tolist()
    following: dict[tuple[int, bool], list[tuple[float, Members, int]]] = {}
    for members in before:
        nexts = _nexts(rungs, members, kept, left=left)
        if not nexts.size:
            continue
        has_wide = any(wide[k] for k in members)
        for node, worth in zip(nexts.tolist(), _worths(rungs, members, nexts), strict=True):
            following.setdefault((node, has_wide or wide[node]), []).append((-worth, members, node))
    return [
        (*members, node)
        for entries in following.values()
        for _, members, node in sorted(entries)[:CARRIED]
    ]


def _nexts(rungs: Rungs, members: Members, kept: Members, *, left: int) -> Codes:
    """Return what may follow: above the last, not past one that is kept, not too near or far."""
    power, is_kept = rungs.power, np.zeros(len(rungs.power), dtype=bool)
    waiting = [k for k in kept if k not in members]
    is_kept[waiting] = True
    first = min((float(power[k]) for k in waiting), default=np.inf)
    free = rungs.useful & (power < first) & rungs.apart[[*members, *waiting]].all(axis=0)
    if left < len(waiting):
        free[:] = False
    may_follow = free | (is_kept & (power == first))
    if members:
        last = power[members[-1]]
        may_follow &= (power >= last) & (power <= WIDEST_STEP * rungs.factor * ROUNDING * last)
        may_follow[list(members)] = False
    return np.flatnonzero(may_follow)


def _worths(rungs: Rungs, members: Sequence[int], nodes: Sequence[int] | Codes) -> list[float]:
    """Return what a set is worth with each of some others beside it."""
    shown = np.max(rungs.score[:, list(members)], axis=1, initial=0.0)
    worths: list[float] = (
        rungs.weight @ np.maximum(rungs.score[:, nodes], shown[:, None])
    ).tolist()
    return worths


def _exchanged(
    rungs: Rungs, members: Sequence[int], kept: Sequence[int], *, whole: bool
) -> list[int]:
    """Put others in the place of members, the best exchange first, until none gains."""
    members, value = list(members), rungs.value(members)
    while True:
        changes = (
            _changes(rungs, members, place, kept, whole=whole) for place in range(len(members))
        )
        reached, other = max((one for each in changes for one in each), default=(0.0, members))
        if reached <= value * (1.0 + LEAST_GAIN):
            return members
        members, value = other, reached


def _simplified(rungs: Rungs, members: list[int], kept: Sequence[int], *, whole: bool) -> list[int]:
    """Put simpler ones in the place of members where it costs hardly more."""
    least = rungs.value(members) * (1.0 - SIMPLER_COSTS)
    for place in range(len(members)):
        simpler = [
            other
            for value, other in _changes(rungs, members, place, kept, whole=whole)
            if rungs.burden[other[place]] < rungs.burden[members[place]] and value >= least
        ]
        members = min(simpler, key=lambda other: rungs.burden[other[place]], default=members)
    return members


def _changes(
    rungs: Rungs, members: Sequence[int], place: int, kept: Sequence[int], *, whole: bool
) -> list[tuple[float, list[int]]]:
    """Return the ladders with another one in a place, and what they are worth."""
    if members[place] in kept:
        return []
    rest = [*members[:place], *members[place + 1 :]]
    sets = [
        [*members[:place], node, *members[place + 1 :]]
        for node in np.flatnonzero(rungs.useful).tolist()
        if node not in members and stands_apart(rungs, rest, node)
    ]
    sets = [s for s in sets if is_ladder(rungs, s, kept) and (not whole or covers(rungs, s))]
    return list(zip(_worths(rungs, rest, [s[place] for s in sets]), sets, strict=True))
