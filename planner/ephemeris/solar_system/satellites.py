"""Moons beside their planet as an observer sees them.

Their places come from the ``ephem`` library, which holds tables of the Bureau des Longitudes for
1999 to 2039. Outside these years it answers with rough series, or with numbers from behind the end
of a table, so that no moon is placed there.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from planner.ephemeris.discs import AU_KM, RADII
from planner.ephemeris.solar_system.aspect import Aspect
from planner.ephemeris.solar_system.rotation import axes_of
from targets.arrays import Floats
from targets.frozen import frozen

MOONS_OF_JUPITER = ("Io", "Europa", "Ganymede", "Callisto")
# Iapetus, whose orbit leans away from the rings, is left out.
MOONS_OF_SATURN = ("Tethys", "Dione", "Rhea", "Titan")
# V at mean opposition, from memory of the Astronomical Almanac, section F: to put the brightest
# first.
MEAN_MAGNITUDES = {"Titan": 8.4, "Rhea": 9.7, "Tethys": 10.2, "Dione": 10.4}

# The years whose tables the library holds.
FIRST_YEAR, LAST_YEAR = 1999, 2039
_FIRST_TT_JD, _LAST_TT_JD = 2_451_179.5, 2_466_154.5  # 1 January of 1999 and of 2040
_LIBRARY_EPOCH_TT_JD = 2_415_020.0
# The radii in which the library counts, in astronomical units (from memory of its source; the tests
# hold them against the periods of the moons by Kepler's third law).
_LIBRARY_RADIUS_KM = {"Jupiter": 0.0004769108 * AU_KM, "Saturn": 0.0004014253 * AU_KM}
_J2000_NORTH = np.array([0.0, 0.0, 1.0])


@frozen
class MoonOffset:
    """Where a moon stands beside its planet.

    Parameters
    ----------
    name : str
        Of the moon.
    west_radii, north_radii : float
        Along and across the planet's equator, in its equatorial radii; west and north as in the
        sky.
    east_arcsec, north_arcsec : float
        From the middle of the planet in the sky, along right ascension and declination [arcsec].
    state : str
        ``""`` when it stands beside the planet; else ``in front``, ``behind``, ``in the shadow``.
    """

    name: str
    west_radii: float
    north_radii: float
    east_arcsec: float
    north_arcsec: float
    state: str = ""


def moon_vectors(aspect: Aspect, names: tuple[str, ...]) -> Floats | None:
    """Return moons from the middle of their planet.

    Parameters
    ----------
    aspect : Aspect
        Of Jupiter or Saturn.
    names : tuple of str
        Of M moons, as in `MOONS_OF_JUPITER` or `MOONS_OF_SATURN`.

    Returns
    -------
    ndarray or None
        In the planet's equatorial radii, ICRS axes, ``(M, T, 3)``; None when an instant is outside
        `FIRST_YEAR` to `LAST_YEAR`.

    Notes
    -----
    The library sees from the middle of the Earth: from a site a moon is 0.0003 radii elsewhere at
    most.
    """
    terrestrial = np.asarray(aspect.times.tt)
    if terrestrial.min() < _FIRST_TT_JD or terrestrial.max() >= _LAST_TT_JD:
        return None
    # It counts east, south and toward the Earth.
    seen = -_library_places(names, terrestrial)
    unit = _LIBRARY_RADIUS_KM[aspect.name] / RADII[aspect.name].equatorial_km
    axes = np.stack(_sky_axes(aspect.sight_au, _J2000_NORTH))
    return np.asarray(unit * np.einsum("mtk,ktj->mtj", seen, axes))


def _library_places(names: tuple[str, ...], terrestrial_jd: Floats) -> Floats:
    """Return x, y and z of moons, ``(M, T, 3)``; time is terrestrial, not UTC as the library says.

    It works all moons of a planet out at once and keeps them: so instant by instant, not moon by
    moon, which takes four times as long.
    """
    import ephem  # noqa: PLC0415  # 30 ms that only a look at Jupiter or Saturn needs

    moons: list[Any] = [getattr(ephem, name)() for name in names]
    places = np.empty((len(moons), len(terrestrial_jd), 3))
    for at, day in enumerate(terrestrial_jd - _LIBRARY_EPOCH_TT_JD):
        for moon, place in zip(moons, places[:, at], strict=True):
            moon.compute(float(day))
            place[:] = moon.x, moon.y, moon.z
    return places


def _sky_axes(sight: Floats, pole: Floats) -> tuple[Floats, Floats, Floats]:
    """Return unit vectors to the west, to the north and away from the observer, ``(T, 3)``."""
    away = sight / np.linalg.norm(sight, axis=-1, keepdims=True)
    west = np.cross(away, pole)
    west /= np.linalg.norm(west, axis=-1, keepdims=True)
    return west, np.cross(west, away), away


def along_equator(vectors: Floats, sight: Floats, pole: Floats) -> Floats:
    """Return places as seen along a line of sight, by the planet's equator.

    Parameters
    ----------
    vectors : ndarray
        From the planet's middle, ``(M, T, 3)``.
    sight : ndarray
        From the observer (or the Sun) to the planet, any length, ``(T, 3)``.
    pole : ndarray
        Unit vector to the planet's north pole, ``(T, 3)``.

    Returns
    -------
    ndarray
        ``(3, M, T)``: to the west, to the north, and away from the observer.
    """
    return np.stack([np.einsum("mtj,tj->mt", vectors, axis) for axis in _sky_axes(sight, pole)])


def sky_offsets_arcsec(vectors: Floats, aspect: Aspect) -> Floats:
    """Return offsets east and north in the sky [arcsec], ``(2, M, T)``."""
    west, north, _ = along_equator(vectors, aspect.sight_au, aspect.north)
    radius_au = RADII[aspect.name].equatorial_km / AU_KM
    scale = np.degrees(radius_au / np.linalg.norm(aspect.sight_au, axis=1)) * 3600.0
    return np.stack([-west * scale, north * scale])


def moon_offsets(
    names: tuple[str, ...], vectors: Floats | None, aspect: Aspect, spin: str
) -> list[MoonOffset]:
    """Return the moons at the first instant of an aspect; none where there are no vectors."""
    if vectors is None:
        return []
    pole = axes_of(spin, aspect.days_tdb)[:, 2]
    west, north, _ = along_equator(vectors, aspect.sight_au, pole)[:, :, 0]
    east_arcsec, north_arcsec = sky_offsets_arcsec(vectors, aspect)[:, :, 0]
    columns = np.stack([west, north, east_arcsec, north_arcsec], axis=1).tolist()
    return [
        MoonOffset(name, along, across, east, up)
        for name, (along, across, east, up) in zip(names, columns, strict=True)
    ]
