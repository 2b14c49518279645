"""The rule by which a pair of stars is in the catalogue: over the whole sky, from one star file.

A primary to V 6.5, a companion no brighter than it and to V 9.0, 1 to 240 arcseconds away; and
among 500 stars at random fewer than one would have a star as bright as the companion so near. The
number expected by chance comes from the stars around, so that faint wide pairs drop out in the
Milky Way. The rule cannot tell stars that belong together from stars in one line.

What the star file lacks, bright stars close together above all, comes from the table of orbits,
and from `NOT_IN_THE_STARS` by name.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Floats
from targets.field_stars import FieldStars
from targets.frozen import frozen
from targets.sphere import angle_deg, position_angle_deg, unit_vectors

PRIMARY_LIMIT_MAG = 6.5  # the faintest star that a naked eye finds under a dark sky
COMPANION_LIMIT_MAG = 9.0  # with a margin for a telescope of 60 mm in town
LEAST_ARCSEC, MOST_ARCSEC = 1.0, 240.0
EXPECTED_LIMIT = 0.002
AROUND_DEG = 3.0  # wide enough to count stars in, narrow enough to tell the Milky Way
# Pairs within the limits, or of long standing among observers, that neither the star file nor the
# table of orbits has (common practice).
NOT_IN_THE_STARS = {
    "alphaCru": "two stars of the Bright Star Catalogue, one in the star file",
    "gammaCet": "the companion is lost in the primary's light",
    "thetaAur": "the companion is lost in the primary's light",
    "alphaCap": "wider than the rule: the naked eye parts it",
    "omicron2Eri": "the companion, of 9.5 mag, is the pair BC of the table of orbits",
}


@frozen
class MeasuredPair:
    """A pair as the rule finds it.

    Parameters
    ----------
    primary, companion : int
        Indices of both stars.
    separation_arcsec, position_angle_deg : float
        Where the companion stands from the primary, from north through east.
    expected : float
        How many stars as bright as the companion chance would put so near.
    """

    primary: int
    companion: int
    separation_arcsec: float
    position_angle_deg: float
    expected: float


def pairs_by_rule(stars: FieldStars) -> list[MeasuredPair]:
    """Return all pairs of a star file that follow the rule, by the declination of the primary."""
    places = unit_vectors(stars.ra_deg, stars.dec_deg)
    bright = np.flatnonzero(stars.magnitude <= COMPANION_LIMIT_MAG)
    sky = _Sky(bright, places[bright], stars.dec_deg[bright], stars.magnitude[bright])
    primaries = np.flatnonzero(sky.magnitude <= PRIMARY_LIMIT_MAG)
    return [pair for primary in primaries for pair in _pairs_of(sky, int(primary))]


@frozen(eq=False)
class _Sky:
    """The stars that may be companions, by declination: index in the file, direction, V."""

    index: NDArray[np.intp]
    direction: Floats
    dec_deg: Floats
    magnitude: Floats

    def around(self, centre: int, radius_deg: float) -> tuple[NDArray[np.intp], Floats]:
        """Return the stars around one of them, without itself: rows, and distances [deg]."""
        dec = self.dec_deg[centre]
        band = np.arange(*np.searchsorted(self.dec_deg, [dec - radius_deg, dec + radius_deg]))
        apart_deg = angle_deg(self.direction[band], self.direction[centre])
        near = (apart_deg <= radius_deg) & (band != centre)
        return band[near], apart_deg[near]


def _pairs_of(sky: _Sky, primary: int) -> Iterator[MeasuredPair]:
    """Return the pairs of which a star is the primary; of two equal stars the first is."""
    near, apart_deg = sky.around(primary, MOST_ARCSEC / 3600.0)
    fainter = sky.magnitude[near] - sky.magnitude[primary]
    fits = (fainter > 0.0) | ((fainter == 0.0) & (near > primary))
    fits &= apart_deg * 3600.0 >= LEAST_ARCSEC
    if not fits.any():
        return
    magnitudes = np.sort(sky.magnitude[sky.around(primary, AROUND_DEG)[0]])
    as_bright = np.searchsorted(magnitudes, sky.magnitude[near], side="right")
    expected = as_bright * (apart_deg / AROUND_DEG) ** 2
    for row in np.flatnonzero(fits & (expected <= EXPECTED_LIMIT)):
        companion = near[row]
        angle = position_angle_deg(sky.direction[companion], sky.direction[primary])
        yield MeasuredPair(
            primary=int(sky.index[primary]),
            companion=int(sky.index[companion]),
            separation_arcsec=float(3600.0 * apart_deg[row]),
            position_angle_deg=float(angle),
            expected=float(expected[row]),
        )
