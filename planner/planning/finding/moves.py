"""Moves from star to star and what each costs, in minutes.

The costs, our choice, so that a way takes what practice says: 1 to 5 minutes by hand (common
practice). Short moves are cheap, since hops of half a finder's field are safe.

- Aiming at a first star by eye: 0.5 min, 0.4 min more for each magnitude by which it is less than
  3 magnitudes brighter than the eye's limit, and 0.5 min more for each magnitude by which it is
  fainter than the third, as most stars of the well known figures are not (`aiming_min`).
- A move: 0.5 min, 0.3 min for each half field that it is long, and 0.5 min more for each half field
  beyond the first, where its ends no longer stand in one view (`moving_min`).
- A star at its end: 0.15 min for each magnitude by which it is less than 4 magnitudes brighter than
  the instrument's limit (`recognizing_min`).
- An end that is not plain there: the goal, for which one searches where the move ends, the longer
  the farther off one may be (`searching_min`).
"""

from __future__ import annotations

import numpy as np

from planner.planning.finding.instruments import Instrument
from planner.planning.finding.star_sky import PLAIN_MAG
from targets.arrays import Flags, Floats

AIMING_MIN = 0.5
BRIGHT_TO_THE_EYE_MAG, AIMING_MIN_PER_MAG = 3.0, 0.4
WELL_KNOWN_MAG, KNOWING_MIN_PER_MAG = 3.0, 0.5
MOVING_MIN, MIN_PER_HALF_FIELD, MIN_PER_HALF_FIELD_BEYOND = 0.5, 0.3, 0.5
BRIGHT_IN_THE_FIELD_MAG, RECOGNIZING_MIN_PER_MAG = 4.0, 0.15
SEARCHING_MIN = 2.0
# A judged move misses by this share of its length (our assumption).
MISS_SHARE = 0.15
# The end of a move is the brightest star by 0.75 mag (`BrightStars.alone_deg`) within a third of
# the move, twice what one may miss by, and never within less than half a degree (our choice).
ALONE_SHARE, LEAST_ALONE_DEG = 1.0 / 3.0, 0.5


def aiming_min(spare_mag: Floats, magnitude: Floats) -> Floats:
    """Return what it takes to aim at stars by eye [min].

    Parameters
    ----------
    spare_mag : ndarray
        How much brighter each is than the faintest that the eye sees there [mag].
    magnitude : ndarray
        V of each.
    """
    faint = AIMING_MIN_PER_MAG * np.maximum(BRIGHT_TO_THE_EYE_MAG - spare_mag, 0.0)
    unknown = KNOWING_MIN_PER_MAG * np.maximum(magnitude - WELL_KNOWN_MAG, 0.0)
    return AIMING_MIN + faint + unknown


def recognizing_min(spare_mag: Floats) -> Floats:
    """Return what it takes to make sure of stars so much brighter than the limit [mag] [min]."""
    return RECOGNIZING_MIN_PER_MAG * np.maximum(BRIGHT_IN_THE_FIELD_MAG - spare_mag, 0.0)


def moving_min(length_deg: Floats, instrument: Instrument) -> Floats:
    """Return what moves of some lengths [deg] take, infinite for those too long [min]."""
    halves = length_deg / (instrument.field_deg / 2.0)
    minutes = MOVING_MIN + MIN_PER_HALF_FIELD * halves
    minutes += MIN_PER_HALF_FIELD_BEYOND * np.maximum(halves - 1.0, 0.0)
    return np.where(length_deg <= instrument.longest_deg, minutes, np.inf)


def searching_min(miss_deg: Floats, field_deg: float) -> Floats:
    """Return what it takes to search a field [deg] for what may be so far off [deg] [min].

    It grows with the area to search: 2 min for what may stand at the edge of the field.
    """
    return SEARCHING_MIN * np.square(miss_deg / (field_deg / 2.0))


def ends_well(length_deg: Floats, alone_deg: Floats, spare_mag: Floats) -> Flags:
    """Tell which moves [deg] end on stars that are plain, and stand alone for such a move.

    Parameters
    ----------
    length_deg : ndarray
        Of E moves [deg], ``(E,)``.
    alone_deg, spare_mag : ndarray
        Of their ends: how far each stands alone [deg], and how much brighter than the instrument's
        limit it is [mag], ``(E,)``.
    """
    alone = alone_deg >= np.maximum(ALONE_SHARE * length_deg, LEAST_ALONE_DEG)
    return np.asarray(alone & (spare_mag >= PLAIN_MAG))


def move_costs_min(
    length_deg: Floats, alone_deg: Floats, spare_mag: Floats, instrument: Instrument
) -> Floats:
    """Return what moves through one instrument take [min]; parameters as for `ends_well`.

    Returns
    -------
    ndarray
        ``(E,)``; infinite where there is no such move.
    """
    minutes = moving_min(length_deg, instrument) + recognizing_min(spare_mag)
    return np.where(ends_well(length_deg, alone_deg, spare_mag), minutes, np.inf)


def last_move_min(
    length_deg: Floats, instrument: Instrument, *, is_plain: bool, field_deg: float
) -> Floats:
    """Return what moves of some lengths [deg] to the goal itself take [min].

    Parameters
    ----------
    length_deg : ndarray
        [deg], ``(E,)``.
    instrument : Instrument
        Through which one moves.
    is_plain : bool
        Whether the goal is plain in it; else it is searched for in the low eyepiece.
    field_deg : float
        Of that eyepiece [deg].
    """
    minutes = moving_min(length_deg, instrument)
    return minutes if is_plain else minutes + searching_min(MISS_SHARE * length_deg, field_deg)
