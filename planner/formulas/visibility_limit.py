"""Would it be seen? The eye's threshold, through a telescope, against tonight's sky.

The same few numbers run through all of it:

- *light gain*: how bright any surface looks through the train, over the naked eye (never above 1);
- *magnification*: how much larger it looks;
- *field factor*: how far ordinary observing stays behind the laboratory.

Contrast does not change with power: target and sky dim together. What changes is the size of the
target and the darkness to which the eye must adapt.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.formulas.contrast_threshold import (
    SR_PER_ARCMIN2,
    PatchThreshold,
    patch_threshold,
    threshold_illuminance_lux,
)
from planner.formulas.photometry import luminance_cd_m2, star_mag
from planner.model.kit import Experience
from planner.model.plan import Grade
from targets.arrays import Numbers
from targets.frozen import frozen

# Crumey 2014, second-hand: 1.4 to 2.4 describe observers in the field; 2 is an ordinary one.
FIELD_FACTOR = 2.0
# Two eyes see a target fainter by this factor than one does (Crumey 2014, second-hand).
ONE_EYE = np.sqrt(2.0)

# How far above the laboratory's threshold for two eyes one eye notices in the field.
LEAST_NOTICED = ONE_EYE * FIELD_FACTOR

# Between these the naked eye's limit is turned back into a sky [mag/arcsec2].
_SKIES_MAG_ARCSEC2 = (12.0, 23.0)

# How much deeper than that ordinary observer the eye of each sees [mag]: Crumey's 2.4, a practised
# eye's 1.6 (our choice within his range) and his 1.4.
EXPERIENCE_MAG = {Experience.BEGINNER: -0.20, Experience.PRACTISED: 0.24, Experience.EXPERT: 0.39}

# Words for the margin, from the first lower bound up [dex]: our choice.
GRADE_BOUNDS_DEX = (-0.2, 0.1, 0.4, 0.8)
GRADES = (Grade.UNLIKELY, Grade.VERY_HARD, Grade.HARD, Grade.FAIR, Grade.EASY, Grade.UNKNOWN)


def ellipse_area_arcmin2(*, major_arcmin: Numbers, minor_arcmin: Numbers) -> Numbers:
    """Return the area [arcmin2] of an ellipse from its full axes [arcmin]."""
    return np.pi / 4.0 * major_arcmin * minor_arcmin


def mean_surface_brightness_mag_arcsec2(*, magnitude: Numbers, area_arcmin2: Numbers) -> Numbers:
    """Spread a total magnitude evenly over an area.

    Parameters
    ----------
    magnitude : float or ndarray
        Total V magnitude.
    area_arcmin2 : float or ndarray
        Area [arcmin2].

    Returns
    -------
    float or ndarray
        Mean surface brightness [mag/arcsec2]. Catalogue sizes and magnitudes reach far out, so
        that a bright core stands above it.
    """
    return magnitude + 2.5 * np.log10(area_arcmin2 * 3600.0)


def light_gain(
    *,
    exit_pupil_mm: Numbers,
    pupil_mm: Numbers,
    transmission: Numbers = 1.0,
    obstruction_ratio: Numbers = 0.0,
) -> Numbers:
    """Return the brightness of a surface through a telescope over that with the naked eye.

    Parameters
    ----------
    exit_pupil_mm : float or ndarray
        Diameter of the beam [mm]. When it is larger than the pupil the iris stops the telescope
        down, and the shadow of the obstruction takes a larger share.
    pupil_mm : float or ndarray
        Diameter of the eye's pupil [mm].
    transmission : float or ndarray
        Share of the light that glass and mirrors pass, 0 .. 1.
    obstruction_ratio : float or ndarray
        Diameter of the central obstruction over the aperture, 0 .. 1.

    Returns
    -------
    float or ndarray
        Luminance ratio, 0 .. 1; times the power squared it is the gain for a star. It is 0 when
        the shadow of the obstruction is wider than the pupil.

    References
    ----------
    Crumey 2014, MNRAS 442, 2600; the obstruction is an area, common practice.
    """
    beam_mm2 = np.square(np.minimum(exit_pupil_mm, pupil_mm))
    shadow_mm2 = np.square(np.minimum(exit_pupil_mm * obstruction_ratio, pupil_mm))
    return transmission * (beam_mm2 - shadow_mm2) / np.square(pupil_mm)


@frozen
class EvenGlow:
    """An even glow as it comes to the eye; natural logarithms, arrays of one shape or numbers.

    Parameters
    ----------
    log_luminance : float or ndarray
        Of the glow over what is noticed in the field of the least that the laboratory notices
        [cd/m2].
    log_area_sr : float or ndarray
        Of its apparent area [sr].
    threshold : PatchThreshold
        Against the sky behind it.
    """

    log_luminance: Numbers
    log_area_sr: Numbers
    threshold: PatchThreshold

    def margin_dex(self, axis: float = 1.0, brighter_mag: Numbers = 0.0) -> Numbers:
        """Return how far it is above the eye's threshold, whole or in part.

        Parameters
        ----------
        axis : float
            Of what lies within this share of its axes.
        brighter_mag : float or ndarray
            If that is so much brighter than the whole [mag].

        Returns
        -------
        float or ndarray
            log10 of the luminance over the least noticed [dex]; times 2.5 it is magnitudes. NaN for
            unknown brightness or area, minus infinity where no light arrives.
        """
        least = self.threshold.log_luminance(self.log_area_sr + 2.0 * np.log(axis))
        margin: Numbers = (self.log_luminance - least) / np.log(10.0) + 0.4 * brighter_mag
        return margin


def even_glow(
    *,
    surface_brightness_mag_arcsec2: Numbers,
    area_arcmin2: Numbers,
    sky_cd_m2: Numbers,
    magnification: Numbers,
    light_gain: Numbers,
    target_passed: Numbers = 1.0,
    sky_passed: Numbers = 1.0,
    field_factor: Numbers = FIELD_FACTOR,
) -> EvenGlow:
    """Return a target with an area as it comes to the eye.

    Parameters
    ----------
    surface_brightness_mag_arcsec2 : float or ndarray
        Mean of the target, with what the air takes away [mag/arcsec2]; NaN when unknown.
    area_arcmin2 : float or ndarray
        True area [arcmin2].
    sky_cd_m2 : float or ndarray
        Luminance of the sky behind it [cd/m2].
    magnification : float or ndarray
        Power; 1 for the naked eye.
    light_gain : float or ndarray
        From `light_gain`.
    target_passed, sky_passed : float or ndarray
        Share of their light that the filter passes; 1 without one.
    field_factor : float or ndarray
        1 in the laboratory, 2 for ordinary observing.

    Returns
    -------
    EvenGlow
        All arguments broadcast.

    Notes
    -----
    Its margin says whether a target can be detected, and is nearly flat in the exit pupil for large
    ones: do not choose the eyepiece by its maximum. The edge must be inside the field of view. Good
    to about 0.1 dex in itself, and as good as the catalogue's size.

    References
    ----------
    Crumey 2014, MNRAS 442, 2600, eq. 41, doi:10.1093/mnras/stu992.
    """
    luminance = luminance_cd_m2(surface_brightness_mag_arcsec2) * target_passed * light_gain
    with np.errstate(divide="ignore"):
        return EvenGlow(
            np.log(luminance / (ONE_EYE * field_factor)),
            np.log(area_arcmin2 * SR_PER_ARCMIN2) + 2.0 * np.log(magnification),
            patch_threshold(sky_cd_m2 * sky_passed * light_gain),
        )


def stellar_limit_mag(
    *,
    sky_cd_m2: Numbers,
    magnification: Numbers,
    light_gain: Numbers,
    target_passed: Numbers = 1.0,
    sky_passed: Numbers = 1.0,
    veil_cd_m2: Numbers = 0.0,
    field_factor: Numbers = FIELD_FACTOR,
) -> Numbers:
    """Return the faintest star seen through a telescope.

    Parameters
    ----------
    sky_cd_m2, magnification, light_gain, target_passed, sky_passed, field_factor
        As in `even_glow`.
    veil_cd_m2 : float or ndarray
        What else lightens the background, as the eye gets it [cd/m2].

    Returns
    -------
    float or ndarray
        V magnitude as it reaches the telescope: subtract the extinction for the catalogue's.
        Perfect images; seeing and the star's colour are left out. Minus infinity where no light
        arrives.

    References
    ----------
    Crumey 2014, MNRAS 442, 2600, eq. 29, doi:10.1093/mnras/stu992.
    """
    least = threshold_illuminance_lux(sky_cd_m2 * sky_passed * light_gain + veil_cd_m2)
    star_gain = np.square(magnification) * light_gain * target_passed
    with np.errstate(divide="ignore"):
        return star_mag(np.divide(ONE_EYE * field_factor * least, star_gain))


def naked_eye_limit_mag(sky_mag_arcsec2: Numbers, *, eye_mag: Numbers = 0.0) -> Numbers:
    """Return the faintest star that two naked eyes see overhead.

    Parameters
    ----------
    sky_mag_arcsec2 : float or ndarray
        Zenith sky [mag/arcsec2].
    eye_mag : float or ndarray
        How much deeper than the ordinary observer of `FIELD_FACTOR` this one sees [mag].

    Returns
    -------
    float or ndarray
        Limiting V magnitude, without extinction.

    References
    ----------
    Crumey 2014, MNRAS 442, 2600, the law of the telescope's limit at a power of one.
    """
    least = FIELD_FACTOR * threshold_illuminance_lux(luminance_cd_m2(sky_mag_arcsec2))
    return star_mag(least) + eye_mag


def sky_mag_from_naked_eye_limit(limit_mag: float) -> float:
    """Return the sky [mag/arcsec2] under which ordinary eyes reach a magnitude; NaN if none is.

    The inverse of `naked_eye_limit_mag`.
    """
    skies = np.linspace(*_SKIES_MAG_ARCSEC2, 1001)
    limits = np.maximum.accumulate(naked_eye_limit_mag(skies))
    return float(np.interp(limit_mag, limits, skies, left=np.nan, right=np.nan))


def star_margin_dex(*, magnitude: Numbers, limit_mag: Numbers) -> Numbers:
    """Return how far a star is above the limit.

    Parameters
    ----------
    magnitude : float or ndarray
        Of the star, with what the air takes away [mag]; NaN when unknown.
    limit_mag : float or ndarray
        From `stellar_limit_mag`.

    Returns
    -------
    float or ndarray
        log10 of its light over the least noticed [dex].
    """
    return 0.4 * (limit_mag - magnitude)


def grade_codes(margin_dex: Numbers) -> NDArray[np.intp]:
    """Sort margins into grades.

    Parameters
    ----------
    margin_dex : float or ndarray
        Margins over the threshold [dex]; NaN when the brightness is unknown.

    Returns
    -------
    ndarray of int
        Indices into ``GRADES``, same shape. A margin on a bound has the better grade.
    """
    known = np.searchsorted(GRADE_BOUNDS_DEX, margin_dex, side="right")
    return np.where(np.isnan(margin_dex), len(GRADES) - 1, known)


def grade_word(margin_dex: float | None) -> Grade:
    """Return the grade of one margin [dex]; None or NaN when the brightness is unknown."""
    if margin_dex is None or math.isnan(margin_dex):
        return Grade.UNKNOWN
    return GRADES[sum(margin_dex >= bound for bound in GRADE_BOUNDS_DEX)]
