"""What unsteady air does to an image, and the power that it bears."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.formulas.resolution import POWER_PER_MM
from targets.arrays import Numbers

# Star image of each step at the zenith [arcsec]. Antoniadi's scale is a description in words and
# nobody has tied it to a figure: these are our assumption.
ZENITH_FWHM_ARCSEC = (0.8, 1.3, 2.0, 3.0, 4.5)
# Most power of each step at the zenith (common practice). At step I the aperture alone decides, but
# never for less than at step II.
POWER_CAPS = (300.0, 300.0, 220.0, 150.0, 100.0)
STEADIEST = 1
# Kolmogorov turbulence: the image grows as air mass to this power (Fried 1966, J. Opt. Soc. Am.
# 56, 1372, through r0 as sec(z)^-3/5).
SEEING_AIR_MASS_EXPONENT = 0.6
LOWEST_ALTITUDE_DEG = 5.0  # the law is for a flat layer of air
# Apparent diameter at which a disc no longer passes for a star: twice the 2 to 2.5 arcmin that an
# eye at the eyepiece needs to part two stars. Our choice.
DISC_APPARENT_ARCSEC = 300.0


def seeing_fwhm_arcsec(step: int | NDArray[np.intp], *, altitude_deg: Numbers) -> Numbers:
    """Return the diameter of a star's image that the air makes.

    Parameters
    ----------
    step : int or ndarray of int
        Antoniadi step, 1 .. 5.
    altitude_deg : float or ndarray
        Altitude [deg]; below 5 deg it counts as 5.

    Returns
    -------
    float or ndarray
        Full width at half maximum [arcsec], an assumption good to a factor of 1.5.
    """
    return np.take(ZENITH_FWHM_ARCSEC, np.subtract(step, 1)) / _steadiness(altitude_deg)


def seeing_power_cap(
    step: int | NDArray[np.intp], *, altitude_deg: Numbers, aperture_mm: Numbers
) -> Numbers:
    """Return the highest power that is worth using.

    Parameters
    ----------
    step : int or ndarray of int
        Antoniadi step, 1 .. 5.
    altitude_deg : float or ndarray
        Altitude [deg]; below 5 deg it counts as 5.
    aperture_mm : float or ndarray
        Aperture [mm].

    Returns
    -------
    float or ndarray
        Magnification: what the air bears, falling as (sin altitude)^0.6, and never above twice the
        aperture in millimetres (common practice).
    """
    aperture_cap = POWER_PER_MM * aperture_mm
    zenith_cap = np.maximum(
        np.take(POWER_CAPS, np.subtract(step, 1)), np.equal(step, STEADIEST) * aperture_cap
    )
    power: Numbers = np.minimum(zenith_cap * _steadiness(altitude_deg), aperture_cap)
    return power


def least_disc_power(diameter_arcsec: Numbers) -> Numbers:
    """Return the power from which a small planetary or an outer planet looks unlike a star.

    Parameters
    ----------
    diameter_arcsec : float or ndarray
        Diameter of the disc [arcsec].

    Returns
    -------
    float or ndarray
        Magnification that makes it 5 arcmin wide: our choice.
    """
    return DISC_APPARENT_ARCSEC / diameter_arcsec


def _steadiness(altitude_deg: Numbers) -> Numbers:
    """Return how small a star's image at the zenith is beside the one at an altitude, 0 .. 1."""
    above_deg = np.maximum(altitude_deg, LOWEST_ALTITUDE_DEG)
    steadiness: Numbers = np.power(np.sin(np.radians(above_deg)), SEEING_AIR_MASS_EXPONENT)
    return steadiness
