"""Lets looks wait for their better hour, where a session has time to spare.

The search puts each look as early as can be, which is right while looks compete for time. In a
session that is not full, a target that rises is then seen low although it could be seen high: here
the same looks get the times at which all of them together are worth most.
"""

from __future__ import annotations

import numpy as np

from planner.planning.scheduling.candidates import Order, Slot
from planner.planning.scheduling.pace import (
    BREAK_AFTER_MIN,
    BREAK_BEFORE_END_MIN,
    BREAK_MIN,
    WORTH_PER_MIN,
    Pace,
)
from targets.arrays import Codes, Floats

# A session with less time to spare is as good as full [min].
LEAST_SPARE_MIN = 20.0
# Waiting has to bring this share of what there is: nobody stands idle for a little (our choice).
LEAST_GAIN = 0.1


def with_waits(pace: Pace, order: Order, rows: Codes) -> Order:
    """Return an order with better times, or the same.

    Parameters
    ----------
    order : Order
        Played as early as can be.
    rows : ndarray of int
        Its looks.

    Returns
    -------
    Order
        Of the same looks, or of as many that are worth more, in the sequence of their best times.
    """
    if not len(rows) or _spare_min(pace, order) < LEAST_SPARE_MIN:
        return order
    found = [
        _timed(pace, one)
        for one in (rows, _by_hour(pace, rows), _by_hour(pace, _first(pace, rows)))
    ]
    best = max((one for one in found if one is not None), key=lambda one: one.worth, default=order)
    return best if best.worth >= (1.0 + LEAST_GAIN) * order.worth else order


def _by_hour(pace: Pace, rows: Codes) -> Codes:
    """Return looks in the sequence of their best times."""
    return rows[np.argsort([int(np.argmax(_worths(pace, row))) for row in rows], kind="stable")]


def _first(pace: Pace, rows: Codes) -> Codes:
    """Return the same number of looks, those that are worth most at their best.

    A search that cannot wait may have put something in between only to let time pass.
    """
    best = np.where(pace.open, pace.quality, 0.0).max(axis=1, initial=0.0)
    best[list(pace.beginning.done)] = 0.0
    return np.argsort(-best, kind="stable")[: len(rows)]


def _spare_min(pace: Pace, order: Order) -> float:
    used = sum(slot.end_min - slot.start_min + slot.way_min for slot in order.slots)
    used += sum(end - start for start, end in order.breaks)
    return pace.session.length_min - pace.beginning.minute - used


def _worths(pace: Pace, row: int) -> Floats:
    """Return what a look is worth that begins at each step, (T,); minus infinity where none can."""
    steps = np.arange(pace.steps)
    begin: Floats = np.asarray(steps * pace.session.step_min, dtype=np.float64)
    worth = pace.worth_of(np.full(pace.steps, row), begin, begin + pace.candidates.dwell_min[row])
    can = (pace.first_begin[row, :-1] == steps) & (begin >= pace.beginning.minute)
    return np.where(can, worth, -np.inf)


def _timed(pace: Pace, sequence: Codes) -> Order | None:
    """Return the best times of looks in a given sequence; None where they do not fit."""
    step_min, steps = pace.session.step_min, np.arange(pace.steps)
    begin = steps * step_min
    # From the last look back: the most that it and all after it are worth, from each step on.
    onward = np.zeros(pace.steps + 1)
    choices = []
    for place in range(len(sequence) - 1, -1, -1):
        row = int(sequence[place])
        value = _worths(pace, row)
        if place + 1 < len(sequence):
            end = begin + pace.candidates.dwell_min[row]
            way = pace.way_min(
                np.full(pace.steps, row), end, np.full(pace.steps, sequence[place + 1])
            )
            ready = np.ceil((end + way) / step_min).astype(int)
            after = np.append(onward[: pace.steps], -np.inf)[np.minimum(ready, pace.steps)]
            value = value + after - WORTH_PER_MIN * way
        best_from = np.maximum.accumulate(value[::-1])[::-1]
        choices.append(value)
        onward = np.append(best_from, -np.inf)
    choices.reverse()
    return _slots(pace, sequence, choices)


def _slots(pace: Pace, sequence: Codes, choices: list[Floats]) -> Order | None:
    """Go forward through the best begins, with breaks where they are due and there is room."""
    step_min, start = pace.session.step_min, pace.beginning
    now, rested, last = float(start.minute), float(start.rested_min), int(pace.last)
    slots, breaks, worth = list[Slot](), list[tuple[float, float]](), 0.0
    seen = pace.seen_before
    for row, value in zip(sequence.tolist(), choices, strict=True):
        way = float(pace.way_min(np.array(last), np.array(now), np.array(row)))
        is_due = now - rested >= BREAK_AFTER_MIN
        is_due &= pace.session.length_min - now > BREAK_MIN + BREAK_BEFORE_END_MIN
        ready = now + way + (BREAK_MIN if is_due else 0.0)
        first = int(np.ceil(ready / step_min - 1e-9))
        if first >= pace.steps or not np.isfinite(value[first:].max(initial=-np.inf)):
            return None
        step = first + int(np.argmax(value[first:]))
        begin, dwell = step * step_min, float(pace.candidates.dwell_min[row])
        if begin - ready >= BREAK_MIN:
            rested = begin
        elif is_due:
            rested = now + BREAK_MIN
            breaks.append((now, rested))
        kind = pace.candidates.kind[row]
        own = pace.worth_of(np.array(row), np.array(begin), np.array(begin + dwell))
        worth += float(own) - WORTH_PER_MIN * way - pace.repeat_worth * float(seen[kind])
        seen[kind] += 1.0
        slots.append(Slot(int(row), begin, begin + dwell, way))
        now, last = begin + dwell, row
    return Order(tuple(slots), tuple(breaks), worth)
