"""Draws a target in the field of an eyepiece: what stands where, as the eye sees it."""

from __future__ import annotations

import numpy as np

from planner.model.kit import Mount, Orientation, Train
from planner.output.drawing.limiting_magnitude import (
    SkyBehind,
    ViewedSky,
    faintest_star_mag,
    zenith_of,
)
from planner.output.drawing.marks import FieldDrawing, Label, Star
from planner.output.drawing.orientation import ViewOrientation, tangent_plane_arcmin
from planner.output.drawing.target_marks import Marks, star_weight, target_marks
from targets.double_stars.doubles import primary_magnitude
from targets.field_stars import load_field_stars
from targets.model import Kind, Target
from targets.sphere import position_angle_deg, unit_vectors

__all__ = [
    "ViewedSky",
    "draw_field",
    "field_frame",
    "round_length_arcmin",
    "view_words",
    "wants_close_up",
]

# A target below this part of the field gets a close-up in which it is this much of the width;
# planets fill more of theirs, as nothing else is there to be seen, and pairs less.
SMALL, CLOSE, CLOSE_PLANET, CLOSE_PAIR = 0.12, 0.35, 0.6, 0.3
# The file of stars ends at G 10, which for stars of usual colours is about V 10.
FAINTEST_IN_FILE_MAG = 10.0
# Stars so near a target that is drawn itself are the target [of its half axis].
OWN_STARS = 1.3
# Nearby stars have moved since the epoch of the file; one as bright as the target and so near its
# place is the target [arcmin, mag].
MOVED_ARCMIN, SAME_MAG = 3.0, 0.8
SCALES_ARCMIN = (
    *(seconds / 60.0 for seconds in (1, 2, 5, 10, 20, 30)), 1, 2, 5, 10, 20, 30, 60, 120, 300, 600,
)  # fmt: skip


def draw_field(
    target: Target,
    train: Train,
    circumstance: ViewedSky,
    *,
    close_up: bool = False,
    behind: SkyBehind | None = None,
) -> FieldDrawing:
    """Draw a target in the middle of a field.

    Parameters
    ----------
    target : Target
        As it is at that instant, with a place; bodies and moving pairs too.
    close_up : bool
        Draw only the middle, so that a small target can be made out.
    behind : SkyBehind, optional
        The sky behind the target, if it is known already.

    Raises
    ------
    ValueError
        If the target has no place.
    """
    if target.ra_deg is None or target.dec_deg is None:
        raise ValueError(f"{target.name} has no place in the sky; only what has one can be drawn.")
    place = (target.ra_deg, target.dec_deg)
    frame = field_frame(place, train, circumstance)
    span = _close_span(target) if close_up else None
    span = min(span or train.true_field_arcmin, train.true_field_arcmin)
    limit = faintest_star_mag(target, train, circumstance, behind)
    faintest = min(limit, FAINTEST_IN_FILE_MAG)
    marks = target_marks(target, frame, circumstance, faintest_mag=faintest, limit_mag=limit)
    on_moon = target.kind in {Kind.MOON, Kind.LUNAR_FEATURE}
    stars = [] if on_moon else _stars(target, frame, span, faintest, marks)
    return FieldDrawing(
        span_arcmin=span,
        field_arcmin=train.true_field_arcmin,
        stars=(*stars, *(star for star in marks.stars if _is_inside(star, span))),
        outlines=marks.outlines,
        discs=marks.discs,
        labels=tuple(mark for mark in marks.labels if close_up and _is_inside(mark, span)),
        **frame.cardinals(),
        scale_arcmin=round_length_arcmin(span),
        words=view_words(
            train.telescope.orientation, train.telescope.mount, circumstance.site.latitude_deg
        ),
        is_driven=train.telescope.driven,
        faintest_mag=None if on_moon else faintest,
        limit_mag=None if on_moon or limit <= faintest else limit,
    )


