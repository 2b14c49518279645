"""Searches for the sequence of looks that makes the most of a session.

A session grows look by look from many beginnings at once (a beam search along time). At each
step of time the beginnings that end there are compared by what they are worth and by what their
unseen targets may still bring; the best are carried on. What a target may still bring is its
worth at its best from then on, less the price of the time that it takes and of one more look at
its kind: a relaxation that counts time as money instead of as a limit (common in scheduling).
"""

from __future__ import annotations

import math
import random
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.planning.scheduling.pace import Pace
from planner.planning.scheduling.prices import Prices, find_prices
from targets.arrays import Codes, Floats

# How many beginnings are carried on in all, for each price of time. A step takes as long as so many
# of them whatever is carried on: shared out like that, a long session takes little more time than
# a short one, and a short one is searched more widely, between these limits for one step.
CARRIED_IN_ALL = 2400
STEP_COUNTS = 30
LEAST_CARRIED, MOST_CARRIED = 10, 90
# How many that grow from one step are laid aside for later ones, for each that is carried on.
LAID_ASIDE = 10
# A look is taken only when it adds more than this.
GAIN = 1e-6
# The price of time is raised by these: what it leaves out makes time dearer.
# How much differs from night to night, so that two are tried side by side; found on real nights.
PRICE_FACTORS = (1.08, 1.3)

# A beginning: which one it grew from, its last look, what it is worth, what it would be worth if
# every look paid the price of repeats, and what that may come to.
_GROWN = np.dtype(
    [
        ("parent", np.intp),
        ("row", np.intp),
        ("key", np.uint64),
        ("end", np.float64),
        ("rested", np.float64),
        ("worth", np.float64),
        ("priced", np.float64),
        ("promise", np.float64, len(PRICE_FACTORS)),
    ]
)
Grown = NDArray[Any]


def best_sequence(pace: Pace, *, breadth: float = 1.0) -> Codes:
    """Find the sequence of looks that is worth most; empty when none is worth anything.

    Parameters
    ----------
    breadth : float
        Share of the beginnings that are carried on, above 0: fewer take less time.
    """
    search = _Search(pace, breadth)
    for step in range(search.first_step, pace.steps + 1):
        search.carry_on(step)
    return search.rows()


def most_promising(pace: Pace) -> Codes:
    """Put the targets in order of what they bring above the price of their time, (N,)."""
    first = min(math.ceil(pace.beginning.minute / pace.session.step_min), pace.steps)
    return np.argsort(-find_prices(pace, PRICE_FACTORS)[0].bonus[:, first], kind="stable")


