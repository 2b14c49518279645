"""Refraction: how far the air lifts what is seen, and how deep the Sun is when it is hidden."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

FloatOrArray = TypeVar("FloatOrArray", float, NDArray[np.float64])

STANDARD_PRESSURE_HPA = 1010.0
STANDARD_TEMPERATURE_C = 10.0
# The almanacs' convention for rising and setting: 34' of refraction, and for the Sun's centre 16'
# of radius besides.
HORIZON_REFRACTION_DEG = 34.0 / 60.0
SUNSET_ALTITUDE_DEG = -50.0 / 60.0

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

# Fall of temperature over temperature at sea level [1/m], and the power that follows from it.
_LAPSE_PER_M = 0.0065 / 288.15
_PRESSURE_POWER = 5.25588
# Nobody looks below the horizon, but a track that passes there must have no jump. From 1 degree
# below, where the formula ends, refraction fades to nothing at 2 degrees below.
_FADE_FROM_DEG = -1.0
_FADE_TO_DEG = -2.0


def standard_pressure_hpa(elevation_m: FloatOrArray) -> FloatOrArray:
    """Return the usual air pressure at an elevation.

    Parameters
    ----------
    elevation_m : float or ndarray
        Above sea level [m].

    Returns
    -------
    float or ndarray
        Pressure [hPa].

    References
    ----------
    "U.S. Standard Atmosphere, 1976", NOAA, NASA and USAF, eq. 33a, put to 1010 hPa at sea level.
    """
    return STANDARD_PRESSURE_HPA * (1.0 - _LAPSE_PER_M * elevation_m) ** _PRESSURE_POWER  # type: ignore[no-any-return]


def refraction_deg(
    true_altitude_deg: FloatOrArray,
    *,
    pressure_hpa: float = STANDARD_PRESSURE_HPA,
    temperature_c: float = STANDARD_TEMPERATURE_C,
) -> FloatOrArray:
    """Return the refraction of something at a true altitude.

    Parameters
    ----------
    true_altitude_deg : float or ndarray
        Altitude without air [deg], any shape.
    pressure_hpa : float
        Air pressure at the site, not reduced to sea level [hPa].
    temperature_c : float
        Air temperature [deg C].

    Returns
    -------
    float or ndarray
        What to add to get the apparent altitude [deg], same shape; never negative.

    Notes
    -----
    ``R = 1.02' cot(h + 10.3 / (h + 5.11))``, scaled by pressure and temperature. Within 4 arcsec
    of Bennett's formula down to the horizon; real air differs by more below 5 degrees. Between 1
    and 2 degrees below the horizon it fades to nothing; from there down it is 0.

    References
    ----------
    Saemundsson 1986, Sky and Telescope 72, 70. Meeus 1998, "Astronomical Algorithms", ch. 16.
    """
    lowest = np.maximum(true_altitude_deg, _FADE_FROM_DEG)
    arcmin = 1.02 / np.tan(np.radians(lowest + 10.3 / (lowest + 5.11)))
    air = pressure_hpa / STANDARD_PRESSURE_HPA * 283.0 / (273.0 + temperature_c)
    fade = np.clip((true_altitude_deg - _FADE_TO_DEG) / (_FADE_FROM_DEG - _FADE_TO_DEG), 0.0, 1.0)
    # At the zenith the formula is a tenth of an arcsecond below zero.
    return np.maximum(arcmin, 0.0) * fade * air / 60.0  # type: ignore[no-any-return]


def apparent_altitude_deg(
    true_altitude_deg: FloatOrArray, *, elevation_m: float = 0.0
) -> FloatOrArray:
    """Return the altitude at which something is seen, in the usual air of a site at 10 deg C.

    Parameters
    ----------
    true_altitude_deg : float or ndarray
        Altitude without air [deg], any shape.
    elevation_m : float
        Of the site [m].

    Returns
    -------
    float or ndarray
        Altitude with refraction [deg], same shape.
    """
    return true_altitude_deg + refraction_deg(
        true_altitude_deg, pressure_hpa=standard_pressure_hpa(elevation_m)
    )


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
