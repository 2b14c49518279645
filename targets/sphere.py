"""Directions on the sky and the angles between them; sizes and angles in degrees."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from targets.arrays import Floats

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
    small and at opposite angles, where an arc cosine loses half of the digits.
    """
    across = np.linalg.norm(np.cross(first, second), axis=-1)
    return np.asarray(np.degrees(np.arctan2(across, np.sum(first * second, axis=-1))))


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
