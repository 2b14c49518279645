"""A visual rating as a surface brightness, for nebulae whose catalogue magnitude means nothing.

The magnitude listed for a bright nebula often belongs to a star or cluster in it. A rating of
1 .. 5 is an observer's judgement of how hard it is; here it becomes the brightness that would make
it just that hard under reference conditions. Moonlight, altitude, aperture and filters then act on
it as on any other target.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from planner.formulas.contrast_threshold import SR_PER_ARCMIN2, threshold_luminance_cd_m2
from planner.formulas.filters import Spectrum, sky_passed, target_passed
from planner.formulas.photometry import luminance_cd_m2, surface_brightness_mag_arcsec2
from planner.formulas.visibility_limit import LEAST_NOTICED, light_gain
from planner.model.kit import FilterKind
from targets.arrays import Numbers
from targets.frozen import frozen


@frozen
class Reference:
    """Where a rating applies: a telescope, a moonless sky, and the margin that is left there.

    ``with_filter`` puts a narrowband filter in for targets that shine in lines, and takes the exit
    pupil that goes with it.
    """

    aperture_mm: float
    sky_mag_arcsec2: float
    margin_dex: float
    with_filter: bool = False


# Our choice of conditions for the words that observers use.
REFERENCES = {
    1: Reference(300.0, 21.8, -0.15, with_filter=True),  # filter, very dark sky, large aperture
    2: Reference(200.0, 21.5, 0.15, with_filter=True),  # dark sky; a filter on emission nebulae
    3: Reference(150.0, 21.0, 0.20),  # plain with some care, or in 15 to 20 cm
    4: Reference(100.0, 20.5, 0.65),  # easy
    5: Reference(80.0, 20.5, 1.20),  # showpiece in a small telescope under a fair sky
}
# A dark nebula is rated for a sky at least so dark: under others nobody sees one (common practice).
DARK_NEBULA_SKY_MAG_ARCSEC2 = 21.5
REFERENCE_EXIT_PUPIL_MM, FILTERED_EXIT_PUPIL_MM = 3.0, 5.0
REFERENCE_PUPIL_MM = 7.0
REFERENCE_TRANSMISSION = 0.8
# A quarter of a magnitude per air mass at some 55 degrees.
REFERENCE_LOSS_MAG = 0.3


def rating_surface_brightness_mag_arcsec2(
    *,
    rating: Numbers,
    area_arcmin2: Numbers,
    emits_lines: bool | NDArray[np.bool_],
    is_dark: bool | NDArray[np.bool_] = False,
) -> Numbers:
    """Translate a visual rating to the mean surface brightness that fits it.

    Parameters
    ----------
    rating : float or ndarray
        1 (very hard) .. 5 (showpiece); NaN where there is none.
    area_arcmin2 : float or ndarray
        True area [arcmin2]; NaN when unknown.
    emits_lines : bool or ndarray of bool
        Whether the target shines in spectral lines, so that a filter helps it.

    is_dark : bool or ndarray of bool
        Whether it is a dark nebula, which takes light away.

    Returns
    -------
    float or ndarray
        Equivalent surface brightness above the air [mag/arcsec2]; NaN where rating or area is.
        For a dark nebula it is the light that is missing.

    Raises
    ------
    ValueError
        If a rating is not one of 1, 2, 3, 4, 5.
    """
    index = _rating_index(rating)
    filtered = _column("with_filter")[index] * emits_lines
    exit_pupil_mm = np.where(filtered, FILTERED_EXIT_PUPIL_MM, REFERENCE_EXIT_PUPIL_MM)
    gain = light_gain(
        exit_pupil_mm=exit_pupil_mm,
        pupil_mm=REFERENCE_PUPIL_MM,
        transmission=REFERENCE_TRANSMISSION,
    )
    sky_mag = _column("sky_mag_arcsec2")[index]
    sky_mag = np.where(is_dark, np.maximum(sky_mag, DARK_NEBULA_SKY_MAG_ARCSEC2), sky_mag)
    least = threshold_luminance_cd_m2(
        background_cd_m2=luminance_cd_m2(sky_mag)
        * _passed(filtered, sky_passed(FilterKind.NARROWBAND))
        * gain,
        area_sr=area_arcmin2
        * SR_PER_ARCMIN2
        * np.square(_column("aperture_mm")[index] / exit_pupil_mm),
    )
    wanted = LEAST_NOTICED * least * np.power(10.0, _column("margin_dex")[index])
    reaching = _passed(filtered, target_passed(FilterKind.NARROWBAND, Spectrum.OXYGEN))
    target = wanted / (reaching * gain)
    # Adding the rating times nothing carries its NaN over.
    return surface_brightness_mag_arcsec2(target) - REFERENCE_LOSS_MAG + 0.0 * rating


def _passed(filtered: Numbers, share: float) -> Numbers:
    """Return a filter's share where it is in (1) and 1 where it is not (0)."""
    return 1.0 + filtered * (share - 1.0)


def _rating_index(rating: Numbers) -> NDArray[np.intp]:
    known = np.nan_to_num(rating, nan=1.0)
    if not np.isin(known, list(REFERENCES)).all():
        raise ValueError("A visual rating is 1 (very hard), 2, 3, 4 or 5 (showpiece).")
    return np.asarray(known, dtype=np.intp) - 1


@cache
def _column(attribute: str) -> NDArray[np.float64]:
    values = [getattr(REFERENCES[rating], attribute) for rating in sorted(REFERENCES)]
    return np.array(values, dtype=np.float64)
