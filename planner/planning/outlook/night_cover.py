"""Chooses the fewest nights that hold all targets, and puts each into a slot of one of them.

A night is a row of slots, each long enough for one look. Which targets a set of nights can hold is
a matching of targets to slots; how many more a further night holds never grows as nights are
added, so that taking the best night again and again comes close to the fewest (Nemhauser, Wolsey
and Fisher 1978, Mathematical Programming 14, 265). Exchanges then save nights that it wasted.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from targets.arrays import Codes, Floats

Slot = tuple[int, int]
# Exchanges that are tried before the search for fewer nights is given up: our choice.
MOST_EXCHANGES = 2000
TABU_NIGHTS = 4
# What a slot costs that does not serve: more than any choice among those that do.
NO_SLOT = 1e3


@dataclass
class _Placing:
    """Which target each slot of the chosen nights holds; as many as can be."""

    serves: Sequence[Sequence[Codes]]
    held: dict[Slot, int] = field(default_factory=dict)
    slot_of: dict[int, Slot] = field(default_factory=dict)
    nights: set[int] = field(default_factory=set)

    def copy(self) -> _Placing:
        return _Placing(self.serves, dict(self.held), dict(self.slot_of), set(self.nights))

    def add(self, night: int) -> int:
        """Open a night; return how many more targets are placed."""
        self.nights.add(night)
        dead: set[Slot] = set()
        return sum(self._fill((night, k), dead) for k in range(len(self.serves[night])))

    def drop(self, night: int) -> None:
        """Close a night, and place its targets elsewhere as far as that goes."""
        self.nights.discard(night)
        for slot in [slot for slot in self.held if slot[0] == night]:
            del self.slot_of[self.held.pop(slot)]
        dead: set[Slot] = set()
        for other in self.nights:
            for k in range(len(self.serves[other])):
                if (other, k) not in self.held:
                    self._fill((other, k), dead)

    def load(self, night: int) -> int:
        """Count what a night holds."""
        return sum(1 for other, _ in self.held if other == night)

    def _fill(self, free: Slot, dead: set[Slot]) -> bool:
        """Fill a free slot, moving others along until one that had no place is in (one more)."""
        came_from: dict[Slot, tuple[Slot, int] | None] = {free: None}
        queue = deque([free])
        while queue:
            slot = queue.popleft()
            for target in self.serves[slot[0]][slot[1]]:
                left = self.slot_of.get(int(target))
                if left is None:
                    self._move_along(slot, int(target), came_from)
                    return True
                if left not in came_from and left not in dead:
                    came_from[left] = (slot, int(target))
                    queue.append(left)
        dead.update(came_from)
        return False

    def _move_along(
        self, slot: Slot, target: int, came_from: dict[Slot, tuple[Slot, int] | None]
    ) -> None:
        while True:
            self.held[slot], self.slot_of[target] = target, slot
            step = came_from[slot]
            if step is None:
                return
            slot, target = step


def fewest_nights(quality: Sequence[Floats]) -> tuple[int, ...]:
    """Choose few nights that hold all targets which any night can hold.

    Parameters
    ----------
    quality : sequence of ndarray
        For each night how well each of its slots shows each of N targets, 0 (not at all) .. 1;
        shape (N, slots of that night).

    Returns
    -------
    tuple of int
        The nights, in order.
    """
    if not quality:
        return ()
    serves = [[np.flatnonzero(night[:, k]) for k in range(night.shape[1])] for night in quality]
    can = np.array([night.any(axis=1) for night in quality])
    placing = _taken_greedily(serves, can)
    wanted = len(placing.slot_of)
    while (fewer := _one_night_fewer(placing, can, wanted)) is not None:
        placing = fewer
    return tuple(sorted(placing.nights))


def _taken_greedily(serves: Sequence[Sequence[Codes]], can: Codes) -> _Placing:
    """Take the night that places most, of equals the one with the rarest targets, and so on."""
    placing = _Placing(serves)
    rarity = 1.0 / np.maximum(can.sum(axis=0), 1)
    most = np.array(
        [min(len(slots), int(one.sum())) for slots, one in zip(serves, can, strict=True)]
    )
    while True:
        open_ones = np.array([t not in placing.slot_of for t in range(can.shape[1])])
        worth = (can * (rarity * open_ones)).sum(axis=1)
        best, best_gain = -1, 0
        for night in sorted(range(len(serves)), key=lambda n: (-most[n], -worth[n], n)):
            if most[night] <= best_gain:
                break
            most[night] = placing.copy().add(night)
            if most[night] > best_gain:
                best, best_gain = night, int(most[night])
        if best < 0:
            return placing
        placing.add(best)
        most[best] = 0


def _one_night_fewer(placing: _Placing, can: Codes, wanted: int) -> _Placing | None:
    """Hold as many targets in one night less, exchanging nights for as long as that gains."""
    sizes = sorted((len(slots) for slots in placing.serves), reverse=True)
    if not placing.nights or sum(sizes[: len(placing.nights) - 1]) < wanted:
        return None
    tries = MOST_EXCHANGES // len(placing.nights)
    for night in sorted(placing.nights, key=placing.load):
        trial = placing.copy()
        trial.drop(night)
        found = _exchanged(trial, can, wanted, tries)
        if found is not None:
            return found
    return None


def _exchanged(placing: _Placing, can: Codes, wanted: int, tries: int) -> _Placing | None:
    """Exchange single nights until all that is wanted has a place; None when that fails.

    Where no exchange places more, one that places as many is made. A night that has just gone does
    not come back at once (tabu search; Glover 1989, ORSA Journal on Computing 1, 190).
    """
    gone: deque[int] = deque(maxlen=TABU_NIGHTS)
    while len(placing.slot_of) < wanted:
        before, best = len(placing.slot_of), None
        left = [t for t in range(can.shape[1]) if t not in placing.slot_of and can[:, t].any()]
        useful = np.argsort(-can[:, left].sum(axis=1), kind="stable")
        for out in sorted(placing.nights, key=placing.load):
            without = placing.copy()
            without.drop(out)
            for night in (int(n) for n in useful if n not in placing.nights and n not in gone):
                if tries == 0:
                    return None
                tries -= 1
                trial = without.copy()
                trial.add(night)
                if best is None or len(trial.slot_of) > len(best[0].slot_of):
                    best = (trial, out)
            if best is not None and len(best[0].slot_of) > before:
                break
        if best is None:
            return None
        placing = best[0]
        gone.append(best[1])
    return placing


def best_slots(quality: Floats) -> Codes:
    """Give each target one slot: as many as can be, and of these ways the best.

    Parameters
    ----------
    quality : ndarray
        How well each of S slots shows each of N targets, 0 (not at all) .. 1; shape (N, S).

    Returns
    -------
    ndarray of int
        The slot of each target, (N,); -1 for none.

    Notes
    -----
    The assignment problem by shortest augmenting paths (Kuhn 1955; Jonker and Volgenant 1987,
    Computing 38, 325).
    """
    count, slots = quality.shape
    cost = np.full((count, max(slots, count)), NO_SLOT)
    cost[:, :slots] = np.where(quality > 0.0, 1.0 - quality, NO_SLOT)
    # Index 0 of columns and rows stands for "none", where each path begins.
    row_price, column_price = np.zeros(count + 1), np.zeros(cost.shape[1] + 1)
    row_at = np.zeros(cost.shape[1] + 1, dtype=np.intp)
    for row in range(1, count + 1):
        _assign_row(row, cost, row_price, column_price, row_at)
    found = np.full(count, -1, dtype=np.intp)
    columns = np.flatnonzero(row_at[1 : slots + 1])
    rows = row_at[1 + columns] - 1
    serves = quality[rows, columns] > 0.0
    found[rows[serves]] = columns[serves]
    return found


def _assign_row(
    row: int, cost: Floats, row_price: Floats, column_price: Floats, row_at: Codes
) -> None:
    """Assign one more row, along the cheapest path of moves to a free column."""
    nearest = np.full(len(row_at), np.inf)
    before = np.zeros(len(row_at), dtype=np.intp)
    done = np.zeros(len(row_at), dtype=bool)
    row_at[0], column = row, 0
    while row_at[column] != 0:
        done[column] = True
        here = row_at[column]
        step = np.full(len(row_at), np.inf)
        step[1:] = cost[here - 1] - row_price[here] - column_price[1:]
        closer = ~done & (step < nearest)
        nearest[closer], before[closer] = step[closer], column
        following = int(np.argmin(np.where(done, np.inf, nearest)))
        rise = nearest[following]
        row_price[row_at[done]] += rise
        column_price[done] -= rise
        nearest[~done] -= rise
        column = following
    while column:
        row_at[column] = row_at[before[column]]
        column = int(before[column])


def total_quality(quality: Floats, slots: Iterable[int]) -> float:
    """Return how good an assignment from `best_slots` is as a whole."""
    return float(sum(quality[row, slot] for row, slot in enumerate(slots) if slot >= 0))
