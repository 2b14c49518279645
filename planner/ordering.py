"""Puts looks in order: which target when, with no overlap and room for slewing and changes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from planner.candidates import Beginning, Candidates, Codes, Flags, Order, Session, Slot
from planner.pace import BREAK_MIN, REPEAT_WORTH, Pace
from planner.search import TrailStep, best_trail

__all__ = [
    "Beginning",
    "Candidates",
    "Order",
    "Session",
    "Slot",
    "fits_alone",
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
    candidates : Candidates
    session : Session
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
    rows = np.concatenate([promising, done])
    renamed = tuple(range(len(promising), len(rows)))
    start = replace(beginning, done=renamed)
    trail = best_trail(Pace(candidates.of_rows(rows), session, start))
    return _order(trail, names=rows)


def play(
    candidates: Candidates, session: Session, rows: Codes, beginning: Beginning | None = None
) -> Order:
    """Play a sequence of looks through, each as early as can be; those that do not fit drop out.

    Parameters
    ----------
    candidates, session
    rows : ndarray of int
        The candidates in order; what is done already drops out too.
    beginning : Beginning, optional
        Where the session stands; at its start when not given.

    Returns
    -------
    Order
        The looks with their times.
    """
    pace = Pace(candidates, session, beginning)
    seen, last = pace.seen_before, pace.last
    trail: list[TrailStep] = []
    now, rested = pace.beginning.minute, pace.beginning.rested_min
    for row in rows:
        way = pace.ways_min(np.array([last]), np.array([now]))[0, row]
        look = pace.follow(np.array(now), np.array(rested), way, row)
        if row in pace.beginning.done or not look.fits:
            continue
        kind = candidates.kind[row]
        worth = float(look.worth - REPEAT_WORTH * seen[kind] - look.way_worth)
        seen[kind] += 1.0
        last, now, rested = row, float(look.end_min), float(look.rested_min)
        trail.append(
            TrailStep(int(row), float(look.begin_min), now, float(look.pause_end_min), worth)
        )
    return _order(trail, names=np.arange(len(candidates)))


def fits_alone(candidates: Candidates, session: Session) -> Flags:
    """Tell for each candidate whether the session has room for it when there is no other, (N,)."""
    pace, start = Pace(candidates, session), np.zeros(1)
    way = pace.ways_min(np.array([-1]), start)[0]
    return pace.follow(start, start, way, np.arange(len(candidates))).fits


def _order(trail: list[TrailStep], *, names: Codes) -> Order:
    """Give a trail as looks with their times, each by its name."""
    return Order(
        slots=tuple(Slot(int(names[step.row]), step.begin_min, step.end_min) for step in trail),
        breaks=tuple(
            (step.pause_end_min - BREAK_MIN, step.pause_end_min)
            for step in trail
            if step.pause_end_min > 0.0
        ),
        worth=sum(step.worth for step in trail),
    )
