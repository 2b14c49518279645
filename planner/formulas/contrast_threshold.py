"""The least contrast that a dark-adapted eye notices.

Crumey's fit to the laboratory data of Blackwell (1946) and of Knoll, Tousey and Hulburt (1946),
over its whole range of light. It holds for even patches with sharp edges at a known place, young
eyes, both of them, and an even chance of seeing; `planner.formulas.visibility_limit` adds what
observing takes away.
For points of light the fit dips by 0.01 dex between 16.7 and 15.6 mag/arcsec2, where rods hand
over to cones; everywhere else a brighter background means a higher threshold.

References
----------
Crumey 2014, "Human contrast threshold and astronomical visibility", MNRAS 442, 2600,
doi:10.1093/mnras/stu992. Constants and equation numbers are second-hand: as several independent
codes quote them. They reproduce the values that the paper is known to print.
"""

from __future__ import annotations

import numpy as np

from targets.arrays import Numbers
from targets.frozen import frozen

SR_PER_ARCMIN2 = (np.pi / 10800.0) ** 2
# Eq. 45: below this background the eye's own noise rules, and the least luminance that it notices
# no longer falls.
BLACK_CD_M2 = 1e-5
# Eq. 28 (Ricco product) and eq. 40 (contrast of a very large patch), a1 .. a5 and b1 .. b5.
RICCO = (5.949e-8, -2.389e-7, 2.459e-7, 4.120e-4, -4.225e-4)
LARGE = (9.606e-6, -4.112e-5, 5.019e-5, 4.837e-3, -4.884e-3)
# Eq. 42 to 44: exponent that joins small and large patches, constant term and slope per dex.
EXPONENT_DARK = 0.6
EXPONENT_MIDDLE = (0.8861, 0.4)
EXPONENT_BRIGHT = (1.146, -0.0885)


def ricco_product_sr(background_cd_m2: Numbers) -> Numbers:
    """Return contrast times area for a patch that is too small to show a shape.

    Parameters
    ----------
    background_cd_m2 : float or ndarray
        Luminance around it as the eye gets it [cd/m2], 1e-5 to 3000.

    Returns
    -------
    float or ndarray
        Threshold contrast times solid angle [sr] (Crumey 2014, eq. 25 and 28).
    """
    return np.square(_conic(background_cd_m2, RICCO))


def large_patch_contrast(background_cd_m2: Numbers) -> Numbers:
    """Return the threshold contrast of a patch so large that its size no longer helps.

    Parameters
    ----------
    background_cd_m2 : float or ndarray
        Luminance around it as the eye gets it [cd/m2], 1e-5 to 3000.

    Returns
    -------
    float or ndarray
        Added luminance over background (Crumey 2014, eq. 39 and 40).
    """
    return _conic(background_cd_m2, LARGE)


@frozen
class PatchThreshold:
    """The least luminance of patches of any size against one background; natural logarithms.

    Parameters
    ----------
    log_large : float or ndarray
        Of the luminance that is noticed of a very large patch [cd/m2].
    log_ricco_sr : float or ndarray
        Of the area at which small patches become large ones [sr].
    exponent : float or ndarray
        That joins the two.
    """

    log_large: Numbers
    log_ricco_sr: Numbers
    exponent: Numbers

    def log_luminance(self, log_area_sr: Numbers) -> Numbers:
        """Return the logarithm of the least luminance [cd/m2] for one of an area [sr]."""
        small = self.exponent * (self.log_ricco_sr - log_area_sr)
        return self.log_large + np.log1p(np.exp(small)) / self.exponent


def patch_threshold(background_cd_m2: Numbers) -> PatchThreshold:
    """Return the threshold against a background as the eye gets it [cd/m2], up to 3000.

    Below 1e-5 it stays what it is there.

    References
    ----------
    Crumey 2014, eq. 41 and 45 to 52.
    """
    background = np.maximum(background_cd_m2, BLACK_CD_M2)
    large = large_patch_contrast(background)
    return PatchThreshold(
        np.log(background * large),
        np.log(ricco_product_sr(background) / large),
        _joining_exponent(background),
    )


def threshold_luminance_cd_m2(*, background_cd_m2: Numbers, area_sr: Numbers) -> Numbers:
    """Return the least luminance that must be added to a background to be noticed.

    Parameters
    ----------
    background_cd_m2 : float or ndarray
        Luminance around the patch as the eye gets it [cd/m2], as in `patch_threshold`.
    area_sr : float or ndarray
        Apparent solid angle of the patch [sr].

    Returns
    -------
    float or ndarray
        Added luminance [cd/m2]; divided by the background it is the threshold contrast.
    """
    return np.exp(patch_threshold(background_cd_m2).log_luminance(np.log(area_sr)))


def threshold_illuminance_lux(background_cd_m2: Numbers) -> Numbers:
    """Return the faintest point of light that is noticed on a background.

    Parameters
    ----------
    background_cd_m2 : float or ndarray
        Luminance around the point as the eye gets it [cd/m2], up to 3000; below 1e-5 it counts
        as 1e-5.

    Returns
    -------
    float or ndarray
        Illuminance at the eye [lux].

    References
    ----------
    Crumey 2014, eq. 29 and 52.
    """
    background = np.maximum(background_cd_m2, BLACK_CD_M2)
    return background * ricco_product_sr(background)


def _conic(
    background_cd_m2: Numbers, coefficients: tuple[float, float, float, float, float]
) -> Numbers:
    """Evaluate the curve that both parts of the threshold follow: rod sight into cone sight."""
    x, (c1, c2, c3, c4, c5) = 1.0 / np.sqrt(np.sqrt(background_cd_m2)), coefficients
    return np.sqrt((c1 * x + c2) * x + c3) + (c4 * x + c5)


def _joining_exponent(background_cd_m2: Numbers) -> Numbers:
    """Return q of eq. 42 to 44, taken where the lines cross so that the threshold has no step."""
    decades = np.log10(background_cd_m2)
    middle = EXPONENT_MIDDLE[0] + EXPONENT_MIDDLE[1] * decades
    bright = EXPONENT_BRIGHT[0] + EXPONENT_BRIGHT[1] * decades
    return np.maximum(EXPONENT_DARK, np.minimum(middle, bright))
