"""Two bright stars that point to a target: between them, or on their line beyond the second."""

from __future__ import annotations

import numpy as np

from planner.planning.finding.moves import searching_min
from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.sphere import angle_deg

# Parts of a line that the eye judges (common practice), by the share of the distance from the first
# star to the second.
PARTS = {
    1 / 4: "a quarter of the way",
    1 / 3: "a third of the way",
    2 / 5: "two fifths of the way",
    1 / 2: "half way",
    3 / 5: "three fifths of the way",
    2 / 3: "two thirds of the way",
    3 / 4: "three quarters of the way",
    5 / 4: "a quarter as far again",
    4 / 3: "a third as far again",
    3 / 2: "half as far again",
    5 / 3: "two thirds as far again",
    2.0: "as far again",
    5 / 2: "one and a half times as far again",
}
SHARES = np.array(list(PARTS))
# Stars nearer to each other give no line, those farther apart no sure one (our choice).
NEAREST_DEG, FARTHEST_DEG = 1.5, 20.0
# Two stars are aimed along in this time beside that for the stars; a judged place on the line is
# off by this share of its distance from the nearer star (our assumptions).
LINE_MIN, MISS_SHARE = 0.5, 0.1


@frozen
class Pointers:
    """A line of two stars on which a target stands.

    Parameters
    ----------
    first, second, origin : int
        Rows of the stars, and of the one from which one moves.
    words : str
        How far along the line.
    minutes : float
        What it takes [min].
    is_between : bool
        Whether the target stands between the stars.
    """

    first: int
    second: int
    origin: int
    words: str
    minutes: float
    is_between: bool


def best_pointers(
    directions: Floats, aiming_min: Floats, target: Floats, *, field_deg: float
) -> Pointers | None:
    """Find the two stars that point best to a target.

    Parameters
    ----------
    directions : ndarray
        Unit vectors of M stars that are plain to the naked eye, ``(M, 3)``.
    aiming_min : ndarray
        What it takes to aim at each [min], ``(M,)``.
    target : ndarray
        Unit vector, ``(3,)``.
    field_deg : float
        Of what shows the target in the end [deg]: within it lies the judged place.

    Returns
    -------
    Pointers or None
        None when no two stars point there.
    """
    if len(directions) < 2:
        return None
    first, second = np.nonzero(_good_lines(directions, target, field_deg))
    if not first.size:
        return None
    points = _points(directions[first], directions[second])
    miss_deg = angle_deg(points, target)
    origin = np.where(SHARES < 0.5, first[:, None], second[:, None])
    length_deg = angle_deg(directions, target)[origin]
    miss_deg = np.hypot(miss_deg, MISS_SHARE * length_deg)
    minutes = LINE_MIN + (aiming_min[first] + aiming_min[second])[:, None]
    minutes = minutes + searching_min(miss_deg, field_deg)
    minutes = np.where(miss_deg <= field_deg / 2.0, minutes, np.inf)
    row, column = np.unravel_index(int(np.argmin(minutes)), minutes.shape)
    if not np.isfinite(minutes[row, column]):
        return None
    return Pointers(
        first=int(first[row]),
        second=int(second[row]),
        origin=int(origin[row, column]),
        words=PARTS[float(SHARES[column])],
        minutes=float(minutes[row, column]),
        is_between=bool(SHARES[column] < 1.0),
    )


def _good_lines(directions: Floats, target: Floats, field_deg: float) -> Flags:
    """Tell which pairs of stars make a line, and one that passes a target within a field."""
    cosine = directions @ directions.T
    nearest, farthest = np.cos(np.radians([NEAREST_DEG, FARTHEST_DEG]))
    good = (cosine <= nearest) & (cosine >= farthest)
    # The volume of two stars and the target is what it stands off the line's plane, times the sine
    # of the angle between the stars.
    volume = np.abs(directions @ np.cross(directions, target).T)
    sine = np.sqrt(1.0 - np.minimum(np.square(cosine), 1.0))
    return np.asarray(good & (volume <= np.sin(np.radians(field_deg / 2.0)) * sine))


def _points(first: Floats, second: Floats) -> Floats:
    """Return the places at each share of the way from one star to another, ``(P, S, 3)``."""
    length = np.radians(angle_deg(first, second))
    along = second - np.sum(first * second, axis=1, keepdims=True) * first
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    turn = length[:, None] * SHARES
    return np.asarray(
        np.cos(turn)[..., None] * first[:, None] + np.sin(turn)[..., None] * along[:, None]
    )
