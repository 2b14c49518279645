"""Io, Europa, Ganymede and Callisto on their orbits around Jupiter.

Lieske's theory E2x3 as it stands in Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 44 (high
accuracy), without terms below 0.001 deg in longitude; those of Io and Europa are kept to 0.0008.
Lieske 1977, Astronomy and Astrophysics 56, 333; 1987, Astronomy and Astrophysics Supplement 82,
385. The terms were written from memory and are held against another library by the tests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from targets.arrays import Floats

MOONS = ("Io", "Europa", "Ganymede", "Callisto")

_J2000_JD = 2_451_545.0
_EPOCH_JD = 2_443_000.5
_B1950_JD = 2_433_282.423
_J1900_JD = 2_415_020.0
_PERIHELION_DEG = 13.469942

# Mean angles: degrees at the epoch, degrees a day. l: longitudes, p: perijoves, w: nodes.
_ANGLES = {
    "l1": (106.07719, 203.488955790),
    "l2": (175.73161, 101.374724735),
    "l3": (120.55883, 50.317609207),
    "l4": (84.44459, 21.571071177),
    "p1": (97.0881, 0.16138586),
    "p2": (154.8663, 0.04726307),
    "p3": (188.1840, 0.00712734),
    "p4": (335.2868, 0.00184000),
    "w1": (312.3346, -0.13279386),
    "w2": (100.4411, -0.03263064),
    "w3": (119.1942, -0.00717703),
    "w4": (322.6186, -0.00175934),
    "libration": (199.6766, 0.17379190),
    "psi": (316.5182, -0.00000208),
    "g": (30.23756, 0.0830925701),
    "saturn": (31.97853, 0.0334597339),
    "perihelion": (_PERIHELION_DEG, 0.0),
    "one": (1.0, 0.0),
}
_NAMES = tuple(_ANGLES)

# Terms: an amplitude, and how often each angle counts.
Term = tuple[float, dict[str, float]]

_RESONANCE: dict[str, float] = {"saturn": 5, "g": -2, "one": 52.225}

_LONGITUDE: tuple[tuple[Term, ...], ...] = (
    (
        (0.47259, {"l1": 2, "l2": -2}),
        (-0.03478, {"p3": 1, "p4": -1}),
        (0.01081, {"l2": 1, "l3": -2, "p3": 1}),
        (0.00738, {"libration": 1}),
        (0.00713, {"l2": 1, "l3": -2, "p2": 1}),
        (-0.00674, {"p1": 1, "p3": 1, "perihelion": -2, "g": -2}),
        (0.00666, {"l2": 1, "l3": -2, "p4": 1}),
        (0.00445, {"l1": 1, "p3": -1}),
        (-0.00354, {"l1": 1, "l2": -1}),
        (-0.00317, {"psi": 2, "perihelion": -2}),
        (0.00265, {"l1": 1, "p4": -1}),
        (-0.00186, {"g": 1}),
        (0.00162, {"p2": 1, "p3": -1}),
        (0.00158, {"l1": 4, "l2": -4}),
        (-0.00155, {"l1": 1, "l3": -1}),
        (-0.00138, {"psi": 1, "w3": 1, "perihelion": -2, "g": -2}),
        (-0.00115, {"l1": 2, "l2": -4, "w2": 2}),
        (0.00089, {"p2": 1, "p4": -1}),
        (0.00085, {"l1": 1, "p3": 1, "perihelion": -2, "g": -2}),
        (0.00083, {"w2": 1, "w3": -1}),
    ),
    (
        (1.06476, {"l2": 2, "l3": -2}),
        (0.04256, {"l1": 1, "l2": -2, "p3": 1}),
        (0.03581, {"l2": 1, "p3": -1}),
        (0.02395, {"l1": 1, "l2": -2, "p4": 1}),
        (0.01984, {"l2": 1, "p4": -1}),
        (-0.01778, {"libration": 1}),
        (0.01654, {"l2": 1, "p2": -1}),
        (0.01334, {"l2": 1, "l3": -2, "p2": 1}),
        (0.01294, {"p3": 1, "p4": -1}),
        (-0.01142, {"l2": 1, "l3": -1}),
        (-0.01057, {"g": 1}),
        (-0.00775, {"psi": 2, "perihelion": -2}),
        (0.00524, {"l1": 2, "l2": -2}),
        (-0.00460, {"l1": 1, "l3": -1}),
        (0.00316, {"psi": 1, "g": -2, "w3": 1, "perihelion": -2}),
        (-0.00203, {"p1": 1, "p3": 1, "perihelion": -2, "g": -2}),
        (0.00146, {"psi": 1, "w3": -1}),
        (-0.00145, {"g": 2}),
        (0.00125, {"psi": 1, "w4": -1}),
        (-0.00115, {"l1": 1, "l3": -2, "p3": 1}),
        (-0.00094, {"l2": 2, "w2": -2}),
        (0.00086, {"l1": 2, "l2": -4, "w2": 2}),
        (-0.00086, _RESONANCE),
    ),
    (
        (0.16490, {"l3": 1, "p3": -1}),
        (0.09081, {"l3": 1, "p4": -1}),
        (-0.06907, {"l2": 1, "l3": -1}),
        (0.03784, {"p3": 1, "p4": -1}),
        (0.01846, {"l3": 2, "l4": -2}),
        (-0.01340, {"g": 1}),
        (-0.01014, {"psi": 2, "perihelion": -2}),
        (0.00704, {"l2": 1, "l3": -2, "p3": 1}),
        (-0.00620, {"l2": 1, "l3": -2, "p2": 1}),
        (-0.00541, {"l3": 1, "l4": -1}),
        (0.00381, {"l2": 1, "l3": -2, "p4": 1}),
        (0.00235, {"psi": 1, "w3": -1}),
        (0.00198, {"psi": 1, "w4": -1}),
        (0.00176, {"libration": 1}),
        (0.00130, {"l3": 3, "l4": -3}),
        (0.00125, {"l1": 1, "l3": -1}),
        (-0.00119, _RESONANCE),
        (0.00109, {"l1": 1, "l2": -1}),
        (-0.00100, {"l3": 3, "l4": -7, "p4": 4}),
    ),
    (
        (0.84287, {"l4": 1, "p4": -1}),
        (0.03431, {"p4": 1, "p3": -1}),
        (-0.03305, {"psi": 2, "perihelion": -2}),
        (-0.03211, {"g": 1}),
        (-0.01862, {"l4": 1, "p3": -1}),
        (0.01186, {"psi": 1, "w4": -1}),
        (0.00623, {"l4": 1, "p4": 1, "g": -2, "perihelion": -2}),
        (0.00387, {"l4": 2, "p4": -2}),
        (-0.00284, _RESONANCE),
        (-0.00234, {"psi": 2, "p4": -2}),
        (-0.00223, {"l3": 1, "l4": -1}),
        (-0.00208, {"l4": 1, "perihelion": -1}),
        (0.00178, {"psi": 1, "w4": 1, "p4": -2}),
        (0.00134, {"p4": 1, "perihelion": -1}),
        (0.00125, {"l4": 2, "g": -2, "perihelion": -2}),
        (-0.00117, {"g": 2}),
        (-0.00112, {"l3": 2, "l4": -2}),
        (0.00107, {"l3": 3, "l4": -7, "p4": 4}),
    ),
)
# Of the tangent of the latitude; "L" is the moon's own true longitude.
_LATITUDE: tuple[tuple[Term, ...], ...] = (
    (
        (0.0006393, {"L": 1, "w1": -1}),
        (0.0001825, {"L": 1, "w2": -1}),
        (0.0000329, {"L": 1, "w3": -1}),
        (-0.0000311, {"L": 1, "psi": -1}),
    ),
    (
        (0.0081004, {"L": 1, "w2": -1}),
        (0.0004512, {"L": 1, "w3": -1}),
        (-0.0003284, {"L": 1, "psi": -1}),
        (0.0001160, {"L": 1, "w4": -1}),
    ),
    (
        (0.0032402, {"L": 1, "w3": -1}),
        (-0.0016911, {"L": 1, "psi": -1}),
        (0.0006847, {"L": 1, "w4": -1}),
        (-0.0002797, {"L": 1, "w2": -1}),
    ),
    (
        (-0.0076579, {"L": 1, "psi": -1}),
        (0.0044134, {"L": 1, "w4": -1}),
        (-0.0005112, {"L": 1, "w3": -1}),
        (0.0000773, {"L": 1, "psi": 1, "perihelion": -2, "g": -2}),
    ),
)
# Of the distance, in parts of the mean one; cosines.
_DISTANCE_RADII = (5.90569, 9.39657, 14.98832, 26.36273)
_DISTANCE: tuple[tuple[Term, ...], ...] = (
    (
        (-0.0041339, {"l1": 2, "l2": -2}),
        (-0.0000387, {"l1": 1, "p3": -1}),
    ),
    (
        (0.0093848, {"l1": 1, "l2": -1}),
        (-0.0003116, {"l2": 1, "p3": -1}),
        (-0.0001744, {"l2": 1, "p4": -1}),
        (-0.0001442, {"l2": 1, "p2": -1}),
    ),
    (
        (-0.0014388, {"l3": 1, "p3": -1}),
        (-0.0007919, {"l3": 1, "p4": -1}),
        (0.0006342, {"l2": 1, "l3": -1}),
        (-0.0001761, {"l3": 2, "l4": -2}),
    ),
    (
        (-0.0073546, {"l4": 1, "p4": -1}),
        (0.0001621, {"l4": 1, "p3": -1}),
        (0.0000974, {"l3": 1, "l4": -1}),
    ),
)


def moons_of_jupiter(days_tdb: ArrayLike) -> Floats:
    """Return the places of the four moons at T instants.

    Parameters
    ----------
    days_tdb : array_like
        Days since J2000.0 (TDB) at Jupiter, light time taken off; ``(T,)``.

    Returns
    -------
    ndarray
        From the middle of Jupiter in equatorial radii, ``(4, T, 3)`` in the order of `MOONS`;
        axes of the mean ecliptic and equinox of date.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 44.
    """
    julian = np.atleast_1d(np.asarray(days_tdb, dtype=float)) + _J2000_JD
    angles = _mean_angles(julian - _EPOCH_JD)
    since_1950 = (julian - _B1950_JD) / 36_525.0
    precession_deg = 1.3966626 * since_1950 + 0.0003088 * since_1950**2
    node_deg = angles["psi"] + precession_deg
    places = []
    for moon in range(4):
        true = angles[f"l{moon + 1}"] + _sum(np.sin, _LONGITUDE[moon], angles)
        own = angles | {"L": true}
        latitude = np.arctan(_sum(np.sin, _LATITUDE[moon], own))
        radius = _DISTANCE_RADII[moon] * (1.0 + _sum(np.cos, _DISTANCE[moon], angles))
        along = np.radians(true + precession_deg - node_deg)
        places.append(
            radius[:, None]
            * np.stack(
                [
                    np.cos(along) * np.cos(latitude),
                    np.sin(along) * np.cos(latitude),
                    np.sin(latitude),
                ],
                axis=-1,
            )
        )
    return np.stack([_to_ecliptic(place, julian, node_deg) for place in places])


def _mean_angles(days: Floats) -> dict[str, Floats]:
    """Return the mean angles [deg]; the great inequality of Jupiter and Saturn moves ``g``."""
    angles = {name: start + rate * days for name, (start, rate) in _ANGLES.items()}
    angles["g"] = (
        angles["g"]
        + 0.33033 * np.sin(np.radians(163.679 + 0.0010512 * days))
        + 0.03439 * np.sin(np.radians(34.486 - 0.0161731 * days))
    )
    return angles


def _sum(wave: np.ufunc, terms: tuple[Term, ...], angles: dict[str, Floats]) -> Floats:
    total = np.zeros_like(angles["l1"])
    for amplitude, counts in terms:
        argument = sum(count * angles[name] for name, count in counts.items())
        total += amplitude * wave(np.radians(argument))
    return total


def _to_ecliptic(place: Floats, julian: Floats, node_deg: Floats) -> Floats:
    """Turn from Jupiter's equator to its orbit, and from there to the ecliptic of date."""
    since_1900 = (julian - _J1900_JD) / 36_525.0
    since_2000 = (julian - _J2000_JD) / 36_525.0
    equator_deg = 3.120262 + 0.0006 * since_1900
    # Jupiter's orbit: Meeus, ch. 31, table 31.A.
    orbit_node_deg = 100.464407 + 1.0209774 * since_2000
    orbit_tilt_deg = 1.303267 - 0.0054965 * since_2000
    place = _turn_x(place, equator_deg)
    place = _turn_z(place, node_deg - orbit_node_deg)
    place = _turn_x(place, orbit_tilt_deg)
    return _turn_z(place, orbit_node_deg)


def _turn_x(place: Floats, angle_deg: Floats) -> Floats:
    x, y, z = place.T
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.stack([x, y * cosine - z * sine, y * sine + z * cosine], axis=-1)


def _turn_z(place: Floats, angle_deg: Floats) -> Floats:
    x, y, z = place.T
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.stack([x * cosine - y * sine, x * sine + y * cosine, z], axis=-1)
