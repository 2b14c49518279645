"""From light to tones: what an eye in the dark makes of it, on paper, screen or terminal.

Tones are 0 (black) .. 1. The sky has one by its luminance, a step for each factor of ten above what
is black to the eye: its own noise, or what is far below the mean of the field beside the Moon or a
planet. What stands out from it is as much lighter as it is above the least that the eye
notices against it, by the logarithm again. Steps are our choice, the same for all views.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.formulas.contrast_threshold import BLACK_CD_M2
from planner.formulas.visibility_limit import GRADE_BOUNDS_DEX
from planner.output.appearance.glow import Backdrop
from planner.output.appearance.light_map import Grid
from planner.output.drawing.marks import Star
from targets.arrays import Floats
from targets.frozen import frozen

# The eye's own grey, which no field is darker than, and a step of the sky's.
OWN_TONE, SKY_TONE_PER_DEX = 0.03, 0.12
# What is so far below the mean light of the field is black (common practice for cameras and eyes).
BLACK_BELOW_MEAN = 1e-2
# What is so far above the least noticed is white [dex].
WHITE_DEX = 3.0
# A star of so many magnitudes over the limit is white; brighter ones grow.
WHITE_STAR_MAG, FAINT_STAR_TONE = 3.5, 0.25
# Width of a star's spot: of a faint one, and how it grows with each magnitude above white [cells].
SPOT_CELLS, GROWTH_CELLS = 0.6, 0.16
# Colours of stars show from so far above the limit on, and fully after as much again (cones need
# the light; common practice) [mag].
COLOUR_FROM_MAG, COLOUR_FULL_MAG = 3.0, 7.0
# Tints of black bodies as screens show them, by Gaia's BP - RP (our reading of common colours).
TINT_COLOURS = (-0.4, 0.3, 0.9, 1.6, 3.0)
TINTS = np.array(
    [(0.72, 0.83, 1.0), (0.95, 0.97, 1.0), (1.0, 0.95, 0.82), (1.0, 0.82, 0.58), (1.0, 0.62, 0.36)]
)


@frozen
class Cover:
    """A disc of one luminance [cd/m2] and how much of each cell it covers, 0 .. 1."""

    covered: Floats
    luminance_cd_m2: float


def tones_of(added_cd_m2: Floats, discs: Sequence[Cover], backdrop: Backdrop) -> Floats:
    """Return the tones of the light on a map.

    Parameters
    ----------
    added_cd_m2 : ndarray
        What glows add to the sky [cd/m2]; dark clouds take away.
    discs : sequence of Cover
        What lies over it.

    Returns
    -------
    ndarray
        The shape of the map.
    """
    mean_cd_m2 = float(np.mean(backdrop.sky_cd_m2 + added_cd_m2)) + sum(
        disc.luminance_cd_m2 * float(np.mean(disc.covered)) for disc in discs
    )
    black_cd_m2 = max(BLACK_CD_M2, BLACK_BELOW_MEAN * mean_cd_m2)

    def toned(added: Floats) -> Floats:
        luminance = np.maximum(backdrop.sky_cd_m2 + np.minimum(added, 0.0), 0.0)
        sky = sky_tone(luminance, black_cd_m2)
        above = np.log10(1.0 + np.maximum(added, 0.0) / backdrop.least_cd_m2) / WHITE_DEX
        return np.asarray(np.minimum(sky + (1.0 - sky) * np.minimum(above, 1.0), 1.0))

    tones = toned(added_cd_m2)
    for disc in discs:
        tones += disc.covered * (float(toned(np.array(disc.luminance_cd_m2))) - tones)
    return tones


def with_stars(tones: Floats, stars: Sequence[Star], grid: Grid, limit_mag: float) -> Floats:
    """Return tones with spots for stars, in colours: (cells, cells, 3)."""
    picture = np.repeat(tones[..., None], 3, axis=2)
    for star in stars:
        if star.magnitude is not None:
            _spot(picture, star, grid, limit_mag - star.magnitude)
    return np.minimum(picture, 1.0)


def sky_tone(luminance_cd_m2: Floats | float, black_cd_m2: float = BLACK_CD_M2) -> Floats:
    """Return the tone of a sky of a luminance, beside what is black to the eye [cd/m2]."""
    return np.asarray(OWN_TONE + SKY_TONE_PER_DEX * np.log10(1.0 + luminance_cd_m2 / black_cd_m2))


def tint_of(bp_rp_mag: float | None) -> Floats:
    """Return the shares of red, green and blue of a star's colour; white where it is not known."""
    if bp_rp_mag is None:
        return np.ones(3)
    return np.array([np.interp(bp_rp_mag, TINT_COLOURS, channel) for channel in TINTS.T])


def behind_field_stop(grid: Grid, field_arcmin: float) -> Floats:
    """Return how much of each cell lies in the field, (cells, cells): 0 outside, 1 inside."""
    x, y = grid.places()
    away = (field_arcmin / 2.0 - np.hypot(x, y)) / grid.cell_arcmin
    return np.asarray(np.clip(0.5 + away, 0.0, 1.0))


def as_bytes(picture: Floats) -> NDArray[np.uint8]:
    """Return tones, 0 .. 1, as bytes."""
    return np.round(255.0 * np.clip(picture, 0.0, 1.0)).astype(np.uint8)


def _spot(picture: Floats, star: Star, grid: Grid, above_mag: float) -> None:
    """Add the spot of a star that is so much brighter than the faintest that is seen."""
    seen = np.clip(
        (0.4 * above_mag - GRADE_BOUNDS_DEX[0]) / (GRADE_BOUNDS_DEX[1] - GRADE_BOUNDS_DEX[0]), 0, 1
    )
    white = float(np.clip(above_mag / WHITE_STAR_MAG, 0.0, 1.0))
    tone = seen * (FAINT_STAR_TONE + (1.0 - FAINT_STAR_TONE) * white)
    width = SPOT_CELLS + GROWTH_CELLS * max(above_mag - WHITE_STAR_MAG, 0.0)
    column = star.x / grid.cell_arcmin + grid.cells / 2.0
    row = grid.cells / 2.0 - star.y / grid.cell_arcmin
    reach = math.ceil(3.5 * width)
    rows, columns = (
        np.arange(max(math.floor(at) - reach, 0), min(math.floor(at) + reach + 1, grid.cells))
        for at in (row, column)
    )
    if not rows.size or not columns.size:
        return
    away = np.square(rows[:, None] + 0.5 - row) + np.square(columns + 0.5 - column)
    # A spot whose middle lies between cells is as bright as one whose middle lies in one.
    spot = np.exp(-0.5 * away / width**2)
    spot *= tone / max(float(spot.max()), 0.5)
    part = picture[int(rows[0]) : int(rows[-1]) + 1, int(columns[0]) : int(columns[-1]) + 1]
    part += spot[..., None] * _tint(star.bp_rp_mag, above_mag)


def _tint(bp_rp_mag: float | None, above_mag: float) -> Floats:
    """Return the shares of red, green and blue of a star as far as the eye sees colour."""
    shown = np.clip((above_mag - COLOUR_FROM_MAG) / (COLOUR_FULL_MAG - COLOUR_FROM_MAG), 0.0, 1.0)
    return np.asarray(1.0 + shown * (tint_of(bp_rp_mag) - 1.0))
