"""Tethys, Dione, Rhea and Titan on their orbits around Saturn.

Harper and Taylor 1993, Astronomy and Astrophysics 268, 326, and Dourneau 1987, after Meeus 1998,
"Astronomical Algorithms", 2nd ed., ch. 46. The terms were written from memory and are held against
another library by the tests. Iapetus, whose orbit leans away from the rings, is left out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from targets.arrays import Floats

MOONS = ("Tethys", "Dione", "Rhea", "Titan")
# V at mean opposition, from memory of the Astronomical Almanac, section F: to put the brightest
# first.
MEAN_MAGNITUDES = {"Titan": 8.4, "Rhea": 9.7, "Tethys": 10.2, "Dione": 10.4}

_J2000_JD = 2_451_545.0
_EQUATOR_TILT_DEG, _EQUATOR_NODE_DEG = 28.0817, 168.8112  # ecliptic and equinox of B1950


def moons_of_saturn(days_tdb: ArrayLike) -> Floats:
    """Return the places of the four moons at T instants.

    Parameters
    ----------
    days_tdb : array_like
        Days since J2000.0 (TDB) at Saturn, light time taken off; ``(T,)``.

    Returns
    -------
    ndarray
        From the middle of Saturn in equatorial radii, ``(4, T, 3)`` in the order of `MOONS`;
        axes of the ecliptic and equinox of B1950.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 46.
    """
    julian = np.atleast_1d(np.asarray(days_tdb, dtype=float)) + _J2000_JD
    return np.stack([_tethys(julian), _dione(julian), _rhea(julian), _titan(julian)])


def _years(julian: Floats) -> Floats:
    return (julian - 2_411_093.0) / 365.25


def _sin(degrees: Floats | float) -> Floats:
    return np.asarray(np.sin(np.radians(degrees)))


def _cos(degrees: Floats | float) -> Floats:
    return np.asarray(np.cos(np.radians(degrees)))


def _tethys(julian: Floats) -> Floats:
    libration = 5.095 * ((julian - 2_433_282.423) / 365.25 + 1950.0 - 1866.39)
    longitude = (
        285.306
        + 190.69791226 * (julian - 2_411_093.0)
        + 2.063 * _sin(libration)
        + 0.03409 * _sin(3.0 * libration)
        + 0.001015 * _sin(5.0 * libration)
    )
    node = 111.33 - 72.2441 * _years(julian)
    return _placed(longitude, 4.880998, tilt_deg=1.0976, node_deg=node)


def _dione(julian: Floats) -> Floats:
    years = _years(julian)
    mean = (
        254.712
        + 131.53493193 * (julian - 2_411_093.0)
        - 0.0215 * _sin(74.4 + 32.39 * years)
        - 0.01733 * _sin(134.3 + 92.62 * years)
    )
    anomaly = mean - (174.8 + 30.820 * years)
    center = 0.24717 * _sin(anomaly) + 0.00033 * _sin(2.0 * anomaly)
    radius = 6.24871 / (1.0 + 0.002157 * _cos(anomaly + center))
    return _placed(mean + center, radius, tilt_deg=0.0139, node_deg=232.0 - 30.27 * years)


def _rhea(julian: Floats) -> Floats:
    years = _years(julian)
    w3, w4 = _w3_w4(julian)
    perisaturn = 342.7 + 10.057 * years
    along = 0.000265 * _sin(perisaturn) + 0.001 * _sin(w4)
    across = 0.000265 * _cos(perisaturn) + 0.001 * _cos(w4)
    node_term = 345.0 - 10.057 * years
    return _on_ellipse(
        longitude=359.244 + 79.69004720 * (julian - 2_411_093.0) + 0.086754 * _sin(node_term),
        apse=np.degrees(np.arctan2(along, across)),
        eccentricity=np.hypot(along, across),
        tilt=28.0362 + 0.346898 * _cos(node_term) + 0.01930 * _cos(w3),
        node=168.8034 + 0.736936 * _sin(node_term) + 0.041 * _sin(w3),
        axis=8.725924,
    )


def _titan(julian: Floats) -> Floats:
    w3, w4 = _w3_w4(julian)
    centuries = (julian - 2_415_020.0) / 36_525.0
    w5, w6 = 267.2635 + 1222.1136 * centuries, 175.4762 + 1221.5515 * centuries
    w7, w8 = 2.4891 + 0.002435 * centuries, 113.35 - 0.2597 * centuries
    saturn_e = 0.05589 - 0.000346 * centuries
    longitude = 261.1582 + 22.57697855 * (julian - 2_411_368.0) + 0.074025 * _sin(w3)
    tilt = 27.45141 + 0.295999 * _cos(w3)
    node = 168.66925 + 0.628808 * _sin(w3)
    a1 = _sin(w7) * _sin(node - w8)
    a2 = _cos(w7) * _sin(tilt) - _sin(w7) * _cos(tilt) * _cos(node - w8)
    psi, s = np.degrees(np.arctan2(a1, a2)), np.hypot(a1, a2)
    g0 = 102.8623
    apse, g = w4, w4 - node - psi
    for _ in range(3):
        apse = w4 + 0.37515 * (_sin(2.0 * g) - _sin(2.0 * g0))
        g = apse - node - psi
    own_e = 0.029092 + 0.00019048 * (_cos(2.0 * g) - _cos(2.0 * g0))
    q = 2.0 * (w5 - apse)
    b1 = _sin(tilt) * _sin(node - w8)
    b2 = _cos(w7) * _sin(tilt) * _cos(node - w8) - _sin(w7) * _cos(tilt)
    theta = np.degrees(np.arctan2(b1, b2)) + w8
    u = 2.0 * w5 - 2.0 * theta + psi
    h = 0.9375 * own_e**2 * _sin(q) + 0.1875 * s**2 * _sin(2.0 * (w5 - theta))
    sun = saturn_e * _sin(w6) + 0.75 * saturn_e**2 * _sin(2.0 * w6) + h
    return _on_ellipse(
        longitude=longitude - 0.254744 * sun,
        apse=apse + 0.159215 * _sin(q),
        eccentricity=own_e + 0.002778797 * own_e * _cos(q),
        tilt=tilt + 0.031843 * s * _cos(u),
        node=node + 0.031843 * s * _sin(u) / _sin(tilt),
        axis=20.216193,
    )


def _w3_w4(julian: Floats) -> tuple[Floats, Floats]:
    years = (julian - 2_411_368.0) / 365.25
    return 42.0 - 0.5118 * years, 276.59 + 0.5118 * years


def _on_ellipse(
    *,
    longitude: Floats,
    apse: Floats,
    eccentricity: Floats,
    tilt: Floats,
    node: Floats,
    axis: float,
) -> Floats:
    """Place a moon whose orbit is given on the ecliptic of 1950; angles in degrees."""
    e, anomaly = eccentricity, longitude - apse
    center = np.degrees(
        (2.0 * e - 0.25 * e**3) * _sin(anomaly)
        + (1.25 * e**2) * _sin(2.0 * anomaly)
        + (13.0 / 12.0) * e**3 * _sin(3.0 * anomaly)
    )
    radius = axis * (1.0 - e**2) / (1.0 + e * _cos(anomaly + center))
    along = longitude + center - node
    place = _in_plane(along, radius)
    return _turned(place, tilt_deg=tilt, node_deg=node)


def _placed(
    longitude: Floats,
    radius: Floats | float,
    *,
    tilt_deg: float,
    node_deg: Floats,
) -> Floats:
    """Place a moon whose orbit is given on Saturn's equator; angles in degrees."""
    in_orbit = _in_plane(longitude - node_deg, radius)
    on_equator = _turned(in_orbit, tilt_deg=tilt_deg, node_deg=node_deg - _EQUATOR_NODE_DEG)
    return _turned(on_equator, tilt_deg=_EQUATOR_TILT_DEG, node_deg=_EQUATOR_NODE_DEG)


def _in_plane(along_deg: Floats, radius: Floats | float) -> Floats:
    x, y = radius * _cos(along_deg), radius * _sin(along_deg)
    return np.stack([x, y, np.zeros_like(x)], axis=-1)


def _turned(place: Floats, *, tilt_deg: Floats | float, node_deg: Floats | float) -> Floats:
    """Turn from an orbit to the plane it is tilted against, where its ascending node is."""
    x, y, z = place.T
    y, z = y * _cos(tilt_deg) - z * _sin(tilt_deg), y * _sin(tilt_deg) + z * _cos(tilt_deg)
    cosine, sine = _cos(node_deg), _sin(node_deg)
    return np.stack([x * cosine - y * sine, x * sine + y * cosine, z], axis=-1)