def round_length_arcmin(span_arcmin: float) -> float:
    """Return a round length for the scale bar of a drawing of some width [arcmin]."""
    return max([s for s in SCALES_ARCMIN if s <= span_arcmin / 4.0], default=SCALES_ARCMIN[0])


def wants_close_up(target: Target, train: Train) -> bool:
    """Whether a target is too small in the field for its shape to be made out."""
    size = target.major_arcmin
    return size is not None and 0.0 < size < SMALL * train.true_field_arcmin


def field_frame(
    place: tuple[float, float], train: Train, circumstance: ViewedSky
) -> ViewOrientation:
    """Find which way up the sky is.

    For an altazimuth mount the zenith is up to the unaided eye; for an equatorial one the pole that
    stands above the horizon, as it is for somebody who faces the meridian.
    """
    if train.telescope.mount is Mount.EQUATORIAL:
        up = 0.0 if circumstance.site.latitude_deg >= 0.0 else 180.0
        return ViewOrientation(up, train.telescope.orientation)
    up = float(position_angle_deg(unit_vectors(*zenith_of(circumstance)), unit_vectors(*place)))
    return ViewOrientation(up, train.telescope.orientation)


def _is_inside(mark: Star | Label, span: float) -> bool:
    return bool(np.hypot(mark.x, mark.y) <= span / 2.0)


def _stars(
    target: Target, frame: ViewOrientation, span: float, faintest_mag: float, marks: Marks
) -> list[Star]:
    """The stars in the field, but for those that the target itself is; the faintest first."""
    radius = span / 2.0
    ra_deg, dec_deg = target.ra_deg or 0.0, target.dec_deg or 0.0
    near = load_field_stars().within(ra_deg, dec_deg, radius / 60.0)
    east, north = tangent_plane_arcmin(
        near.ra_deg, near.dec_deg, center_ra_deg=ra_deg, center_dec_deg=dec_deg
    )
    x, y = frame.place(east, north)
    apart = np.hypot(x, y)
    shown = (near.magnitude <= faintest_mag) & (apart <= radius)
    shown &= apart > OWN_STARS * marks.radius
    for magnitude in _own_magnitudes(target):
        shown &= (apart > MOVED_ARCMIN) | (np.abs(near.magnitude - magnitude) > SAME_MAG)
    rows = np.flatnonzero(shown)
    rows = rows[np.argsort(-near.magnitude[rows], kind="stable")]
    return [
        Star(
            float(x[row]),
            float(y[row]),
            star_weight(float(near.magnitude[row]), faintest_mag),
            float(near.magnitude[row]),
            None if np.isnan(near.bp_rp_mag[row]) else float(near.bp_rp_mag[row]),
        )
        for row in rows
    ]


def _own_magnitudes(target: Target) -> list[float]:
    """Return the magnitudes of a target that is a star or two."""
    if target.kind not in {Kind.STAR, Kind.DOUBLE_STAR}:
        return []
    known = (target.magnitude, primary_magnitude(target), target.companion_magnitude)
    return [magnitude for magnitude in known if magnitude is not None]


def _close_span(target: Target) -> float | None:
    """Return how wide a close-up is [arcmin]; None where the size is unknown."""
    if not target.major_arcmin:
        return None
    parts = {Kind.DOUBLE_STAR: CLOSE_PAIR, Kind.PLANET: CLOSE_PLANET}
    return target.major_arcmin / parts.get(target.kind, CLOSE)


def view_words(orientation: Orientation, mount: Mount, latitude_deg: float) -> str:
    """Say which way up a view is: ``inverted, zenith below``."""
    how = {
        Orientation.UPRIGHT: "upright",
        Orientation.INVERTED: "inverted",
        Orientation.MIRRORED: "mirrored, as through a star diagonal",
    }[orientation]
    is_inverted = orientation is Orientation.INVERTED
    if mount is Mount.ALTAZIMUTH:
        return f"{how}, zenith {'below' if is_inverted else 'above'}"
    return f"{how}, {'north' if (latitude_deg >= 0.0) != is_inverted else 'south'} above"
