"""What a drawing of a field is made of: marks at their places, as the eye sees them.

Places are arcminutes from the middle of the field, x to the right and y up. Angles of marks are
degrees from the x axis, against the clock.
"""

from __future__ import annotations

import math
from typing import TypeVar

from targets.arrays import Floats
from targets.frozen import frozen

Length = TypeVar("Length", float, Floats)


@frozen
class Star:
    """A star.

    Parameters
    ----------
    x, y : float
        Place [arcmin].
    weight : float
        0 (just seen) .. 1 (brilliant).
    magnitude : float or None
        V; None where it is not known.
    bp_rp_mag : float or None
        Its colour; None where it is not known.
    """

    x: float
    y: float
    weight: float
    magnitude: float | None = None
    bp_rp_mag: float | None = None


@frozen
class Outline:
    """The edge of something extended: an ellipse with half axes [arcmin] and angle [deg]."""

    x: float
    y: float
    semi_major: float
    semi_minor: float
    angle_deg: float = 0.0


@frozen
class Ring:
    """Rings around a disc.

    Parameters
    ----------
    semi_major, semi_minor : float
        Half axes of the outer edge [arcmin].
    inner : float
        The inner edge, in parts of the outer.
    angle_deg : float
        Of the long axis [deg].
    near_is_across : bool
        Whether the half that is nearer to the eye lies on the side of the short axis that is a
        quarter turn against the clock from the long one; else on the other.
    """

    semi_major: float
    semi_minor: float
    inner: float
    angle_deg: float
    near_is_across: bool


@frozen
class Disc:
    """A body with a phase.

    Parameters
    ----------
    x, y : float
        Middle [arcmin].
    semi_major, semi_minor : float
        Half axes [arcmin].
    angle_deg : float
        Of the long axis [deg].
    lit : float
        Lit fraction, 0 .. 1.
    sunward_deg : float
        Direction of the bright limb [deg].
    ring : Ring or None
        Around it.
    """

    x: float
    y: float
    semi_major: float
    semi_minor: float
    angle_deg: float = 0.0
    lit: float = 1.0
    sunward_deg: float = 0.0
    ring: Ring | None = None

    def is_lit(self, x: float, y: float) -> bool | None:
        """Tell whether a point [arcmin] of the disc is lit; None when it lies outside."""
        along, across = turned(x - self.x, y - self.y, -self.angle_deg)
        if (along / self.semi_major) ** 2 + (across / self.semi_minor) ** 2 > 1.0:
            return None
        sunward, aside = turned(x - self.x, y - self.y, -self.sunward_deg)
        half = math.sqrt(max(self.semi_major**2 - aside**2, 0.0))
        return sunward >= (1.0 - 2.0 * self.lit) * half


@frozen
class Label:
    """A word at a place [arcmin], beside a mark."""

    x: float
    y: float
    text: str


@frozen
class Track:
    """A line through places [arcmin], straight from each to the next; an arrow has a head."""

    points: tuple[tuple[float, float], ...]
    is_arrow: bool = False


@frozen
class FieldDrawing:
    """A field of view.

    Parameters
    ----------
    span_arcmin : float
        What the drawing is wide and high.
    field_arcmin : float
        Diameter of the field; larger than the span in a close-up.
    stars, outlines, discs, labels, tracks
        Marks.
    north_deg, east_deg, drift_deg : float
        Directions [deg]; stars drift to ``drift_deg`` while the telescope stands still.
    scale_arcmin : float
        A round length for a scale bar.
    words : str
        Which way up it is, in a clause.
    is_driven : bool
        Whether motors hold the sky still, so that stars drift with these switched off alone.
    faintest_mag : float or None
        V of the faintest stars that are drawn; None where no star is.
    limit_mag : float or None
        V of the faintest star that is seen there; None where that is all that is drawn.
    """

    span_arcmin: float
    field_arcmin: float
    stars: tuple[Star, ...] = ()
    outlines: tuple[Outline, ...] = ()
    discs: tuple[Disc, ...] = ()
    labels: tuple[Label, ...] = ()
    north_deg: float = 90.0
    east_deg: float = 180.0
    drift_deg: float = 0.0
    scale_arcmin: float = 1.0
    words: str = ""
    is_driven: bool = False
    faintest_mag: float | None = None
    limit_mag: float | None = None
    tracks: tuple[Track, ...] = ()

    @property
    def is_close_up(self) -> bool:
        """Whether the edge of the field is outside."""
        return self.field_arcmin > self.span_arcmin


def turned(x: Length, y: Length, by_deg: float) -> tuple[Length, Length]:
    """Turn a place, or an array of places, about the middle, against the clock [deg]."""
    angle = math.radians(by_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    return x * cosine - y * sine, x * sine + y * cosine
