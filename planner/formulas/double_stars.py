"""What keeps the two stars of a pair together: the aperture, the glare of the primary, the air.

The light around a bright star is taken as a sum of three: the rings of its diffraction pattern,
the halo that the air makes of it, and what glass, mirrors and dust scatter. A companion is seen
when its own image outshines that light.

References
----------
Airy 1835, Trans. Cambridge Phil. Soc. 5, 283: rings of a round aperture; their envelope falls with
the cube of the distance, 8 / (pi x^3) of the peak.
Kolmogorov's turbulence leaves a halo that falls with the power 11/3 (Roddier 1981, Progress in
Optics 19, 281); a Moffat profile of exponent 11/6 has that (Moffat 1969, A&A 3, 455).
Lewis 1914, The Observatory 37, 378: means of the closest unequal pairs that observers reported.
Stiles and Holladay: the veil that the eye scatters is 10 cd/m2 for each lux, over the square of the
angle in degrees (CIE 1926/1939, from memory).
"""

from __future__ import annotations

import numpy as np

from planner.formulas.photometry import light_ratio
from planner.formulas.resolution import (
    ARCSEC_PER_RADIAN,
    EYE_LIMIT_ARCMIN,
    VISUAL_WAVELENGTH_NM,
    dawes_limit_arcsec,
)
from planner.formulas.seeing import seeing_fwhm_arcsec
from targets.arrays import Floats

# The eye takes the steadiest moments, in which a star's image is some half of what a long exposure
# gives, and tells two stars apart at about the width of that image: our choice.
SEEING_SHARE = 0.5
# How easily a gap is told apart, by its share of what aperture or air leave apart: at Dawes's limit
# it is glimpsed, at Rayleigh's (1.2 times that) fair, at twice that easy, and inside of the limit
# soon lost (common practice: 60 mm split the Double Double with care, 80 mm at once) [dex].
PARTED_LIMITS = np.array([0.1, 1.0, 1.18, 2.0, 20.0])
PARTED_DEX = np.array([-4.95, 0.05, 0.42, 0.8, 2.8])
# The Moffat profile of the air's halo: its exponent, its scale over its full width at half maximum,
# and that width over the width at which two stars part (our choice).
HALO_EXPONENT = 11.0 / 6.0
HALO_SCALE = 0.5 / np.sqrt(2.0 ** (1.0 / HALO_EXPONENT) - 1.0)
HALO_SHARE = 0.85
# Light that optics and air scatter, over the peak of the star's image, at one arcsecond; it falls
# with the square of the angle (our estimate: 13.3 mag fainter than the star at 11").
SCATTER_AT_1_ARCSEC = 6e-4
# How many magnitudes a companion has to be brighter than that light, and what each further one is
# worth on the eye's scale [dex]. Two constants, fitted so that pairs at Lewis's means are hard in
# 150 mm and more under average air, and those that 75 to 100 mm split in steady air (Rigel, Izar,
# delta Cyg, Polaris: common practice) are hard to fair; below the first the light itself counts.
ABOVE_THE_GLARE_MAG = 0.4
DEX_PER_MAG = 0.2
DEX_PER_MAG_INSIDE = 0.45
# A pair at the first margin or below wants this power for each millimetre of aperture, so that the
# rings show as rings; one at the second takes any (common practice: close pairs at 1 to 2 times the
# aperture; where it begins is our choice).
DELICATE_POWER_PER_MM = 1.7
DELICATE_DEX = (0.4, 1.2)
# The eye parts unequal stars at its limit for equal ones and so much of it more for each magnitude
# of difference (our choice, so that Rigel is lost at 40 times: common practice).
EYE_LIMITS_PER_MAG = 0.25
# Where no gap is too small for the formulas: they are for stars apart.
_GAPS_ARCSEC = np.geomspace(0.05, 200.0, 240)
# Stiles and Holladay's veil holds from here outward; inside it counts as there [deg].
_VEIL_FROM_DEG = 0.1
_VEIL_CD_M2_PER_LUX = 10.0
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


def airy_radius(separation_arcsec: Floats, aperture_mm: float) -> Floats:
    """Return pi D sin(angle) / wavelength: where rings are, such as the first dark one at 3.832."""
    per_arcsec = 1e6 * np.pi * aperture_mm / (ARCSEC_PER_RADIAN * VISUAL_WAVELENGTH_NM)
    return np.asarray(per_arcsec * separation_arcsec)


