"""When a sampled height passes a level."""

from __future__ import annotations

import numpy as np

from targets.arrays import Floats


def find_crossings(times: Floats, heights: Floats) -> tuple[Floats, Floats]:
    """Find when heights rise above zero and when they sink below it.

    Parameters
    ----------
    times : ndarray
        In order, any unit, ``(T,)``.
    heights : ndarray
        Above the level, any unit, ``(T,)``.

    Returns
    -------
    rises, sets : ndarray
        Times of the crossings, in order; straight lines between the samples. Empty when the level
        is not passed.
    """
    above = heights > 0.0
    before = np.flatnonzero(above[:-1] != above[1:])
    low, high = heights[before], heights[before + 1]
    moments = times[before] + (times[before + 1] - times[before]) * low / (low - high)
    rising = above[before + 1]
    return moments[rising], moments[~rising]
