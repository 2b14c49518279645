"""Polishes a sequence of looks: tries every small change at once, takes the best, and again."""

from __future__ import annotations

import numpy as np

from planner.planning.scheduling.pace import Pace
from targets.arrays import Codes, Floats

# At most so many changes are made; to find each, some times so many looks are timed.
ROUNDS = 4
LOOKS_TRIED = 4000
# How many targets are tried for every look at every place in reach.
INSTEAD = 5
# A change is made only when it adds more than this.
GAIN = 1e-6


def polish(pace: Pace, rows: Codes, others: Codes) -> Codes:
    """Change a sequence for as long as a small change makes it better.

    A small change puts in a look, takes one out, puts one in another's stead or moves one to
    another place; the others follow as early as they can.

    Parameters
    ----------
    rows : ndarray of int
        The sequence.
    others : ndarray of int
        Targets that are tried in it, the most promising first.

    Returns
    -------
    ndarray of int
        A sequence that is worth as much or more.
    """
    worth = worth_of(pace, rows[None])[0]
    for _ in range(ROUNDS):
        share = LOOKS_TRIED // (len(rows) + 1) ** 2
        new = others[~np.isin(others, rows)][:share]
        trials = _changes(rows, new, reach=share // 2, most=pace.session.most_looks)
        worths = worth_of(pace, trials)
        best = int(np.argmax(worths))
        if worths[best] <= worth + GAIN:
            break
        rows, worth = trials[best][trials[best] >= 0], worths[best]
    return rows


def worth_of(pace: Pace, rows: Codes) -> Floats:
    """Return what sequences are worth.

    Parameters
    ----------
    rows : ndarray of int
        B sequences of up to L looks, shape (B, L); -1 after the last of each.

    Returns
    -------
    ndarray
        Shape (B,); minus infinity where a look does not fit.
    """
    many, kind = len(rows), pace.candidates.kind
    last = np.full(many, pace.last)
    now, rested = np.full(many, pace.beginning.minute), np.full(many, pace.beginning.rested_min)
    worth, own = np.zeros(many), np.arange(many)
    seen = np.tile(pace.seen_before, (many, 1))
    for row in rows.T:
        looks = pace.follow(now, rested, pace.way_min(last, now, row), row)
        gain = looks.worth - looks.way_worth - pace.repeat_worth * seen[own, kind[row]]
        worth += np.where(row < 0, 0.0, np.where(looks.fits, gain, -np.inf))
        seen[own, kind[row]] += 1.0
        last, now, rested = row, looks.end_min, looks.rested_min
    return worth


def _changes(rows: Codes, new: Codes, *, reach: int, most: int | None) -> Codes:
    """Return a sequence of L looks and every small change of it, (B, L + 1); -1 for no look."""
    many = len(rows)
    parts = [np.append(rows, -1)[None]]
    if most is None or many < most:
        place = np.repeat(np.arange(many + 1), len(new))
        parts.append(_inserted(np.tile(rows, (len(place), 1)), place, np.tile(new, many + 1)))
    if many:
        without = np.stack([np.delete(rows, place) for place in range(many)])
        parts.append(np.pad(without, ((0, 0), (0, 2)), constant_values=-1))
        places = np.arange(many)
        taken, place = np.nonzero(np.abs(places[:, None] - places) <= reach)
        instead = np.concatenate([rows[taken], np.repeat(new[:INSTEAD], len(taken))])
        again = 1 + len(new[:INSTEAD])
        taken, place = np.tile(taken, again), np.tile(place, again)
        moved = _inserted(without[taken], place, instead)
        parts.append(np.pad(moved, ((0, 0), (0, 1)), constant_values=-1))
    return np.concatenate(parts)


def _inserted(rows: Codes, place: Codes, new: Codes) -> Codes:
    """Put a look into each sequence of (B, L) at its own place, (B, L + 1)."""
    index = np.arange(rows.shape[1] + 1)
    source = index - (index > place[:, None])
    longer = np.take_along_axis(np.pad(rows, ((0, 0), (0, 1))), source, axis=1)
    longer[np.arange(len(rows)), place] = new
    return longer
