"""Puts looks in order: which target when, with no overlap and room for slewing and changes."""

from __future__ import annotations

import numpy as np

from planner.candidates import Candidates, Codes, Flags, Order, Session, Slot
from planner.pace import BREAK_MIN, VARIETY, Pace
from planner.search import TrailStep, best_trail

__all__ = ["Candidates", "Order", "Session", "Slot", "fits_alone", "order_looks", "play"]

# How many of the most promising targets are tried; the others are worth less than all of these.
TRIED = 80


def order_looks(candidates: Candidates, session: Session) -> Order:
    """Choose looks and put them in time order.

    Setting targets come to stand first, rising ones last, and neighbours in the sky and in the
    eyepiece box together.

    Parameters
    ----------
    candidates : Candidates
    session : Session

    Returns
    -------
    Order
        No two looks overlap; every look lies inside its window for its whole length.
    """
    best = np.where(candidates.open, candidates.quality, 0.0).max(axis=1, initial=0.0)
    promising = np.argsort(-best, kind="stable")[:TRIED]
    promising = promising[best[promising] > 0.0]
    trail = best_trail(Pace(candidates.of_rows(promising), session))
    return _order(trail, names=promising)


def play(candidates: Candidates, session: Session, rows: Codes) -> Order:
    """Play a sequence of looks through, each as early as can be; those that do not fit drop out.

    Parameters
    ----------
    candidates, session
    rows : ndarray of int
        The candidates in order.

    Returns
    -------
    Order
        The looks with their times.
    """
    pace = Pace(candidates, session)
    seen = np.zeros(int(candidates.kind.max(initial=0)) + 1)
    trail: list[TrailStep] = []
    now, rested = 0.0, 0.0
    for row in rows:
        way = pace.travel_min[trail[-1].row, row] if trail else pace.finding_min
        look = pace.follow(np.array(now), np.array(rested), np.array(way), row)
        if not look.fits:
            continue
        kind = candidates.kind[row]
        worth = float(look.worth * VARIETY ** seen[kind] - look.way_worth)
        seen[kind] += 1.0
        now, rested = float(look.end_min), float(look.rested_min)
        trail.append(
            TrailStep(int(row), float(look.begin_min), now, float(look.pause_end_min), worth)
        )
    return _order(trail, names=np.arange(len(candidates)))


def fits_alone(candidates: Candidates, session: Session) -> Flags:
    """Tell for each candidate whether the session has room for it when there is no other, (N,)."""
    pace, start = Pace(candidates, session), np.zeros(len(candidates))
    return pace.follow(start, start, start + pace.finding_min, np.arange(len(candidates))).fits


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
