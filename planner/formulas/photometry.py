"""Brightness in the units of the trade: magnitudes and luminance.

All V band. Functions take floats or arrays and give the same, broadcasting.
"""

from __future__ import annotations

import numpy as np

from targets.arrays import Numbers

# Crumey 2014: V = -2.5 log10(lux) - 13.99 and mag/arcsec2 = 12.58 - 2.5 log10(cd/m2).
ILLUMINANCE_ZERO_MAG = -13.99
LUMINANCE_ZERO_MAG_ARCSEC2 = 12.58
# By definition 1 lambert = 1e4/pi cd/m2.
CD_M2_PER_NANOLAMBERT = 1e-5 / np.pi

_LN_10_OVER_2_5 = np.log(10.0) / 2.5


def light_ratio(magnitudes: Numbers) -> Numbers:
    """The share of light that is left after a loss of so many magnitudes (Pogson's scale)."""
    # exp is several times faster than a power of ten, and the sky takes millions of these.
    ratio: Numbers = np.exp(-_LN_10_OVER_2_5 * magnitudes)
    return ratio


def luminance_cd_m2(surface_brightness_mag_arcsec2: Numbers) -> Numbers:
    """Convert mag/arcsec2 to luminance.

    Parameters
    ----------
    surface_brightness_mag_arcsec2 : float or ndarray
        V surface brightness [mag/arcsec2].

    Returns
    -------
    float or ndarray
        Luminance [cd/m2].

    References
    ----------
    Crumey 2014, "Human contrast threshold and astronomical visibility", MNRAS 442, 2600,
    doi:10.1093/mnras/stu992.
    """
    return light_ratio(surface_brightness_mag_arcsec2 - LUMINANCE_ZERO_MAG_ARCSEC2)


def surface_brightness_mag_arcsec2(luminance_cd_m2: Numbers) -> Numbers:
    """Convert luminance [cd/m2] to V surface brightness [mag/arcsec2]; see `luminance_cd_m2`."""
    return LUMINANCE_ZERO_MAG_ARCSEC2 - 2.5 * np.log10(luminance_cd_m2)


def star_mag(illuminance_lux: Numbers) -> Numbers:
    """Convert the light of a star above the air [lux] to V magnitude (Crumey 2014)."""
    return ILLUMINANCE_ZERO_MAG - 2.5 * np.log10(illuminance_lux)


def star_lux(magnitude: Numbers) -> Numbers:
    """Convert the V magnitude of a star above the air to its light [lux]; see `star_mag`."""
    return light_ratio(magnitude - ILLUMINANCE_ZERO_MAG)
