"""The stars around a goal as nodes of a net: where a way may begin, and where a move may end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.planning.finding.goal import Goal, Place, Sky, StartingPoint
from planner.planning.finding.moves import aiming_min
from planner.planning.finding.star_sky import PLAIN_MAG
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen

# A star so near the place of a target is the target [deg].
SAME_DEG = 2.0 / 60.0
# A star at which one aims by eye stands alone by this much (our choice) [deg].
START_ALONE_DEG = 1.0
# The eye is sure of a star that is so much brighter than the faintest it sees (our choice) [mag].
START_SPARE_MAG = 0.5
# Where the telescope points already, one only looks up from the eyepiece; what was looked at before
# and is plain to the eye is known (our choice) [min].
FROM_THE_LAST_MIN, FROM_ONE_BEFORE_MIN = 0.2, 0.5


@frozen
class Nodes:
    """M nodes: stars, other origins, and the goal as the last.

    Parameters
    ----------
    sky : Sky
        Whose stars they are.
    rows : ndarray of int
        Of those that are stars; the others follow them.
    others : tuple of Place
        These.
    directions : ndarray
        Unit vectors, ``(M, 3)``.
    alone_deg : ndarray
        How far each stands alone, 0 where no move may end but at the goal [deg], ``(M,)``.
    spare_mag : ndarray
        How much brighter each is than the faintest star in the eye, the finder and the low
        eyepiece [mag], ``(3, M)``; minus infinity for what is no star.
    starts_min : ndarray
        What it takes to begin at each, infinite where one cannot [min], ``(M,)``.
    """

    sky: Sky
    rows: Codes
    others: tuple[Place, ...]
    directions: Floats
    alone_deg: Floats
    spare_mag: Floats
    starts_min: Floats

    def place(self, node: int) -> Place:
        """Return a node with its name."""
        if node < len(self.rows):
            return self.sky.star(int(self.rows[node]))
        return self.others[node - len(self.rows)]


def nodes_around(
    goal: Goal, sky: Sky, origins: Sequence[StartingPoint], apart_deg: Floats, reach_deg: float
) -> Nodes:
    """Return the nodes within a reach [deg] of a goal; ``apart_deg`` are all stars' distances."""
    rows, spare_mag = _up_and_plain(sky, (apart_deg <= reach_deg) & (apart_deg > SAME_DEG))
    alone_deg = sky.stars.alone_deg[rows]
    begins = may_begin(spare_mag[0], alone_deg)
    others = (*origins, goal)
    begin_min = [FROM_THE_LAST_MIN if one.is_last else FROM_ONE_BEFORE_MIN for one in origins]
    return Nodes(
        sky=sky,
        rows=rows,
        others=others,
        directions=np.concatenate([sky.directions[rows], [one.direction for one in others]]),
        alone_deg=np.concatenate([alone_deg, np.zeros(len(others))]),
        spare_mag=np.pad(spare_mag, ((0, 0), (0, len(others))), constant_values=-np.inf),
        starts_min=np.concatenate(
            [
                np.where(begins, aiming_min(spare_mag[0], sky.stars.magnitude[rows]), np.inf),
                begin_min,
                [np.inf],
            ]
        ),
    )


def stars_to_aim_at(sky: Sky, among: Flags) -> tuple[Codes, Floats]:
    """Return the rows of stars at which one can aim by eye, and by how much they are plain."""
    rows, spare_mag = _up_and_plain(sky, among)
    begins = may_begin(spare_mag[0], sky.stars.alone_deg[rows])
    return rows[begins], spare_mag[0, begins]


def may_begin(spare_mag: Floats, alone_deg: Floats) -> Flags:
    """Tell which stars are plain to the eye by so much [mag], and stand alone enough [deg]."""
    return np.asarray((spare_mag >= START_SPARE_MAG) & (alone_deg >= START_ALONE_DEG))


def _up_and_plain(sky: Sky, among: Flags) -> tuple[Codes, Floats]:
    """Return rows of stars above the skyline that some instrument shows plainly, and the spare."""
    rows = np.flatnonzero(among)
    rows = rows[sky.moment.is_up(sky.directions[rows])]
    limits_mag = sky.moment.limits_mag(sky.directions[rows], sky.instruments)
    spare_mag = limits_mag - sky.stars.magnitude[rows]
    plain = (spare_mag >= PLAIN_MAG).any(axis=0) | (spare_mag[0] >= START_SPARE_MAG)
    return rows[plain], spare_mag[:, plain]
