"""What keeps the two stars of a pair together: the aperture, the glare of the primary, the air."""

from __future__ import annotations

import numpy as np

from planner.formulas.photometry import light_ratio
from planner.formulas.resolution import unequal_limit_arcsec
from planner.formulas.seeing import seeing_fwhm_arcsec
from targets.arrays import Floats

# The eye takes the steadiest moments, in which a star's image is some half of what a long exposure
# gives, and tells two stars apart at about the width of that image: our choice.
SEEING_SHARE = 0.5
# A pair at the limit is as hard as a target at the eye's threshold, and becomes easy at 2.5 times
# that: our choice.
PARTING_SLOPE = 2.0
# Two equal stars are each half of the light: 2.5 log10 2. Taken where the companion is not known.
HALF_OF_THE_LIGHT_MAG = 2.5 * np.log10(2.0)


def companion_or_half(magnitude: Floats, companion_magnitude: Floats) -> Floats:
    """Return the fainter star's magnitude; where unknown, that of half of the pair's light."""
    return np.where(
        np.isnan(companion_magnitude), magnitude + HALF_OF_THE_LIGHT_MAG, companion_magnitude
    )


def magnitude_difference(magnitude: Floats, companion_magnitude: Floats) -> Floats:
    """Return by how much the companion is fainter than the primary.

    Parameters
    ----------
    magnitude : ndarray
        V of both stars together.
    companion_magnitude : ndarray
        V of the fainter one; NaN where unknown, which counts as an equal star.

    Returns
    -------
    ndarray
        Difference [mag]; NaN where the light of both is unknown.
    """
    companion = light_ratio(companion_or_half(magnitude, companion_magnitude) - magnitude)
    # Rounding may leave a companion a hair more than half of the light.
    primary = np.maximum(1.0 - companion, companion)
    return np.asarray(2.5 * np.log10(primary / companion))


def aperture_limit_arcsec(aperture_mm: float, difference_mag: Floats) -> Floats:
    """Return the closest separation at which an aperture [mm] shows a companion so much fainter.

    An unknown difference counts as none; see `planner.formulas.resolution.unequal_limit_arcsec`.
    """
    return np.asarray(unequal_limit_arcsec(aperture_mm, np.nan_to_num(difference_mag, nan=0.0)))


def air_limit_arcsec(seeing_step: int, altitude_deg: Floats) -> Floats:
    """Return the closest separation that the air leaves apart.

    Parameters
    ----------
    seeing_step : int
        Antoniadi step, 1 .. 5.
    altitude_deg : ndarray
        Apparent altitude [deg].

    Returns
    -------
    ndarray
        Half of the width of a star's image [arcsec].
    """
    return np.asarray(SEEING_SHARE * seeing_fwhm_arcsec(seeing_step, altitude_deg=altitude_deg))


def parting_margin_dex(separation_arcsec: Floats | float, limit_arcsec: Floats) -> Floats:
    """Return how far a gap exceeds what is parted, on the scale of the eye's margins [dex]."""
    return np.asarray(PARTING_SLOPE * np.log10(separation_arcsec / limit_arcsec))
