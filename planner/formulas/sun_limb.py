"""How far below the horizon the Sun has to be before none of it can show."""

from __future__ import annotations

import math

from planner.formulas.refraction import HORIZON_REFRACTION_DEG

# Largest at perihelion: 959.63 arcsec at 1 au (Explanatory Supplement to the Astronomical Almanac,
# 3rd ed., ch. 10) over 0.983 au.
SUN_RADIUS_DEG = 0.2712
# Angle at the Earth's centre between the observer and the horizon, for the root of a metre. On a
# globe of 6371 km without air 0.0321 deg (geometry); rays bent by a sixth of its curvature (usual
# in surveying, from memory) reach farther by a part of 1 / sqrt(1 - 1/6).
_HORIZON_DISTANCE_DEG = 0.0352
# Refraction at the horizon varies by some tenths of a degree from day to day (from memory), and
# elevations are rounded. Our choice; it errs toward a Sun that shows.
LIMB_MARGIN_DEG = 0.5


def sun_hidden_below_deg(*, elevation_m: float, lowest_skyline_deg: float = 0.0) -> float:
    """Return the altitude below which no part of the Sun can show over the horizon.

    Parameters
    ----------
    elevation_m : float
        Above sea level [m]. The horizon is taken to be the sea's, the lowest there can be.
    lowest_skyline_deg : float
        Lowest altitude of the skyline [deg]; it counts where it is below zero.

    Returns
    -------
    float
        Altitude of the Sun's centre without refraction [deg], negative.

    Notes
    -----
    ``-(34' + radius + max(d, -skyline) + 0.5 deg)``. Seen from a height, the Sun rises when it
    does so at the place of the horizon, where the plumb line differs by the distance ``d``. That is
    a little more than the dip, the angle by which the horizon is seen low.
    """
    horizon_deg = _HORIZON_DISTANCE_DEG * math.sqrt(max(elevation_m, 0.0))
    depth_deg = max(horizon_deg, -lowest_skyline_deg)
    return -(HORIZON_REFRACTION_DEG + SUN_RADIUS_DEG + depth_deg + LIMB_MARGIN_DEG)
