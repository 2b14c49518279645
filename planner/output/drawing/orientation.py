"""The plane that touches the sky, and how an eyepiece turns and mirrors it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from planner.model.kit import Orientation
from targets.arrays import Floats
from targets.frozen import frozen


def tangent_plane_arcmin(
    ra_deg: Floats, dec_deg: Floats, *, center_ra_deg: float, center_dec_deg: float
) -> tuple[Floats, Floats]:
    """Project places onto the plane that touches the sky at a centre.

    Parameters
    ----------
    ra_deg, dec_deg : ndarray
        Places [deg], within 90 degrees of the centre.
    center_ra_deg, center_dec_deg : float
        Where the plane touches [deg].

    Returns
    -------
    east_arcmin, north_arcmin : ndarray
        Standard coordinates [arcmin].

    References
    ----------
    Smart 1977, "Textbook on Spherical Astronomy", 6th ed., sec. 161.
    """
    ra, dec = np.radians(ra_deg - center_ra_deg), np.radians(dec_deg)
    dec0 = math.radians(center_dec_deg)
    depth = np.sin(dec) * math.sin(dec0) + np.cos(dec) * math.cos(dec0) * np.cos(ra)
    east = np.cos(dec) * np.sin(ra) / depth
    north = (np.sin(dec) * math.cos(dec0) - np.cos(dec) * math.sin(dec0) * np.cos(ra)) / depth
    return 60.0 * np.degrees(east), 60.0 * np.degrees(north)


@frozen
class ViewOrientation:
    """How the sky lies in the eyepiece.

    To the unaided eye the reference direction is up, and east lies left of north. An inverting
    telescope turns that by half a turn; a mirroring one, with a star diagonal, exchanges left and
    right.

    Parameters
    ----------
    up_deg : float
        Position angle of the direction that is up to the unaided eye [deg].
    orientation : Orientation
        What the telescope does to it.
    """

    up_deg: float
    orientation: Orientation

    def place(self, east: Floats, north: Floats) -> tuple[Floats, Floats]:
        """Turn offsets to the east and north into offsets to the right and up."""
        angle = math.radians(self.up_deg)
        up = north * math.cos(angle) + east * math.sin(angle)
        left = east * math.cos(angle) - north * math.sin(angle)
        if self.orientation is Orientation.INVERTED:
            return left, -up
        if self.orientation is Orientation.MIRRORED:
            return left, up
        return -left, up

    def cardinals(self) -> dict[str, Any]:
        """Return where north, east and west, to which stars drift, lie, as a `FieldDrawing` has."""
        angles = (("north_deg", 0.0), ("east_deg", 90.0), ("drift_deg", 270.0))
        return {name: self.direction_deg(angle) for name, angle in angles}

    def direction_deg(self, position_angle_deg: float) -> float:
        """Turn a position angle into a direction in the eyepiece, from the right, anticlockwise."""
        angle = math.radians(position_angle_deg)
        x, y = self.place(np.array(math.sin(angle)), np.array(math.cos(angle)))
        return math.degrees(math.atan2(float(y), float(x))) % 360.0
