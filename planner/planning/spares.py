"""What else could be looked at, by the part of the sky: for when cloud covers the rest."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.model.plan import Spare
from planner.planning.roster import Roster
from planner.planning.scheduling.candidates import Candidates
from planner.planning.survey import Circumstances

# Parts of the sky, and how many spares each gets at most.
SECTORS = 8
MOST_PER_SECTOR = 3


def find_spares(
    roster: Roster,
    candidates: Candidates,
    circumstances: Circumstances,
    columns: NDArray[np.intp],
    planned: Collection[int],
    start: datetime,
    *,
    step_min: float,
) -> tuple[Spare, ...]:
    """Choose the best targets that have no look, some in each part of the sky.

    Parameters
    ----------
    roster, candidates
        N targets, as the ordering saw them.
    circumstances : Circumstances
        With the table of trains.
    columns : ndarray of int
        The train of each target, (N,).
    planned : collection of int
        Rows of those that have a look.
    start : datetime
        Of the session (UTC).
    step_min : float
        From one step to the next [min].

    Returns
    -------
    tuple of Spare
        By sector from north through east, the best of each first.
    """
    worth = np.where(candidates.open, candidates.quality, 0.0)
    step = np.argmax(worth, axis=1)
    every = np.arange(len(worth))
    best = worth[every, step]
    azimuth = candidates.azimuth_deg[every, step]
    sector = np.round(azimuth / (360.0 / SECTORS)).astype(int) % SECTORS
    chosen: list[int] = []
    for part in range(SECTORS):
        rows = [int(r) for r in np.argsort(-best, kind="stable") if sector[r] == part]
        free = [row for row in rows if best[row] > 0.0 and row not in planned]
        chosen += free[:MOST_PER_SECTOR]
    return tuple(
        Spare(
            target=roster.targets[row],
            train=circumstances.table.trains[int(columns[row])],
            at=start + timedelta(minutes=float(step_min * step[row])),
            altitude_deg=float(candidates.altitude_deg[row, step[row]]),
            azimuth_deg=float(azimuth[row]),
        )
        for row in chosen
    )
