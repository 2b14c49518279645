"""Puts looks in order: which target when, with no overlap and room for slewing and changes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from planner.planning.scheduling.beam_search import best_sequence, most_promising
from planner.planning.scheduling.candidates import Beginning, Candidates, Order, Session, Slot
from planner.planning.scheduling.local_search import polish
from planner.planning.scheduling.pace import BREAK_MIN, Pace
from planner.planning.scheduling.waiting import with_waits
from targets.arrays import Codes, Flags

__all__ = [
    "Beginning",
    "Candidates",
    "Order",
    "Session",
    "Slot",
    "fits_alone",
    "let_wait",
    "order_looks",
    "play",
]

# How many of the best targets are tried; the others are worth less than all of these.
TRIED = 150


def order_looks(
    candidates: Candidates, session: Session, beginning: Beginning | None = None
) -> Order:
    """Choose looks and put them in time order.

    Setting targets come to stand first, rising ones last, and neighbours in the sky and in the
    eyepiece box together.

    Parameters
    ----------
    beginning : Beginning, optional
        Where the session stands; at its start when not given.

    Returns
    -------
    Order
        What is still to come. No two looks overlap; every look lies inside its window for its
        whole length.
    """
    beginning = beginning or Beginning()
    first = math.ceil(beginning.minute / session.step_min)
    done = np.array(beginning.done, dtype=np.intp)
    best = np.where(candidates.open, candidates.quality, 0.0)[:, first:].max(axis=1, initial=0.0)
    best[done] = 0.0
    promising = np.argsort(-best, kind="stable")[:TRIED]
    promising = promising[best[promising] > 0.0]
    if not promising.size:
        return Order((), (), 0.0)
    pace, rows = _pace_among(candidates, session, promising, beginning)
    sequence = polish(pace, best_sequence(pace), most_promising(pace)[: len(promising)])
    return _played(pace, sequence, names=rows)


def play(
    candidates: Candidates, session: Session, rows: Codes, beginning: Beginning | None = None
) -> Order:
    """Play a sequence of looks through, each as early as can be; those that do not fit drop out.

    Parameters
    ----------
    rows : ndarray of int
        The candidates in order; what is done already drops out too.
    beginning : Beginning, optional
        Where the session stands; at its start when not given.

    Returns
    -------
    Order
        The looks with their times.
    """
    beginning = beginning or Beginning()
    coming = np.array([row for row in rows if row not in beginning.done], dtype=np.intp)
    pace, names = _pace_among(candidates, session, coming, beginning)
    return _played(pace, np.arange(len(coming)), names=names)


def _pace_among(
    candidates: Candidates, session: Session, coming: Codes, beginning: Beginning
) -> tuple[Pace, Codes]:
    """Return the pace among some rows and what is done, and the row of each of its candidates."""
    rows = np.concatenate([coming, np.array(beginning.done, dtype=np.intp)])
    done = tuple(range(len(coming), len(rows)))
    return Pace(candidates.of_rows(rows), session, replace(beginning, done=done)), rows


def let_wait(candidates: Candidates, session: Session, order: Order) -> Order:
    """Let the looks of an order wait for their better hour, where there is time to spare.

    Parameters
    ----------
    candidates, session
        As ordered.
    order : Order
        Played as early as can be.
    """
    return with_waits(Pace(candidates, session), order, order.rows)


def fits_alone(candidates: Candidates, session: Session) -> Flags:
    """Tell for each candidate whether the session has room for it when there is no other, (N,)."""
    pace, start = Pace(candidates, session), np.zeros(1)
    return pace.follow(start, start, pace.finding_min, np.arange(len(candidates))).fits


def _played(pace: Pace, rows: Codes, *, names: Codes) -> Order:
    """Return the looks at rows with their times, each by its name."""
    slots, breaks, worth = list[Slot](), list[tuple[float, float]](), 0.0
    last, seen, start = np.array(pace.last), pace.seen_before, pace.beginning
    now, rested = np.array(start.minute), np.array(start.rested_min)
    for row in rows:
        way_min = pace.way_min(last, now, row)
        look = pace.follow(now, rested, way_min, row)
        if row in start.done or not look.fits:
            continue
        kind = pace.candidates.kind[row]
        worth += float(look.worth - look.way_worth - pace.repeat_worth * seen[kind])
        seen[kind] += 1.0
        last, now, rested = row, look.end_min, look.rested_min
        times = float(look.begin_min), float(look.end_min), float(way_min)
        slots.append(Slot(int(names[row]), *times))
        if look.pause_end_min > 0.0:
            pause_end = float(look.pause_end_min)
            breaks.append((pause_end - BREAK_MIN, pause_end))
    return Order(tuple(slots), tuple(breaks), worth)