def glare_mag(separation_arcsec: Floats, aperture_mm: float, image_arcsec: Floats) -> Floats:
    """Return by how much the light beside a star is fainter than the star's image.

    Parameters
    ----------
    separation_arcsec : ndarray
        Distance from the star [arcsec].
    aperture_mm : float
        Of the telescope [mm].
    image_arcsec : ndarray
        Width of a star's image in the steadiest moments [arcsec], from `air_limit_arcsec`.

    Returns
    -------
    ndarray
        Difference [mag], 0 on the star, growing outward. All arguments broadcast.
    """
    rings = 8.0 / (np.pi * np.power(airy_radius(separation_arcsec, aperture_mm), 3.0))
    scale = HALO_SCALE * HALO_SHARE * image_arcsec
    halo = np.power(1.0 + np.square(separation_arcsec / scale), -HALO_EXPONENT)
    scattered = SCATTER_AT_1_ARCSEC / np.square(separation_arcsec)
    return np.asarray(-2.5 * np.log10(np.minimum(rings + halo + scattered, 1.0)))


def glare_margin_dex(
    separation_arcsec: Floats, difference_mag: Floats, aperture_mm: float, image_arcsec: Floats
) -> Floats:
    """Return how far a companion outshines the light beside its primary, on the eye's scale [dex].

    Arguments as in `glare_mag`; ``difference_mag`` is companion minus primary, and an unknown one
    counts as none.
    """
    difference = np.nan_to_num(difference_mag, nan=0.0)
    beside = glare_mag(separation_arcsec, aperture_mm, image_arcsec)
    above = beside - difference - ABOVE_THE_GLARE_MAG
    return np.asarray(np.where(above < 0.0, DEX_PER_MAG_INSIDE, DEX_PER_MAG) * above)


def pair_margin_dex(
    separation_arcsec: Floats, difference_mag: Floats, aperture_mm: float, image_arcsec: Floats
) -> Floats:
    """Return how easily a pair is told apart, by its gap and by the glare [dex].

    Arguments as in `glare_margin_dex`; NaN where the separation is unknown.
    """
    closest = np.maximum(dawes_limit_arcsec(aperture_mm), image_arcsec)
    return np.asarray(
        np.minimum(
            parting_margin_dex(separation_arcsec, closest),
            glare_margin_dex(separation_arcsec, difference_mag, aperture_mm, image_arcsec),
        )
    )


def delicate_pair_power(margin_dex: Floats, aperture_mm: float) -> Floats:
    """Return the power that a pair wants so that its companion comes out of the light beside it.

    Parameters
    ----------
    margin_dex : ndarray
        From `pair_margin_dex` [dex].
    aperture_mm : float
        Of the telescope [mm].

    Returns
    -------
    ndarray
        Up to `DELICATE_POWER_PER_MM` of the aperture, less as the pair is easier, 0 for what is
        far apart.
    """
    share = np.interp(margin_dex, DELICATE_DEX, (1.0, 0.0))
    return np.asarray(DELICATE_POWER_PER_MM * aperture_mm * share)


def glare_limit_arcsec(aperture_mm: float, difference_mag: Floats, image_arcsec: Floats) -> Floats:
    """Return the closest gap at which the glare lets a companion be seen, or the aperture parts.

    Parameters
    ----------
    aperture_mm : float
        Of the telescope [mm].
    difference_mag, image_arcsec : ndarray
        Of N pairs, shape (N,): as in `glare_margin_dex`.

    Returns
    -------
    ndarray
        Shape (N,) [arcsec], never below Dawes's limit.
    """
    difference, image = np.broadcast_arrays(difference_mag, image_arcsec)
    margins = glare_margin_dex(_GAPS_ARCSEC, difference[..., None], aperture_mm, image[..., None])
    first = np.argmax(margins >= 0.0, axis=-1)
    last = np.where(margins[..., -1] < 0.0, len(_GAPS_ARCSEC) - 1, first)
    return np.asarray(np.maximum(_GAPS_ARCSEC[last], dawes_limit_arcsec(aperture_mm)))


def veil_cd_m2(primary_lux: Floats, apparent_deg: Floats) -> Floats:
    """Return the light that a star scatters in the eye beside itself.

    Parameters
    ----------
    primary_lux : ndarray
        Of the star at the eye [lux].
    apparent_deg : ndarray
        Apparent distance from it [deg].

    Returns
    -------
    ndarray
        Luminance [cd/m2].
    """
    away = np.maximum(apparent_deg, _VEIL_FROM_DEG)
    return np.asarray(_VEIL_CD_M2_PER_LUX * primary_lux / np.square(away))


def eye_margin_dex(separation_arcsec: Floats, difference_mag: Floats, power: Floats) -> Floats:
    """Return how easily the eye itself parts a pair at a power, as `pair_margin_dex` [dex]."""
    difference = np.nan_to_num(difference_mag, nan=0.0)
    limit_arcmin = EYE_LIMIT_ARCMIN * (1.0 + EYE_LIMITS_PER_MAG * difference)
    return parting_margin_dex(separation_arcsec * power / 60.0, limit_arcmin)


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
    ratio = np.log(separation_arcsec / limit_arcsec)
    return np.asarray(np.interp(ratio, np.log(PARTED_LIMITS), PARTED_DEX))