class _Search:
    """Beginnings of the session: all that were carried on, each with the one it grew from.

    Beginning 0 is where the session stands before any of them. Arrays have one entry for each.
    """

    def __init__(self, pace: Pace, breadth: float) -> None:
        self.pace, start, seen = pace, pace.beginning, pace.seen_before
        self.prices = find_prices(pace, PRICE_FACTORS)
        self.first_step = math.ceil(start.minute / pace.session.step_min)
        steps = max(pace.steps + 1 - self.first_step, 1)
        share = int(breadth * CARRIED_IN_ALL) // steps - STEP_COUNTS
        self.carried = min(max(share, LEAST_CARRIED), MOST_CARRIED)
        count, most = len(pace.candidates), steps * self.carried * len(self.prices) + 1
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
        self.keys = _keys(count)
        # What waits for its time to come, and the step at which it does.
        self.waiting = np.empty((steps + 1) * LAID_ASIDE * self.carried, dtype=_GROWN)
        self.due = np.full(len(self.waiting), -1, dtype=np.intp)
        self.laid_aside = 0
        self.best = self.grown[0]
        self._grow(slice(0, 1), self.first_step)

    def carry_on(self, step: int) -> None:
        """Take the best of the beginnings that end at a step, and let them grow."""
        grown = self.waiting[np.flatnonzero(self.due[: self.laid_aside] == step)]
        if not grown.size:
            return
        grown = grown[self._most_promising(grown)]
        own = slice(self.many, self.many + len(grown))
        self.many = own.stop
        parents: Codes = grown["parent"]
        rows: Codes = grown["row"]
        each = np.arange(len(grown))
        self.grown[own] = grown
        self.used[own] = self.used[parents]
        self.used[own][each, rows] = True
        self.seen[own] = self.seen[parents]
        self.seen[own][each, self.pace.candidates.kind[rows]] += 1.0
        self.looks[own] = self.looks[parents] + 1
        self._grow(own, step)

    def rows(self) -> Codes:
        """Return the looks of the best sequence of all, in time order."""
        rows, grown = [], self.best
        while grown["worth"] > 0.0:
            rows.append(int(grown["row"]))
            grown = self.grown[grown["parent"]]
        return np.array(rows[::-1], dtype=np.intp)

    def _most_promising(self, grown: Grown) -> Codes:
        """Choose by promise, each set of targets with the same last one only once."""
        state = grown["key"] * np.uint64(len(self.keys)) + grown["row"].astype(np.uint64)
        order = (-grown["promise"][:, 0]).argsort(kind="stable")
        by_state = order[state[order].argsort(kind="stable")]
        is_first = np.ones(len(order), dtype=bool)
        np.not_equal(state[by_state[1:]], state[by_state[:-1]], out=is_first[1:])
        single = by_state[is_first]
        if len(single) <= self.carried:
            return np.sort(single)
        is_best = np.zeros(len(grown), dtype=bool)
        for promise in -grown["promise"][single].T:
            is_best[single[promise.argsort(kind="stable")[: self.carried]]] = True
        return np.flatnonzero(is_best)

    def _grow(self, own: slice, step: int) -> None:
        """Add every target to beginnings, where it fits and adds anything."""
        pace, old, every = self.pace, self.grown[own], np.arange(len(self.pace.candidates))
        if not every.size:
            return
        ends = old["end"][:, None]
        ways = pace.way_min(old["row"][:, None], ends, every)
        looks = pace.follow(ends, old["rested"][:, None], ways, every)
        net = looks.worth - looks.way_worth
        gain = net - pace.repeat_worth * self.seen[own].take(pace.candidates.kind, axis=1)
        priced = old["priced"][:, None] + net - self.prices[0].of_repeats
        end_step = self._step_of(looks.end_min)
        promises = [
            priced + self._prospects(prices, own, looks.end_min, end_step) for prices in self.prices
        ]
        refused = ~looks.fits | self.used[own] | (gain <= GAIN)
        if pace.session.most_looks is not None:
            refused[self.looks[own] >= pace.session.most_looks] = True
        promises[0][refused] = -np.inf
        places = _greatest(promises[0], LAID_ASIDE * self.carried)
        if not places.size:
            return
        parent, row = np.divmod(places, len(every))
        grown = np.empty(len(places), dtype=_GROWN)
        grown["parent"], grown["row"] = own.start + parent, row
        grown["key"] = old["key"][parent] ^ self.keys[row]
        grown["end"], grown["rested"] = looks.end_min.take(places), looks.rested_min.take(places)
        grown["worth"] = old["worth"][parent] + gain.take(places)
        grown["priced"] = priced.take(places)
        for number, promise in enumerate(promises):
            grown["promise"][:, number] = promise.take(places)
        self._lay_aside(grown, np.maximum(end_step.take(places), step + 1))

    def _prospects(self, prices: Prices, own: slice, end_min: Floats, end_step: Codes) -> Floats:
        """Return what unseen targets may still bring, less what is spent, at one of the prices.

        Of beginnings, the first axis, with every target added, the second.
        """
        first = int(end_step.min())
        gone = self.used[own].astype(float) @ prices.bonus[:, first:]
        parent, row = np.arange(len(gone))[:, None], np.arange(len(prices.others))
        # Flat indices: this is where the time of the search goes.
        prospects = prices.others.take(row * prices.others.shape[1] + end_step)
        prospects -= gone.take(parent * gone.shape[1] - first + end_step)
        prospects -= prices.per_min * end_min
        if prices.per_look:
            prospects -= prices.per_look * (self.looks[own][:, None] + 1.0)
        return np.asarray(prospects)

    def _step_of(self, end_min: Floats) -> Codes:
        """Return the step from which a beginning with this end can go on; the last one for none."""
        step = np.ceil(end_min / self.pace.session.step_min).astype(np.intp)
        return np.minimum(step, self.pace.steps)

    def _lay_aside(self, grown: Grown, due: Codes) -> None:
        """Keep new beginnings until the step that each can go on from; remember the best ever."""
        top = grown[grown["worth"].argmax()]
        if top["worth"] > self.best["worth"]:
            self.best = top
        places = slice(self.laid_aside, self.laid_aside + len(grown))
        self.waiting[places], self.due[places] = grown, due
        self.laid_aside = places.stop


@cache
def _keys(count: int) -> NDArray[np.uint64]:
    """Return targets keys: a set of them is told by those of its members, whatever their order."""
    dice = random.Random(0)  # noqa: S311  # not for secrets; numpy's own takes 20 ms to load
    return np.array([dice.getrandbits(63) for _ in range(count)], dtype=np.uint64)


def _greatest(promise: Floats, count: int) -> Codes:
    """Find the flat places of the greatest values that are finite, row by row."""
    flat = promise.ravel()
    places = np.arange(flat.size)
    if flat.size > count:
        places = np.sort(flat.argpartition(-count)[-count:])
    return np.asarray(places[flat[places] > -np.inf])
