"""What the aperture and the eye can separate, and the power that takes."""

from __future__ import annotations

import numpy as np

from planner.formulas.optics import require_positive
from targets.arrays import Numbers

ARCSEC_PER_RADIAN = 3600.0 * 180.0 / np.pi

# Diffraction at a clear round aperture: the angle is this factor times wavelength / aperture.
RAYLEIGH_FACTOR = 1.21967  # first zero of the Airy pattern, 3.8317 / pi
VISUAL_WAVELENGTH_NM = 550.0
DAWES_ARCSEC_MM = 116.0  # 4.56 arcsec at one inch

POWER_PER_MM = 2.0  # the classic ceiling, an exit pupil of 0.5 mm

EYE_LIMIT_ARCMIN = 2.5  # working limit of the eye for a pair (common practice)
COMFORTABLE_ARCMIN = 4.0  # without straining for it (common practice)


def rayleigh_limit_arcsec(aperture_mm: Numbers) -> Numbers:
    """Return the separation at which one star stands on the other's first dark ring [arcsec].

    In the middle of the visible light, 550 nm; `aperture_mm` is that of the telescope [mm].

    References
    ----------
    Lord Rayleigh, "Investigations in optics", 1879, Phil. Mag. 8, 261.
    """
    require_positive(aperture_mm=aperture_mm)
    return RAYLEIGH_FACTOR * ARCSEC_PER_RADIAN * 1e-6 * VISUAL_WAVELENGTH_NM / aperture_mm


def dawes_limit_arcsec(aperture_mm: Numbers) -> Numbers:
    """Return the closest pair of equal stars near magnitude 6 seen as two in good air [arcsec].

    References
    ----------
    Dawes, W. R., 1867, Memoirs of the RAS 35, 137.
    """
    require_positive(aperture_mm=aperture_mm)
    return DAWES_ARCSEC_MM / aperture_mm


def power_to_split(
    separation_arcsec: Numbers, *, eye_limit_arcmin: Numbers = EYE_LIMIT_ARCMIN
) -> Numbers:
    """Return the power that opens a pair to the eye's limit.

    Parameters
    ----------
    separation_arcsec : float or ndarray
        Of the pair [arcsec].
    eye_limit_arcmin : float or ndarray
        Apparent separation that the eye needs [arcmin].

    Raises
    ------
    ValueError
        If a quantity is not above zero.
    """
    require_positive(separation_arcsec=separation_arcsec, eye_limit_arcmin=eye_limit_arcmin)
    return 60.0 * eye_limit_arcmin / separation_arcsec
