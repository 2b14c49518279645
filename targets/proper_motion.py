"""How stars move on the sky from year to year."""

from __future__ import annotations

import numpy as np

from targets.arrays import Floats, Numbers
from targets.frozen import frozen

MAS_PER_RADIAN = np.degrees(3.6e6)


@frozen
class ProperMotion:
    """The motion of one star, and when its place holds.

    Parameters
    ----------
    ra_mas_yr, dec_mas_yr : float
        Toward east, times the cosine of the declination, and toward north [mas/yr].
    epoch_yr : float
        Julian year of the place that goes with it.
    """

    ra_mas_yr: float
    dec_mas_yr: float
    epoch_yr: float = 2000.0


def moved(places: Floats, *, ra_mas_yr: Numbers, dec_mas_yr: Numbers, years: float) -> Floats:
    """Return where stars are after some years.

    Parameters
    ----------
    places : ndarray
        Unit vectors, ICRS axes, ``(..., 3)``; not at a pole.
    ra_mas_yr, dec_mas_yr : float or ndarray
        Proper motion, in right ascension times the cosine of the declination [mas/yr], ``(...)``.
    years : float
        Julian years; may be negative.

    Returns
    -------
    ndarray
        Unit vectors, ``(..., 3)``. The star goes straight on in its tangent plane; what distance
        and radial velocity add is left out (under 0.1 arcsec in a century for all but a few).
    """
    # Cross products with the pole, and of place and east, by components.
    x, y, z = places[..., 0], places[..., 1], places[..., 2]
    east = np.stack([-y, x, np.zeros_like(z)], axis=-1)
    east /= np.linalg.norm(east, axis=-1, keepdims=True)
    east_x, east_y = east[..., 0], east[..., 1]
    north = np.stack([-z * east_y, z * east_x, x * east_y - y * east_x], axis=-1)
    east_rad, north_rad = (
        np.asarray(motion)[..., None] * years / MAS_PER_RADIAN for motion in (ra_mas_yr, dec_mas_yr)
    )
    there = places + east_rad * east + north_rad * north
    return np.asarray(there / np.linalg.norm(there, axis=-1, keepdims=True))
