"""What is to be found, from where one may begin, and the sky that all ways of a moment share."""

from __future__ import annotations

import numpy as np

from planner.model.finding import Waypoint
from planner.planning.finding.instruments import Instruments
from planner.planning.finding.star_sky import MomentSky
from targets.arrays import Floats
from targets.bright_stars import BrightStars
from targets.frozen import frozen
from targets.sphere import angle_deg, place_deg


@frozen
class Place:
    """Something on the sky: its name, its place, and the unit vector to it, ``(3,)``."""

    point: Waypoint
    direction: Floats


@frozen
class Goal(Place):
    """What is to be found.

    Parameters
    ----------
    plain : tuple of bool
        Whether it is plain to the eye, in the finder and in the low eyepiece.
    is_star : bool
        Whether another star beside it can be taken for it.
    """

    plain: tuple[bool, bool, bool]
    is_star: bool = False


@frozen
class StartingPoint(Place):
    """Where a way may begin beside the stars: a target looked at before.

    ``is_last`` tells that the telescope points there already.
    """

    is_last: bool


@frozen
class Sky:
    """What all ways of one moment share: the stars, where they are, the moment, the mount."""

    stars: BrightStars
    directions: Floats
    moment: MomentSky
    instruments: Instruments
    equatorial: bool

    def star(self, row: int) -> Place:
        """Return a star with its name."""
        ra_deg, dec_deg = place_deg(self.directions[row])
        magnitude = float(self.stars.magnitude[row])
        point = Waypoint(self.stars.name(row), float(ra_deg), float(dec_deg), magnitude)
        return Place(point, self.directions[row])

    def apart_deg(self, direction: Floats) -> Floats:
        """Return how far all stars are from a direction ``(3,)`` [deg]."""
        return angle_deg(self.directions, direction)

    def stands(self, direction: Floats) -> tuple[float, float]:
        """Return the apparent altitude and the azimuth of a direction ``(3,)`` [deg]."""
        moment = self.moment
        return float(moment.altitude_deg(direction)), float(moment.azimuth_deg(direction))

    def turned_deg(self, position_angle_deg: Floats | float, direction: Floats) -> float:
        """Return an angle on the sky as the mount moves.

        Parameters
        ----------
        position_angle_deg : float
            From north through east [deg].
        direction : ndarray
            Unit vector to where it is measured, ``(3,)``.

        Returns
        -------
        float
            From the zenith to the right, as one sees it who faces that part of the sky; for an
            equatorial mount the angle itself [deg].
        """
        if self.equatorial:
            return float(position_angle_deg)
        # With north up, angles grow to the left.
        return float(self.moment.zenith_angle_deg(direction) - np.asarray(position_angle_deg))
