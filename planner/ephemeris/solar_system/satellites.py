"""Moons beside their planet as an observer sees them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from skyfield.framelib import ecliptic_frame

from planner.ephemeris.discs import AU_KM
from planner.ephemeris.solar_system.aspect import Aspect
from planner.ephemeris.solar_system.galilean_moons import moons_of_jupiter
from planner.ephemeris.solar_system.rotation import axes_of
from planner.ephemeris.solar_system.saturn_moons import moons_of_saturn
from targets.arrays import Floats

# What the theories count in: Jupiter's equatorial radius; for Saturn the one that fits the
# semi-major axes of the four moons within 0.1 percent (JPL mean elements, from memory).
JUPITER_UNIT_KM = 71_492.0
SATURN_UNIT_KM = 60_400.0
_B1950_JD = 2_433_282.4235


@dataclass(frozen=True, slots=True)
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


def jupiter_vectors(aspect: Aspect) -> Floats:
    """Return Jupiter's moons from its middle in its radii, ICRS axes, ``(4, T, 3)``."""
    turn = np.moveaxis(np.asarray(ecliptic_frame.rotation_at(aspect.times)), -1, 0)
    return np.asarray(np.einsum("tji,mtj->mti", turn, moons_of_jupiter(aspect.days_tdb)))


def saturn_vectors(aspect: Aspect) -> Floats:
    """Return Saturn's moons from its middle in units of 60 400 km, ICRS axes, ``(4, T, 3)``."""
    equinox = aspect.times.ts.tt_jd(_B1950_JD)
    turn = np.asarray(ecliptic_frame.rotation_at(equinox))
    return np.asarray(np.einsum("ji,mtj->mti", turn, moons_of_saturn(aspect.days_tdb)))


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
    line = sight / np.linalg.norm(sight, axis=-1, keepdims=True)
    west = np.cross(line, pole)
    west /= np.linalg.norm(west, axis=-1, keepdims=True)
    north = np.cross(west, line)
    return np.stack([np.einsum("mtj,tj->mt", vectors, axis) for axis in (west, north, line)])


def sky_offsets_arcsec(vectors: Floats, aspect: Aspect, unit_km: float) -> Floats:
    """Return offsets east and north in the sky [arcsec], ``(2, M, T)``."""
    west, north, _ = along_equator(vectors, aspect.sight_au, aspect.north)
    unit_au = unit_km / AU_KM
    scale = np.degrees(unit_au / np.linalg.norm(aspect.sight_au, axis=1)) * 3600.0
    return np.stack([-west * scale, north * scale])


def offsets(
    names: tuple[str, ...], vectors: Floats, aspect: Aspect, unit_km: float, spin: str
) -> list[MoonOffset]:
    """Return the moons at the first instant of an aspect."""
    pole = axes_of(spin, aspect.days_tdb)[:, 2]
    west, north, _ = along_equator(vectors, aspect.sight_au, pole)
    east_arcsec, north_arcsec = sky_offsets_arcsec(vectors, aspect, unit_km)
    return [
        MoonOffset(
            name,
            float(west[k, 0]),
            float(north[k, 0]),
            float(east_arcsec[k, 0]),
            float(north_arcsec[k, 0]),
        )
        for k, name in enumerate(names)
    ]
