"""The middle of a view of a pair, enlarged: how the light of its two stars runs together.

The light of each star is laid out as `planner.formulas.double_stars` has it: the image that the
aperture and the steadiest moments leave, its rings, the air's halo and scattered light; then the
eye blurs all of it. What comes out is the same sum from which the pair's grade follows.
"""

from __future__ import annotations

import numpy as np

from planner.config.preferences import Preferences
from planner.formulas.contrast_threshold import SR_PER_ARCMIN2
from planner.formulas.double_stars import air_limit_arcsec, airy_radius, glare_mag
from planner.formulas.photometry import light_ratio, star_lux
from planner.formulas.resolution import EYE_LIMIT_ARCMIN
from planner.formulas.visibility_limit import GRADE_BOUNDS_DEX
from planner.matcher.lens import Lens, Moment, passed_shares
from planner.matcher.target_classes import target_table_of
from planner.matcher.visibility import margins_dex
from planner.output.appearance.glow import backdrop
from planner.output.appearance.light_map import Grid
from planner.output.appearance.tones import sky_tone, tint_of
from planner.output.drawing.marks import Star
from targets.arrays import Floats
from targets.model import Kind, Target

# How wide the middle is before the eye, in gaps of the pair; at least so wide, and a pair that is
# wider apart needs no close-up (our choice) [deg].
GAPS_WIDE, LEAST_DEG, MOST_DEG = 3.5, 0.7, 6.0
CELLS = 160
# White and black lie so far apart [dex]: ten magnitudes, as far as pairs are unlike.
TONES_DEX = 4.0
# The eye parts two stars at about 1.6 times the width of its own image of one (our estimate).
EYE_FWHM_ARCMIN = EYE_LIMIT_ARCMIN / 1.6
# Half of the width at half maximum of a Gaussian curve, in standard deviations.
HALF_WIDTH_SIGMA = np.sqrt(2.0 * np.log(2.0))
# Width of the middle of the diffraction pattern at half maximum, and its first dark ring, on the
# scale of `airy_radius` (Bessel function).
AIRY_HALF_WIDTH, FIRST_DARK_RING = 1.616, 3.832


def middle_deg(target: Target, magnifications: list[float]) -> float | None:
    """Return how wide a close-up is before the eye [deg]; None for what wants none."""
    if target.kind is not Kind.DOUBLE_STAR or not target.major_arcmin:
        return None
    wide = GAPS_WIDE * target.major_arcmin / 60.0 * max(magnifications)
    return None if wide > MOST_DEG else max(wide, LEAST_DEG)


def pair_picture(
    target: Target,
    stars: tuple[Star, ...],
    middle: float,
    moment: Moment,
    lens: Lens,
    preferences: Preferences,
) -> Floats:
    """Return the middle of a view of a pair in tones of red, green and blue.

    Parameters
    ----------
    stars : tuple of Star
        Both in the view, the brighter in the middle first.
    middle : float
        Apparent width [deg].
    moment, lens
        Of shape (1, 1).

    Returns
    -------
    ndarray
        0 .. 1, (CELLS, CELLS, 3).
    """
    behind = backdrop(moment, lens)
    power = float(lens.magnification[0, 0])
    grid = Grid(CELLS, 60.0 * middle / power / CELLS)
    table = target_table_of([target], preferences)
    margin = float(margins_dex(table, moment, lens, preferences)[0, 0])
    air_arcsec = float(air_limit_arcsec(moment.seeing_step, moment.altitude_deg)[0, 0])
    width_arcsec = np.hypot(air_arcsec, _airy_width_arcsec(lens.aperture_mm))
    passed, _ = passed_shares(lens)
    gain = float((lens.light_gain * passed)[0, 0])
    light = []
    for number, star in enumerate(stars):
        lux = star_lux((star.magnitude or 0.0) + float(moment.loss_mag[0, 0])) * gain
        spread_sr = np.pi / (4.0 * np.log(2.0)) * (width_arcsec / 60.0) ** 2 * SR_PER_ARCMIN2
        seen = 1.0 if number == 0 else _stands_out(margin)
        shape = _star_shape(star, grid, lens.aperture_mm, air_arcsec)
        light.append(seen * lux / spread_sr * _blurred(shape, middle))
    added = np.sum(light, axis=0)
    white = max(float(added.max()), 10.0**TONES_DEX * behind.least_cd_m2)
    dark = sky_tone(behind.sky_cd_m2)
    step = np.log10(np.maximum(added, behind.least_cd_m2) / white) / TONES_DEX
    tones = dark + (1.0 - dark) * np.clip(1.0 + step, 0.0, 1.0)
    shares = [one / np.maximum(added, 1e-30) for one in light]
    tint = sum(
        share[..., None] * tint_of(star.bp_rp_mag)
        for share, star in zip(shares, stars, strict=True)
    )
    bright = np.clip((tones - dark) / (1.0 - dark), 0.0, 1.0)[..., None]
    return np.asarray(tones[..., None] * (1.0 + bright * (tint - 1.0)))


def _airy_width_arcsec(aperture_mm: float) -> float:
    """Return the width at half maximum of a perfect image of a star [arcsec]."""
    return 2.0 * AIRY_HALF_WIDTH / float(airy_radius(np.array(1.0), aperture_mm))


def _stands_out(margin_dex: float) -> float:
    """Return how far a companion comes out of its primary's light, 0 .. 1."""
    low, high = GRADE_BOUNDS_DEX[0], GRADE_BOUNDS_DEX[1]
    return float(np.clip((np.nan_to_num(margin_dex) - low) / (high - low), 0.0, 1.0))


def _star_shape(star: Star, grid: Grid, aperture_mm: float, air_arcsec: float) -> Floats:
    """Return the light of a star beside that of its image's middle, (CELLS, CELLS)."""
    x, y = grid.places()
    away = np.maximum(60.0 * np.hypot(x - star.x, y - star.y), 1e-3)
    sigma = np.hypot(air_arcsec, _airy_width_arcsec(aperture_mm)) / 2.0 / HALF_WIDTH_SIGMA
    core = np.exp(-0.5 * np.square(away / sigma))
    radius = airy_radius(away, aperture_mm)
    # Far out the pattern is its envelope times a squared cosine; unsteady air smears it out.
    rings = 2.0 * np.square(np.cos(radius - 0.75 * np.pi))
    steady = np.exp(-np.square(air_arcsec * float(airy_radius(np.array(1.0), aperture_mm)) / 4.0))
    beside = light_ratio(glare_mag(away, aperture_mm, np.array(air_arcsec)))
    around = np.where(
        radius > FIRST_DARK_RING, beside * (1.0 + steady * (rings - 1.0)), np.minimum(beside, core)
    )
    return np.asarray(np.maximum(core, around))


def _blurred(shape: Floats, middle: float) -> Floats:
    """Return a map as the eye's own image of it, by its apparent width [deg]."""
    sigma = EYE_FWHM_ARCMIN / 2.0 / HALF_WIDTH_SIGMA / (60.0 * middle / CELLS)
    reach = int(np.ceil(4.0 * sigma))
    curve = np.exp(-0.5 * np.square(np.arange(-reach, reach + 1) / sigma))
    curve /= curve.sum()
    shape = np.pad(shape, reach, mode="edge")
    for axis in (0, 1):
        shape = np.apply_along_axis(np.convolve, axis, shape, curve, mode="valid")
    return shape
