"""Saturn at an instant: how its rings lie, and where its brightest moons stand."""

from __future__ import annotations

from datetime import datetime

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.ephemeris.solar_system.satellites import (
    MEAN_MAGNITUDES,
    MOONS_OF_SATURN,
    MoonOffset,
    moon_offsets,
    moon_vectors,
)
from planner.model.site import Site
from targets.frozen import frozen


@frozen
class SaturnFace:
    """Saturn at an instant.

    Parameters
    ----------
    tilt_deg, sun_tilt_deg : float
        Of the rings toward the observer and toward the Sun [deg]; positive: the northern face.
    pole_angle_deg : float
        Position angle of the north pole, the short axis of the rings [deg].
    moons : tuple of MoonOffset
        The brightest first; empty outside the years for which there are places.
    """

    tilt_deg: float
    sun_tilt_deg: float
    pole_angle_deg: float
    moons: tuple[MoonOffset, ...]


def saturn_face(ephemeris: Ephemeris, site: Site, instant: datetime) -> SaturnFace:
    """Return Saturn as it stands at an instant (aware).

    Notes
    -----
    Moons in front of the planet or behind it are not told apart from others: in a small telescope
    they are lost in its light. Iapetus is left out.
    """
    aspect = aspect_of(ephemeris, site, "Saturn", [instant])
    vectors = moon_vectors(aspect, MOONS_OF_SATURN)
    found = moon_offsets(MOONS_OF_SATURN, vectors, aspect, "Saturn")
    return SaturnFace(
        tilt_deg=float(aspect.facing()[1][0]),
        sun_tilt_deg=float(aspect.lit()[1][0]),
        pole_angle_deg=float(aspect.pole_angle_deg()[0]),
        moons=tuple(sorted(found, key=lambda moon: MEAN_MAGNITUDES[moon.name])),
    )
