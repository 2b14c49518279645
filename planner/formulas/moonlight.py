"""Moonlight scattered by the air."""

from __future__ import annotations

import numpy as np

from planner.formulas.photometry import CD_M2_PER_NANOLAMBERT, light_ratio
from targets.arrays import Numbers

# Inside this the glare formula has no meaning: it is the Moon itself.
MOON_RADIUS_DEG = 0.26
# The published model thins the air toward the horizon, so that a setting Moon would still give
# half its light. Ours: it fades from the first altitude, where the thin layer begins to be wrong,
# to the second, where the upper limb is gone.
MOON_FULL_EFFECT_ALTITUDE_DEG = 10.0
MOON_SET_ALTITUDE_DEG = -1.0


def scattering_air_mass(altitude_deg: Numbers) -> Numbers:
    """Return the air mass that the moonlight and airglow models use: 1 overhead, 5 at the horizon.

    Parameters
    ----------
    altitude_deg : float or ndarray
        Altitude [deg]; below the horizon counts as the horizon.

    Returns
    -------
    float or ndarray
        (1 - 0.96 sin^2 Z)^-1/2, with Z the zenith distance.

    References
    ----------
    Krisciunas & Schaefer 1991, eq. 3; see `moonlight_cd_m2`.
    """
    cos_altitude = np.cos(np.radians(np.maximum(altitude_deg, 0.0)))
    return 1.0 / np.sqrt(1.0 - 0.96 * cos_altitude * cos_altitude)


def moon_illuminance(phase_angle_deg: Numbers) -> Numbers:
    """Return the Moon's light above the air.

    Parameters
    ----------
    phase_angle_deg : float or ndarray
        Angle Sun - Moon - observer [deg], 0 at full Moon, 180 at new.

    Returns
    -------
    float or ndarray
        Illuminance [foot-candle]. The surge within some 7 deg of full, up to 1.35 times, is
        left out.

    References
    ----------
    Krisciunas & Schaefer 1991, eq. 8 and 9; see `moonlight_cd_m2`.
    """
    angle = np.abs(phase_angle_deg)
    magnitude = 3.84 + 0.026 * angle + 4e-9 * np.square(np.square(angle))
    return light_ratio(magnitude)


def moon_scattering(separation_deg: Numbers) -> Numbers:
    """Return how much moonlight the air sends to the side.

    Parameters
    ----------
    separation_deg : float or ndarray
        From the Moon [deg].

    Returns
    -------
    float or ndarray
        Scattering function of the model. Its Mie term has one branch outside 10 deg and another
        inside, which do not meet; here the brighter one holds, so that they cross near 8.4 deg
        without a step.

    References
    ----------
    Krisciunas & Schaefer 1991, eq. 21; see `moonlight_cd_m2`.
    """
    away_deg = np.maximum(separation_deg, MOON_RADIUS_DEG)
    rayleigh: Numbers = 10.0**5.36 * (1.06 + np.square(np.cos(np.radians(away_deg))))
    mie: Numbers = np.maximum(
        10.0**6.15 * light_ratio(away_deg / 16.0), 6.2e7 / np.square(away_deg)
    )
    return rayleigh + mie


def moonlight_cd_m2(
    *,
    altitude_deg: Numbers,
    extinction_mag: Numbers,
    moon_altitude_deg: Numbers,
    moon_separation_deg: Numbers,
    moon_phase_angle_deg: Numbers,
) -> Numbers:
    """Return the luminance that the Moon adds to the sky.

    Parameters
    ----------
    altitude_deg, moon_altitude_deg : float or ndarray
        Altitude of the place in the sky and of the Moon's centre [deg].
    extinction_mag : float or ndarray
        V extinction per air mass [mag].
    moon_separation_deg : float or ndarray
        Between the place and the Moon [deg].
    moon_phase_angle_deg : float or ndarray
        0 at full Moon, 180 at new [deg].

    Returns
    -------
    float or ndarray
        Luminance [cd/m2], zero once the Moon has set, growing smoothly as it rises to 10 deg.

    Notes
    -----
    The authors give an accuracy of 8 to 23 percent.

    References
    ----------
    Krisciunas & Schaefer 1991, "A model of the brightness of moonlight", PASP 103, 1033,
    doi:10.1086/132921.
    """
    reaching = light_ratio(extinction_mag * scattering_air_mass(moon_altitude_deg))
    scattered = 1.0 - light_ratio(extinction_mag * scattering_air_mass(altitude_deg))
    light = moon_illuminance(moon_phase_angle_deg) * moon_scattering(moon_separation_deg)
    luminance_nl = light * reaching * scattered * _risen(moon_altitude_deg)
    return luminance_nl * CD_M2_PER_NANOLAMBERT


def _risen(moon_altitude_deg: Numbers) -> Numbers:
    """Return 0 for a Moon that is set, 1 for one that is well up, and a smooth curve between."""
    span_deg = MOON_FULL_EFFECT_ALTITUDE_DEG - MOON_SET_ALTITUDE_DEG
    part: Numbers = np.clip((moon_altitude_deg - MOON_SET_ALTITUDE_DEG) / span_deg, 0.0, 1.0)
    return part * part * (3.0 - 2.0 * part)
