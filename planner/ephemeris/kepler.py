"""Undisturbed motion around the Sun, on ellipses, parabolas and hyperbolas alike."""

from __future__ import annotations

import numpy as np

from targets.arrays import Floats

# Gaussian gravitational constant [au^1.5/d] (IAU 1976).
GAUSS_K = 0.017_202_098_95
# Obliquity of the ecliptic at J2000 [deg] (IAU 1976), the one that orbital elements refer to.
OBLIQUITY_DEG = 84_381.448 / 3600.0

_SERIES_BELOW = 1.0
_TERMS = 10
_MOST_STEPS = 100
_ENOUGH = 1e-13


def orbit_position_au(
    days: Floats,
    *,
    perihelion_au: Floats,
    eccentricity: Floats,
    argument_deg: Floats,
    node_deg: Floats,
    inclination_deg: Floats,
) -> Floats:
    """Return places on orbits around the Sun.

    Parameters
    ----------
    days : float or ndarray
        Time since the perihelion, negative before it [d].
    perihelion_au : float or ndarray
        Distance of the perihelion [au], above 0.
    eccentricity : float or ndarray
        From 0 up.
    argument_deg, node_deg, inclination_deg : float or ndarray
        Argument of perihelion, longitude of the node, inclination, ecliptic J2000 [deg].

    Returns
    -------
    ndarray
        From the Sun, equator J2000 [au]; the arguments broadcast, and an axis of 3 follows.

    Notes
    -----
    Two bodies only: the pull of the planets moves a comet by arcminutes within months of the
    epoch of its elements. With the universal anomaly ``x`` counted from the perihelion, Kepler's
    equation is ``k t = q x + e x^3 S(z)``, ``z = x^2 (1 - e) / q``; its slope is the distance from
    the Sun, which grows up to the aphelion, so that Newton's steps from above never overshoot.

    References
    ----------
    Bate, Mueller and White 1971, "Fundamentals of Astrodynamics", sections 4.3 to 4.5.
    """
    days, q, e, argument, node, inclination = np.broadcast_arrays(
        days, perihelion_au, eccentricity, argument_deg, node_deg, inclination_deg
    )
    anomaly = _universal_anomaly(_within_one_turn(days, q, e), q, e)
    c2, c3 = _stumpff(anomaly**2 * (1.0 - e) / q)
    along = q - anomaly**2 * c2
    across = np.sqrt((1.0 + e) / q) * (q * anomaly - (1.0 - e) * anomaly**3 * c3)
    first, second = _orbit_axes(np.radians(argument), np.radians(node), np.radians(inclination))
    return np.asarray(along[..., None] * first + across[..., None] * second)


def mean_motion_deg(semi_major_au: Floats) -> Floats:
    """How far a body on an ellipse moves in a day in the mean [deg/d] (Kepler's third law)."""
    return np.asarray(np.degrees(GAUSS_K) * semi_major_au**-1.5)


def _within_one_turn(days: Floats, q: Floats, e: Floats) -> Floats:
    """Take whole periods away, so that the time is that from the nearest perihelion [d]."""
    turning = e < 1.0
    semi_major_au = q / np.where(turning, 1.0 - e, 1.0)
    with np.errstate(over="ignore"):
        period = np.where(turning, 2.0 * np.pi * semi_major_au**1.5 / GAUSS_K, np.inf)
    turns = np.where(np.isfinite(period), np.round(days / period), 0.0)
    return np.asarray(days - turns * np.where(np.isfinite(period), period, 0.0))


def _universal_anomaly(days: Floats, q: Floats, e: Floats) -> Floats:
    """Solve Kepler's equation for the universal anomaly [au^0.5] by Newton's method."""
    time = GAUSS_K * np.abs(days)
    curve = (1.0 - e) / q
    farthest = np.pi / np.sqrt(np.where(curve > 0.0, curve, 1.0))
    open_orbit = np.cbrt(6.0 * time / np.where(e > 0.0, e, 1.0))
    anomaly = np.minimum(time / q, np.where(curve > 0.0, farthest, open_orbit))
    for _ in range(_MOST_STEPS):
        c2, c3 = _stumpff(curve * anomaly**2)
        excess = q * anomaly + e * anomaly**3 * c3 - time
        step = excess / (q + e * anomaly**2 * c2)
        anomaly = np.maximum(anomaly - step, 0.0)
        if np.all(np.abs(step) <= _ENOUGH * (1.0 + anomaly)):
            break
    return np.asarray(np.copysign(anomaly, days))


def _stumpff(z: Floats) -> tuple[Floats, Floats]:
    """Return Stumpff's functions c2 and c3; near 0 by their series, which nothing cancels in."""
    root = np.sqrt(np.abs(z))
    far = np.where(np.abs(z) < _SERIES_BELOW, _SERIES_BELOW, root)
    c2 = np.where(z > 0.0, 1.0 - np.cos(far), np.cosh(far) - 1.0) / far**2
    c3 = np.where(z > 0.0, far - np.sin(far), np.sinh(far) - far) / far**3
    near2, near3 = np.zeros_like(root), np.zeros_like(root)
    for n in range(_TERMS, 0, -1):
        near2 = (1.0 - z * near2) / ((2 * n) * (2 * n - 1))
        near3 = (1.0 - z * near3) / ((2 * n + 1) * (2 * n))
    near = np.abs(z) < _SERIES_BELOW
    return np.where(near, near2, c2), np.where(near, near3, c3)


def _orbit_axes(argument: Floats, node: Floats, inclination: Floats) -> tuple[Floats, Floats]:
    """Return unit vectors to the perihelion and 90 degrees ahead of it, equator J2000, (..., 3)."""
    first = _to_equator(_turned(np.cos(argument), np.sin(argument), node, inclination))
    second = _to_equator(_turned(-np.sin(argument), np.cos(argument), node, inclination))
    return first, second


def _turned(x: Floats, y: Floats, node: Floats, inclination: Floats) -> Floats:
    """Turn a direction from the orbit's plane, x to the node, into the ecliptic."""
    return np.stack(
        [
            x * np.cos(node) - y * np.cos(inclination) * np.sin(node),
            x * np.sin(node) + y * np.cos(inclination) * np.cos(node),
            y * np.sin(inclination),
        ],
        axis=-1,
    )


def _to_equator(vector: Floats) -> Floats:
    cosine, sine = np.cos(np.radians(OBLIQUITY_DEG)), np.sin(np.radians(OBLIQUITY_DEG))
    x, y, z = np.moveaxis(vector, -1, 0)
    return np.stack([x, cosine * y - sine * z, sine * y + cosine * z], axis=-1)
