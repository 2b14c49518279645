"""Views of a target in several eyepieces, as they will look, on one scale of apparent angle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.formulas.contrast_threshold import SR_PER_ARCMIN2
from planner.formulas.photometry import light_ratio, luminance_cd_m2, star_lux
from planner.matcher.lens import Lens, lens_of, passed_shares
from planner.matcher.train_table import tabulate_trains
from planner.model.kit import Train
from planner.output.appearance.close_up import middle_deg, pair_picture
from planner.output.appearance.glow import backdrop, glow_of, magnitude_left
from planner.output.appearance.light_map import Grid, disc_map, glow_map, lit_area_arcmin2
from planner.output.appearance.tones import Cover, as_bytes, behind_field_stop, tones_of, with_stars
from planner.output.drawing.field import draw_field
from planner.output.drawing.limiting_magnitude import SkyBehind, ViewedSky, sky_behind
from planner.output.drawing.marks import Disc, FieldDrawing
from targets.arrays import Floats
from targets.field_stars import load_field_stars
from targets.frozen import frozen
from targets.model import Kind, Target

# Those whose stars are drawn one by one; what the list of stars does not hold is a glow.
OF_STARS = (Kind.OPEN_CLUSTER, Kind.STAR_CLOUD, Kind.ASTERISM)
# The full Moon's, where a feature's own brightness is not known: -12.7 over 31' (common knowledge).
MOON_MAG_ARCSEC2 = 3.4
# The widest of the views is so many cells across.
WIDEST_CELLS = 360
# The narrowest keeps enough to be looked at.
LEAST_CELLS = 40


@frozen(eq=False)
class Appearance:
    """A target in one eyepiece as it will look.

    Parameters
    ----------
    drawing : FieldDrawing
        The same with its marks.
    apparent_deg : float
        How wide the view stands before the eye: power times true field [deg].
    tones : ndarray
        Of all but the stars, 0 (black) .. 1, (cells, cells).
    picture : ndarray of uint8
        With the stars, in red, green and blue, (cells, cells, 3).
    limit_mag : float
        V of the faintest star that is seen; drawn are those that the list of stars holds.
    has_rest : bool
        Whether a glow stands for stars that the list of stars does not hold.
    middle : ndarray of uint8 or None
        The middle of the view enlarged, alike for all trains, where a pair wants it.
    middle_deg : float or None
        How wide that stands before the eye [deg].
    """

    train: Train
    drawing: FieldDrawing
    apparent_deg: float
    tones: Floats
    picture: NDArray[np.uint8]
    limit_mag: float
    has_rest: bool = False
    middle: NDArray[np.uint8] | None = None
    middle_deg: float | None = None


def appearances(
    target: Target,
    trains: Sequence[Train],
    circumstance: ViewedSky,
    preferences: Preferences,
    *,
    widest_cells: int = WIDEST_CELLS,
) -> list[Appearance]:
    """Return how a target will look in each of several trains.

    Parameters
    ----------
    target : Target
        As it is at that instant, with a place.
    widest_cells : int
        How wide the view with the widest apparent field is.

    Raises
    ------
    ValueError
        If the target has no place.
    """
    if not trains:
        return []
    widest_deg = max(_apparent_deg(train) for train in trains)
    scale = widest_cells / widest_deg
    behind = sky_behind(target, circumstance)
    views = [
        _appearance(target, train, circumstance, preferences, behind, scale) for train in trains
    ]
    wide_deg = middle_deg(target, [train.magnification for train in trains])
    if wide_deg is None:
        return views
    moment = behind.moment(circumstance.conditions)
    return [
        replace(
            view,
            middle=as_bytes(
                # Its own stars the drawing holds last, the brighter first.
                pair_picture(target, view.drawing.stars[-2:], wide_deg, moment, lens, preferences)
            ),
            middle_deg=wide_deg,
        )
        for view in views
        for lens in [_lens(view.train, circumstance)]
    ]


def _lens(train: Train, circumstance: ViewedSky) -> Lens:
    return lens_of(tabulate_trains([train]), train.telescope, circumstance.conditions.pupil_mm)


def _appearance(
    target: Target,
    train: Train,
    circumstance: ViewedSky,
    preferences: Preferences,
    behind: SkyBehind,
    cells_per_deg: float,
) -> Appearance:
    drawing = draw_field(target, train, circumstance, behind=behind)
    apparent_deg = _apparent_deg(train)
    cells = max(round(apparent_deg * cells_per_deg), LEAST_CELLS)
    grid = Grid(cells, train.true_field_arcmin / cells)
    conditions = circumstance.conditions
    moment = behind.moment(conditions)
    lens = _lens(train, circumstance)
    shone = _shining(target) if drawing.outlines and target.lunar is None else None
    glow = None if shone is None else glow_of(shone, moment, lens, preferences)
    added = np.zeros((cells, cells)) if glow is None else glow_map(glow, drawing.outlines[0], grid)
    discs = [
        Cover(disc_map(disc, grid), disc_cd_m2(target, disc, behind, lens))
        for disc in drawing.discs
    ]
    tones = tones_of(added, discs, backdrop(moment, lens))
    limits = [limit for limit in (drawing.limit_mag, drawing.faintest_mag) if limit is not None]
    limit_mag = max(limits, default=0.0)
    field = behind_field_stop(grid, train.true_field_arcmin)
    picture = with_stars(tones, drawing.stars, grid, limit_mag) * field[..., None]
    return Appearance(
        train,
        drawing,
        apparent_deg,
        tones=tones * field,
        picture=as_bytes(picture),
        limit_mag=limit_mag,
        has_rest=glow is not None and target.kind in OF_STARS,
    )


def _apparent_deg(train: Train) -> float:
    return train.magnification * train.true_field_arcmin / 60.0


def _shining(target: Target) -> Target | None:
    """Return a target with the light that is spread; None where single stars are all there is."""
    if target.kind is Kind.ASTERISM:
        return None
    if target.kind not in OF_STARS or target.magnitude is None:
        return target
    place = (target.ra_deg or 0.0, target.dec_deg or 0.0)
    own = load_field_stars().within(*place, (target.major_arcmin or 0.0) / 120.0)
    return magnitude_left(target, own.magnitude)


def disc_cd_m2(target: Target, disc: Disc, behind: SkyBehind, lens: Lens) -> float:
    """Return the mean luminance of the lit parts of a body as the eye gets it [cd/m2]."""
    luminance = luminance_cd_m2(MOON_MAG_ARCSEC2)
    area_sr = lit_area_arcmin2(disc) * SR_PER_ARCMIN2
    if target.lunar is None and target.magnitude is not None and area_sr > 0.0:
        luminance = star_lux(target.magnitude) / area_sr
    passed, _ = passed_shares(lens)
    share = (lens.light_gain * passed)[0, 0] * light_ratio(behind.loss_mag)
    return float(luminance * share)
