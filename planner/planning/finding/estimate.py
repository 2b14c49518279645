"""How long many targets take to be found, for the order of a night: an estimate without the way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.matcher.lens import Moment
from planner.planning.circumstances import Circumstances
from planner.planning.finding.instruments import Instruments, instruments_of
from planner.planning.finding.moves import (
    MIN_PER_HALF_FIELD,
    MISS_SHARE,
    MOVING_MIN,
    aiming_min,
    searching_min,
)
from planner.planning.finding.nodes import START_ALONE_DEG, may_begin
from planner.planning.finding.plain import plain_through
from planner.planning.finding.way import PLAIN_MIN, SURE_MIN
from targets.arrays import Flags, Floats
from targets.bright_stars import load_bright_stars
from targets.model import Target
from targets.sphere import angle_deg, unit_vectors

# Fainter stars, or stars farther away [deg], are seldom where a way begins (our choice).
FAINTEST_START_MAG, REACH_DEG = 4.5, 25.0
# Under a sky in which no star leads to a target, one sweeps for it as long as this (our choice).
SWEEPING_MIN = 8.0


def finding_minutes(
    targets: Sequence[Target], moment: Moment, circumstances: Circumstances
) -> Floats:
    """Return about what it takes to find each of N targets by hand, by itself.

    Parameters
    ----------
    targets : sequence of Target
        With their places.
    moment : Moment
        The sky behind each, arrays of shape (N, 1).

    Returns
    -------
    ndarray
        [min], ``(N,)``; NaN when no eyepiece fits.

    Notes
    -----
    The cheapest star to begin at counts, with hops of half a finder's field from there, as if there
    were always a star to end on. `planner.planning.finding.way.find_way` looks for them: it mostly
    comes to within a minute of this.
    """
    instruments = instruments_of(circumstances)
    if instruments is None:
        return np.full(len(targets), np.nan)
    plain = plain_through(targets, moment, circumstances, instruments)
    ra_deg, dec_deg = (
        np.array([getattr(target, name) or 0.0 for target in targets], dtype=float)
        for name in ("ra_deg", "dec_deg")
    )
    limit_mag = (instruments.eye.limit_mag(moment.sky_cd_m2) - moment.loss_mag)[:, 0]
    limit_mag += moment.eye_mag
    minutes = _by_hops(unit_vectors(ra_deg, dec_deg), limit_mag, plain, instruments)
    return np.where(plain[:, 0], PLAIN_MIN, minutes)


def _by_hops(
    directions: Floats, limit_mag: Floats, plain: Flags, instruments: Instruments
) -> Floats:
    stars = load_bright_stars()
    starts = (stars.magnitude <= FAINTEST_START_MAG) & (stars.alone_deg >= START_ALONE_DEG)
    places = unit_vectors(stars.ra_deg[starts], stars.dec_deg[starts])
    target, star = np.nonzero(directions @ places.T >= np.cos(np.radians(REACH_DEG)))
    apart_deg = angle_deg(directions[target], places[star])
    magnitude = stars.magnitude[starts][star]
    spare_mag, in_finder = limit_mag[target] - magnitude, plain[target, 1]
    half_deg = instruments.finder.field_deg / 2.0
    halves = apart_deg / half_deg
    miss_deg = MISS_SHARE * np.minimum(apart_deg, half_deg)
    search_min = searching_min(miss_deg, instruments.eyepiece.field_deg)
    minutes = aiming_min(spare_mag, magnitude) + SURE_MIN
    minutes += MOVING_MIN * np.ceil(halves) + MIN_PER_HALF_FIELD * halves
    minutes += np.where(in_finder, 0.0, search_min)
    # In one field with a star to aim at, what the finder shows takes no more than the eye's.
    minutes = np.where(in_finder & (halves <= 1.0), PLAIN_MIN, minutes)
    minutes[~may_begin(spare_mag, stars.alone_deg[starts][star])] = np.inf
    best_min = np.full(len(directions), SWEEPING_MIN)
    np.minimum.at(best_min, target, minutes)
    return best_min
