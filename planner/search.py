"""Searches for the sequence of looks that makes the most of a session.

A session grows look by look from many beginnings at once (a beam search along time). At each
step of time the beginnings that end there are compared by what they are worth and by what their
unseen targets may still bring; the best are carried on. What a target may still bring is its
worth at its best from then on, less the price of the time that it takes: the relaxation that
counts time as money instead of as a limit (common in scheduling).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.candidates import Codes, Floats
from planner.pace import REPEAT_WORTH, Pace

# How many beginnings are carried on from each step of time, and how many that grow from them are
# laid aside for later steps, for each price of time.
CARRIED = 25
LAID_ASIDE = 250
# A look is taken only when it adds more than this.
GAIN = 1e-6
# The price of time is raised by these: changes and repeats, which it leaves out, make time dearer.
# How much differs from night to night, so that two are tried side by side; found on real nights.
PRICE_FACTORS = (1.08, 1.3)
# Minutes from one look to the next beside the finding, to price the time of a look.
USUAL_CHANGE_MIN = 2.0

# A beginning: which one it grew from, its last look, what it is worth and what it may come to.
_GROWN = np.dtype(
    [
        ("parent", np.intp),
        ("row", np.intp),
        ("key", np.uint64),
        ("begin", np.float64),
        ("end", np.float64),
        ("rested", np.float64),
        ("pause_end", np.float64),
        ("gain", np.float64),
        ("worth", np.float64),
        ("promise", np.float64, len(PRICE_FACTORS)),
    ]
)
Grown = NDArray[Any]


class TrailStep(NamedTuple):
    """One look of a sequence: times [min], NaN for no break before it, and what it adds."""

    row: int
    begin_min: float
    end_min: float
    pause_end_min: float
    worth: float


@dataclass(frozen=True, slots=True)
class Prices:
    """What time and looks are worth, and what targets bring above that.

    ``bonus`` has shape (N, T + 1): of each target from each step on.
    """

    per_min: float
    per_look: float
    bonus: Floats


def best_trail(pace: Pace) -> list[TrailStep]:
    """Find the sequence of looks that is worth most; empty when none is worth anything."""
    search = _Search(pace)
    for step in range(search.first_step, pace.steps + 1):
        search.carry_on(step)
    return search.trail()


class _Search:
    """Beginnings of the session: all that were carried on, each with the one it grew from.

    Beginning 0 is where the session stands before any of them. Arrays have one entry for each.
    """

    def __init__(self, pace: Pace) -> None:
        self.pace, start, seen = pace, pace.beginning, pace.seen_before
        self.prices = [find_prices(pace, factor) for factor in PRICE_FACTORS]
        self.still_to_come = [prices.bonus.sum(axis=0) for prices in self.prices]
        count, most = len(pace.candidates), (pace.steps + 1) * CARRIED * len(self.prices) + 1
        self.grown = np.zeros(most, dtype=_GROWN)
        self.used = np.zeros((most, count), dtype=bool)
        self.seen = np.zeros((most, len(seen)))
        self.looks = np.zeros(most, dtype=np.intp)
        self.many = 1
        for name, value in zip(
            ("row", "end", "rested"), (pace.last, start.minute, start.rested_min), strict=True
        ):
            self.grown[name][0] = value
        self.used[0, pace.done] = True
        self.seen[0] = seen
        # A set of targets is told by the keys of its members, whatever their order.
        self.keys = np.random.default_rng(0).integers(1, 2**63, count, dtype=np.uint64)
        self.waiting: list[list[Grown]] = [[] for _ in range(pace.steps + 2)]
        self.best = self.grown[0]
        self.first_step = math.ceil(start.minute / pace.session.step_min)
        self._grow(np.array([0]), self.first_step)

    def carry_on(self, step: int) -> None:
        """Take the best of the beginnings that end at a step, and let them grow."""
        if not self.waiting[step]:
            return
        grown = np.concatenate(self.waiting[step], dtype=_GROWN)
        self.waiting[step] = []
        grown = grown[self._most_promising(grown)]
        own = np.arange(self.many, self.many + len(grown))
        self.many += len(grown)
        self.grown[own] = grown
        self.used[own] = self.used[grown["parent"]]
        self.used[own, grown["row"]] = True
        self.seen[own] = self.seen[grown["parent"]]
        self.seen[own, self.pace.candidates.kind[grown["row"]]] += 1.0
        self.looks[own] = self.looks[grown["parent"]] + 1
        self._grow(own, step)

    def trail(self) -> list[TrailStep]:
        """Give the looks of the best sequence of all, in time order."""
        steps, grown = [], self.best
        while grown["worth"] > 0.0:
            steps.append(
                TrailStep(
                    int(grown["row"]),
                    *(float(grown[name]) for name in ("begin", "end", "pause_end", "gain")),
                )
            )
            grown = self.grown[grown["parent"]]
        return steps[::-1]

    def _most_promising(self, grown: Grown) -> Codes:
        """Choose by promise, each set of targets with the same last one only once."""
        state = grown["key"] * np.uint64(len(self.keys)) + grown["row"].astype(np.uint64)
        chosen = []
        for promise in grown["promise"].T:
            order = np.argsort(-promise, kind="stable")
            _, first = np.unique(state[order], return_index=True)
            chosen.append(order[np.sort(first)[:CARRIED]])
        return np.unique(np.concatenate(chosen))

    def _grow(self, own: Codes, step: int) -> None:
        """Add every target to beginnings, where it fits and adds anything."""
        pace, limit = self.pace, self.pace.session.most_looks
        if limit is not None:
            own = own[self.looks[own] < limit]
        old = self.grown[own]
        every = np.arange(len(pace.candidates))
        ways = pace.ways_min(old["row"], old["end"])
        looks = pace.follow(old["end"][:, None], old["rested"][:, None], ways, every)
        repeats = REPEAT_WORTH * self.seen[own][:, pace.candidates.kind]
        gain = looks.worth - repeats - looks.way_worth
        parent, row = np.nonzero(looks.fits & ~self.used[own] & (gain > GAIN))
        if not row.size:
            return
        end, worth = looks.end_min[parent, row], old["worth"][parent] + gain[parent, row]
        promise = worth[:, None] + self._prospects(own, parent, row, end)
        cut = max(len(row) - LAID_ASIDE, 0)
        kept = np.unique(np.argpartition(promise, min(cut, len(row) - 1), axis=0)[cut:])
        parent, row = parent[kept], row[kept]
        grown = np.empty(len(row), dtype=_GROWN)
        grown["parent"], grown["row"] = own[parent], row
        grown["key"] = old["key"][parent] ^ self.keys[row]
        grown["begin"], grown["end"] = looks.begin_min[parent, row], end[kept]
        grown["rested"] = looks.rested_min[parent, row]
        grown["pause_end"] = np.broadcast_to(looks.pause_end_min, gain.shape)[parent, row]
        grown["gain"], grown["worth"] = gain[parent, row], worth[kept]
        grown["promise"] = promise[kept]
        self._lay_aside(grown, step)

    def _prospects(self, own: Codes, parent: Codes, row: Codes, end_min: Floats) -> Floats:
        """Give what unseen targets may still bring, less what is spent, for each price of time."""
        step, used = self._step_of(end_min), self.used[own].astype(float)
        low, high = int(step.min()), int(step.max()) + 1
        prospects = np.empty((len(row), len(self.prices)))
        for number, (prices, all_of_it) in enumerate(
            zip(self.prices, self.still_to_come, strict=True)
        ):
            gone = (used @ prices.bonus[:, low:high])[parent, step - low]
            spent = prices.per_min * end_min + prices.per_look * (self.looks[own][parent] + 1.0)
            prospects[:, number] = all_of_it[step] - gone - prices.bonus[row, step] - spent
        return prospects

    def _step_of(self, end_min: Floats) -> Codes:
        """Give the step from which a beginning with this end can go on."""
        return np.ceil(end_min / self.pace.session.step_min).astype(np.intp)

    def _lay_aside(self, grown: Grown, step: int) -> None:
        """Keep new beginnings until their time comes, and remember the best ever."""
        top = grown[np.argmax(grown["worth"])]
        if top["worth"] > self.best["worth"]:
            self.best = top
        ends = np.maximum(self._step_of(grown["end"]), step + 1)
        order = np.argsort(ends, kind="stable")
        edges = np.flatnonzero(np.diff(ends[order])) + 1
        for part in np.split(order, edges):
            self.waiting[ends[part[0]]].append(grown[part])


def find_prices(pace: Pace, factor: float) -> Prices:
    """Find what a minute is worth in this session, or a look where their number is limited.

    Parameters
    ----------
    pace : Pace
    factor : float
        Raises the price of time.

    Returns
    -------
    Prices
        The price of time is the worth per minute at which the best targets just fill the
        session; it is 0 when all of them fit, or when the number of looks is the limit.
    """
    best = _best_from(pace)
    if not len(best):
        return Prices(0.0, 0.0, best)
    first = min(math.ceil(pace.beginning.minute / pace.session.step_min), pace.steps)
    duration = pace.candidates.dwell_min + pace.finding_min + USUAL_CHANGE_MIN
    density = best[:, first] / duration
    order = np.argsort(-density, kind="stable")
    left_min = pace.session.length_min - pace.beginning.minute
    fitting = int(np.searchsorted(np.cumsum(duration[order]), left_min))
    limit = pace.session.most_looks
    per_min, per_look = 0.0, 0.0
    if limit is not None and limit < min(fitting, len(best)):
        per_look = float(np.sort(best[:, first])[::-1][limit])
    elif fitting < len(best):
        per_min = factor * float(density[order[fitting]])
    price = per_min * duration + per_look
    return Prices(per_min, per_look, np.maximum(best - price[:, None], 0.0))


def _best_from(pace: Pace) -> Floats:
    """Give the most that a look at each target from each step on is worth, (N, T + 1)."""
    begins = np.arange(pace.steps)
    half = np.round(pace.candidates.dwell_min / 2.0 / pace.session.step_min).astype(int)
    middle = np.minimum(begins + half[:, None], pace.steps - 1)
    worth = np.take_along_axis(pace.quality, middle, axis=1)
    worth = np.where(pace.first_begin[:, :-1] == begins, worth, 0.0)
    worth = np.pad(worth, ((0, 0), (0, 1)))
    worth[pace.done] = 0.0
    return np.asarray(np.maximum.accumulate(worth[:, ::-1], axis=1)[:, ::-1])
