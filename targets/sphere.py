"""Directions on the sky and the angles between them; sizes and angles in degrees."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from targets.arrays import Floats

ROWS_AT_ONCE = 64
# Within 0.8 deg an arc cosine is off by a microarcsecond and more.
_COARSE = 0.9999
CELESTIAL_POLE = np.array([0.0, 0.0, 1.0])


def unit_vectors(ra_deg: ArrayLike, dec_deg: ArrayLike) -> Floats:
    """Return the unit vectors of places, from right ascension and declination.

    Parameters
    ----------
    ra_deg, dec_deg : array_like
        Right ascension and declination, or another longitude and latitude [deg]; they broadcast.

    Returns
    -------
    ndarray
        Toward (0, 0), toward (90, 0) and to the pole, ``(..., 3)``; nan where a place is nan.
    """
    ra, dec = np.broadcast_arrays(np.radians(ra_deg), np.radians(dec_deg))
    return np.stack([np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)], axis=-1)


def place_deg(directions: Floats) -> tuple[Floats, Floats]:
    """Return right ascension, 0 .. 360, and declination [deg] of unit vectors ``(..., 3)``."""
    x, y, z = np.moveaxis(directions, -1, 0)
    ra_deg, dec_deg = np.degrees(np.arctan2(y, x)) % 360.0, np.degrees(np.arcsin(z))
    return np.asarray(ra_deg), np.asarray(dec_deg)


def angle_deg(first: Floats, second: Floats) -> Floats:
    """Return the angle between two directions [deg].

    Parameters
    ----------
    first, second : ndarray
        Vectors of any length, ``(..., 3)``; they broadcast.

    Returns
    -------
    ndarray
        0 .. 180, ``(...)``.

    Notes
    -----
    The arc tangent of the cross product's length over the scalar product keeps its precision at
    small and at opposite angles, where an arc cosine loses half of the digits. The cross product
    is summed by components: where N directions meet M others, no step holds 3 x N x M numbers.
    """
    ax, ay, az = first[..., 0], first[..., 1], first[..., 2]
    bx, by, bz = second[..., 0], second[..., 1], second[..., 2]
    across = (ay * bz - az * by) ** 2
    across += (az * bx - ax * bz) ** 2
    across += (ax * by - ay * bx) ** 2
    along = ax * bx + ay * by + az * bz
    return np.asarray(np.degrees(np.arctan2(np.sqrt(across), along)))


def angles_of_all_deg(first: Floats, second: Floats) -> Floats:
    """Return the angle between each of N unit vectors ``(N, 3)`` and each of M: ``(N, M)`` [deg].

    Scalar products are a tenth of the work; only where they are too coarse, near 0 and 180, the
    angle is that of `angle_deg`.
    """
    angles = np.empty((len(first), len(second)))
    # Some rows at a time: thousands against thousands would fill the memory otherwise.
    for begin in range(0, len(first), ROWS_AT_ONCE):
        some = first[begin : begin + ROWS_AT_ONCE]
        along = some @ second.T
        angles[begin : begin + ROWS_AT_ONCE] = np.degrees(np.arccos(np.clip(along, -1.0, 1.0)))
        coarse = np.nonzero(np.abs(along) > _COARSE)
        angles[coarse[0] + begin, coarse[1]] = angle_deg(some[coarse[0]], second[coarse[1]])
    return angles


def separation_deg(
    ra_deg: ArrayLike, dec_deg: ArrayLike, other_ra_deg: ArrayLike, other_dec_deg: ArrayLike
) -> Floats:
    """Return how far places are apart on the sky: 0 .. 180 [deg]; the arguments broadcast."""
    return angle_deg(unit_vectors(ra_deg, dec_deg), unit_vectors(other_ra_deg, other_dec_deg))


def position_angle_deg(toward: Floats, sight: Floats, north: Floats = CELESTIAL_POLE) -> Floats:
    """Return the angle in the sky at which something points.

    Parameters
    ----------
    toward : ndarray
        A direction in space, such as a pole or the way to the Sun, or to another place on the
        sky; any length, ``(..., 3)``.
    sight : ndarray
        From the observer to where the angle is measured, any length, ``(..., 3)``.
    north : ndarray
        The pole from which angles count, ``(..., 3)``.

    Returns
    -------
    ndarray
        From north through east, 0 .. 360 [deg], ``(...)``.
    """
    line = sight / np.linalg.norm(sight, axis=-1, keepdims=True)
    east = np.cross(north, line)
    up = np.cross(line, east)
    angle = np.arctan2(np.sum(toward * east, axis=-1), np.sum(toward * up, axis=-1))
    return np.asarray(np.degrees(angle) % 360.0)
