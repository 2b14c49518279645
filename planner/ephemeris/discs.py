"""Discs of the Moon and planets: phase, size, Saturn's rings, the Moon's brightness."""

from __future__ import annotations

from typing import TypeVar

import numpy as np

from targets.arrays import Floats
from targets.frozen import frozen
from targets.sphere import angle_deg

FloatOrArray = TypeVar("FloatOrArray", float, Floats)

AU_KM = 149_597_870.7


@frozen
class Radii:
    """Equatorial and polar radius of a body [km]."""

    equatorial_km: float
    polar_km: float


# Archinal et al. 2018, "Report of the IAU Working Group on Cartographic Coordinates and Rotational
# Elements: 2015", Celestial Mechanics and Dynamical Astronomy 130, 22. Giant planets: at 1 bar.
RADII = {
    "Sun": Radii(695_700.0, 695_700.0),
    "Moon": Radii(1737.4, 1737.4),
    "Mercury": Radii(2440.53, 2438.26),
    "Venus": Radii(6051.8, 6051.8),
    "Mars": Radii(3396.19, 3376.20),
    "Jupiter": Radii(71_492.0, 66_854.0),
    "Saturn": Radii(60_268.0, 54_364.0),
    "Uranus": Radii(25_559.0, 24_973.0),
    "Neptune": Radii(24_764.0, 24_341.0),
}

_RING_MAJOR_AXIS_ARCSEC_AU = 375.35  # Meeus 1998, ch. 45: outer edge of ring A, both ends
_MOON_MEAN_DISTANCE_AU = 384_400.0 / AU_KM


def phase_angle_deg(body_au: Floats, sun_au: Floats) -> Floats:
    """Return the angle at a body between the Sun and the observer [deg].

    Parameters
    ----------
    body_au, sun_au : ndarray
        Places as seen by the observer [au], ``(T, 3)``.

    Returns
    -------
    ndarray
        0 when fully lit, 180 when the dark side is turned to the observer, ``(T,)``.
    """
    return angle_deg(body_au, body_au - sun_au)


def lit_fraction(phase_deg: FloatOrArray) -> FloatOrArray:
    """Return the lit fraction of a disc, 0 .. 1, for a phase angle [deg], any shape.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 41.
    """
    return (1.0 + np.cos(np.radians(phase_deg))) / 2.0  # type: ignore[no-any-return]


def angular_diameter_arcsec(radius_km: float, distance_au: FloatOrArray) -> FloatOrArray:
    """Return the apparent diameter of a ball.

    Parameters
    ----------
    radius_km : float
        Of the ball [km].
    distance_au : float or ndarray
        To its centre [au].

    Returns
    -------
    float or ndarray
        Diameter [arcsec], same shape as the distance.
    """
    sine = radius_km / (distance_au * AU_KM)
    return 2.0 * np.degrees(np.arcsin(sine)) * 3600.0  # type: ignore[no-any-return]


def tilted_diameter_arcsec(
    equatorial_arcsec: FloatOrArray, polar_arcsec: FloatOrArray, *, tilt_deg: FloatOrArray
) -> FloatOrArray:
    """Return the short axis of a flattened ball's disc when its pole leans toward the observer.

    Parameters
    ----------
    equatorial_arcsec, polar_arcsec : float or ndarray
        Diameters as seen from the plane of the equator [arcsec].
    tilt_deg : float or ndarray
        Latitude on the ball below the observer [deg].

    Returns
    -------
    float or ndarray
        Short axis [arcsec]: the polar diameter at 0, the equatorial one at 90 degrees.
    """
    tilt_rad = np.radians(tilt_deg)
    return np.hypot(equatorial_arcsec * np.sin(tilt_rad), polar_arcsec * np.cos(tilt_rad))  # type: ignore[no-any-return]


def ring_tilt_deg(
    longitude_deg: FloatOrArray, latitude_deg: FloatOrArray, *, centuries: FloatOrArray
) -> FloatOrArray:
    """Return the tilt of Saturn's rings toward the observer.

    Parameters
    ----------
    longitude_deg, latitude_deg : float or ndarray
        Ecliptic place of Saturn, equinox of date [deg].
    centuries : float or ndarray
        Julian centuries since J2000.0 (TT).

    Returns
    -------
    float or ndarray
        B [deg]: positive when the northern face is seen.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 45.
    """
    inclination = np.radians(28.075216 - 0.012998 * centuries + 0.000004 * centuries**2)
    node_deg = 169.508470 + 1.394681 * centuries + 0.000412 * centuries**2
    along, up = np.radians(longitude_deg - node_deg), np.radians(latitude_deg)
    sine = np.sin(inclination) * np.cos(up) * np.sin(along) - np.cos(inclination) * np.sin(up)
    return np.degrees(np.arcsin(sine))  # type: ignore[no-any-return]


def ring_axes_arcsec(
    distance_au: FloatOrArray, tilt_deg: FloatOrArray
) -> tuple[FloatOrArray, FloatOrArray]:
    """Return the long and the short axis of Saturn's rings, outer edge of ring A.

    Parameters
    ----------
    distance_au : float or ndarray
        To Saturn [au].
    tilt_deg : float or ndarray
        From `ring_tilt_deg` [deg].

    Returns
    -------
    major_arcsec, minor_arcsec : float or ndarray
        Full axes [arcsec].

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 45.
    """
    major = _RING_MAJOR_AXIS_ARCSEC_AU / distance_au
    return major, major * np.abs(np.sin(np.radians(tilt_deg)))


def moon_magnitude(
    phase_deg: FloatOrArray, *, distance_au: FloatOrArray, sun_distance_au: FloatOrArray
) -> FloatOrArray:
    """Return an approximate V magnitude of the Moon.

    Parameters
    ----------
    phase_deg : float or ndarray
        Angle at the Moon between Sun and observer [deg], 0 .. 180.
    distance_au : float or ndarray
        From the observer to the Moon [au].
    sun_distance_au : float or ndarray
        From the Sun to the Moon [au].

    Returns
    -------
    float or ndarray
        V magnitude; good to about 0.2, less near full and when only a thin crescent is lit.

    References
    ----------
    Allen 1976, "Astrophysical Quantities", 3rd ed., p. 143, as used in Krisciunas and Schaefer
    1991, PASP 103, 1033, eq. 9; its mean distances put to those of the day.
    """
    at_mean = -12.73 + 0.026 * phase_deg + 4.0e-9 * phase_deg**4
    return at_mean + 5.0 * np.log10(distance_au / _MOON_MEAN_DISTANCE_AU * sun_distance_au)  # type: ignore[no-any-return]
