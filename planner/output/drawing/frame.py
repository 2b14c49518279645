"""Which way up a field is: from east and north on the sky to right and up in the eyepiece."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.model.kit import Orientation

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Frame:
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

    def direction_deg(self, position_angle_deg: float) -> float:
        """Turn a position angle into a direction in the eyepiece, from the right, anticlockwise."""
        angle = math.radians(position_angle_deg)
        x, y = self.place(np.array(math.sin(angle)), np.array(math.cos(angle)))
        return math.degrees(math.atan2(float(y), float(x))) % 360.0
