"""How the Moon and planets turn: their poles and prime meridians among the stars.

Archinal et al. 2018, "Report of the IAU Working Group on Cartographic Coordinates and Rotational
Elements: 2015", Celestial Mechanics and Dynamical Astronomy 130, 22; Mars and the Moon as in the
report of 2009 (Archinal et al. 2011, ibid. 109, 101), within 0.01 deg of the newer one. The Moon's
axes are those of its maps (mean Earth and polar axis).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from targets.arrays import Floats
from targets.frozen import frozen

DAYS_PER_CENTURY = 36_525.0

# The Moon's arguments E1 .. E13: degrees at J2000.0, degrees a day.
_MOON_ARGUMENTS = np.array(
    [
        (125.045, -0.0529921),
        (250.089, -0.1059842),
        (260.008, 13.0120009),
        (176.625, 13.3407154),
        (357.529, 0.9856003),
        (311.589, 26.4057084),
        (134.963, 13.0649930),
        (276.617, 0.3287146),
        (34.226, 1.7484877),
        (15.134, -0.1589763),
        (119.743, 0.0036096),
        (239.961, 0.1643573),
        (25.053, 12.9590088),
    ]
)
# Amplitudes [deg] of their sines in right ascension, cosines in declination, sines in rotation.
_MOON_RA = np.array(
    [-3.8787, -0.1204, 0.0700, -0.0172, 0, 0.0072, 0, 0, 0, -0.0052, 0, 0, 0.0043]
)  # fmt: skip
_MOON_DEC = np.array(
    [1.5419, 0.0239, -0.0278, 0.0068, 0, -0.0029, 0.0009, 0, 0, 0.0008, 0, 0, -0.0009]
)  # fmt: skip
_MOON_SPIN = np.array(
    [
        *(3.5610, 0.1208, -0.0642, 0.0158, 0.0252, -0.0066, -0.0047),
        *(-0.0046, 0.0028, 0.0052, 0.0040, 0.0019, -0.0044),
    ]
)


@frozen
class Spin:
    """Pole and prime meridian, each a value at J2000.0 and its change.

    Parameters
    ----------
    ra_deg, dec_deg : tuple of float
        Of the north pole in ICRS: at J2000.0 [deg], and change [deg per century].
    meridian_deg : tuple of float
        Of the prime meridian from the node of the equator: at J2000.0 [deg], and [deg per day].
    """

    ra_deg: tuple[float, float]
    dec_deg: tuple[float, float]
    meridian_deg: tuple[float, float]


_JUPITER_POLE = ((268.056595, -0.006499), (64.495303, 0.002413))
SPINS = {
    "Mars": Spin((317.68143, -0.1061), (52.88650, -0.0609), (176.630, 350.89198226)),
    # System I: the clouds along the equator. System II: those of the rest, the Red Spot among them.
    "Jupiter I": Spin(*_JUPITER_POLE, (67.1, 877.900)),
    "Jupiter II": Spin(*_JUPITER_POLE, (43.3, 870.270)),
    "Saturn": Spin((40.589, -0.036), (83.537, -0.004), (38.90, 810.7939024)),
}


def axes_of(name: str, days_tdb: ArrayLike) -> Floats:
    """Return the axes of a body at T instants.

    Parameters
    ----------
    name : str
        ``Moon``, ``Mars``, ``Jupiter I``, ``Jupiter II`` or ``Saturn``.
    days_tdb : array_like
        Days since J2000.0 (TDB) at the body, light time taken off; ``(T,)``.

    Returns
    -------
    ndarray
        Unit vectors in ICRS axes, ``(T, 3, 3)``: to longitude 0 and to longitude 90 deg east on
        the equator, and to the north pole.

    Raises
    ------
    KeyError
        If nothing is known of how the body turns.
    """
    days = np.atleast_1d(np.asarray(days_tdb, dtype=float))
    ra_deg, dec_deg, spin_deg = _moon(days) if name == "Moon" else _planet(SPINS[name], days)
    ra, dec, spin = np.radians(ra_deg), np.radians(dec_deg), np.radians(spin_deg)
    zero = np.zeros_like(ra)
    pole = np.stack([np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)], axis=-1)
    node = np.stack([-np.sin(ra), np.cos(ra), zero], axis=-1)
    across = np.cross(pole, node)
    first = np.cos(spin)[:, None] * node + np.sin(spin)[:, None] * across
    return np.stack([first, np.cross(pole, first), pole], axis=1)


def longitude_latitude_deg(axes: Floats, direction: Floats) -> tuple[Floats, Floats]:
    """Return the place on a body over which something stands.

    Parameters
    ----------
    axes : ndarray
        From `axes_of`, ``(T, 3, 3)``.
    direction : ndarray
        From the body's centre to the thing, any length, ICRS axes, ``(T, 3)``.

    Returns
    -------
    longitude_deg, latitude_deg : ndarray
        East positive, -180 .. 180, and north positive, planetocentric [deg]; ``(T,)``.
    """
    x, y, z = np.einsum("tij,tj->it", axes, direction)
    return np.degrees(np.arctan2(y, x)), np.degrees(np.arctan2(z, np.hypot(x, y)))


def _planet(spin: Spin, days: Floats) -> tuple[Floats, Floats, Floats]:
    centuries = days / DAYS_PER_CENTURY
    return (
        spin.ra_deg[0] + spin.ra_deg[1] * centuries,
        spin.dec_deg[0] + spin.dec_deg[1] * centuries,
        spin.meridian_deg[0] + spin.meridian_deg[1] * days,
    )


def _moon(days: Floats) -> tuple[Floats, Floats, Floats]:
    centuries = days / DAYS_PER_CENTURY
    angles = np.radians(_MOON_ARGUMENTS[:, 0] + _MOON_ARGUMENTS[:, 1] * days[:, None])
    sines, cosines = np.sin(angles), np.cos(angles)
    return (
        269.9949 + 0.0031 * centuries + sines @ _MOON_RA,
        66.5392 + 0.0130 * centuries + cosines @ _MOON_DEC,
        38.3213 + 13.17635815 * days - 1.4e-12 * days**2 + sines @ _MOON_SPIN,
    )
