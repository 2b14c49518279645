"""Moons of Jupiter and Saturn against ephem 4.2 (tables of the Bureau des Longitudes, 1999-2019).

ephem takes the time it is given here for dynamical time: the shift that fits best is 1.1 minutes,
the difference of the two time scales in these years. So it is given dynamical time.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import ephem
import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.ephemeris.solar_system.galilean_moons import moons_of_jupiter
from planner.ephemeris.solar_system.jupiter import jupiter_face, moon_events
from planner.ephemeris.solar_system.satellites import along_equator, jupiter_vectors, saturn_vectors
from planner.model.site import Site

# In radii of Jupiter: 0.8 arcsec at opposition, which is 1 minute of Io's way and 5 of Callisto's.
# What the terms left out of the theory add up to, and ephem's other radius (0.1 percent of 26).
MOON_OF_JUPITER = 0.035
# The unit of length of ephem's tables for Saturn's moons is 0.64 percent smaller than that of
# Harper and Taylor (60 400 km over 60 000 km); what is left is 0.4 arcsec, or less.
J2000_NORTH = np.array([[0.0, 0.0, 1.0]])  # from which ephem's tables count
SATURN_UNITS = 60_400.0 / 60_000.0
MOON_OF_SATURN = 0.045


def test_jupiters_moons_on_fifty_nights(sky: Ephemeris, nights: list[datetime]) -> None:
    """Along right ascension and declination and in depth, in radii of Jupiter."""
    for instant in nights:
        aspect = aspect_of(sky, None, "Jupiter", [instant])
        ours = along_equator(jupiter_vectors(aspect), aspect.sight_au, J2000_NORTH)[:, :, 0]
        told = _told(aspect.times, (ephem.Io, ephem.Europa, ephem.Ganymede, ephem.Callisto))
        assert_allclose(ours, told, atol=MOON_OF_JUPITER)


def test_saturns_moons_on_fifty_nights(sky: Ephemeris, nights: list[datetime]) -> None:
    """The same in Saturn's radii."""
    for instant in nights:
        aspect = aspect_of(sky, None, "Saturn", [instant])
        ours = along_equator(saturn_vectors(aspect), aspect.sight_au, J2000_NORTH)[:, :, 0]
        told = _told(aspect.times, (ephem.Tethys, ephem.Dione, ephem.Rhea, ephem.Titan))
        assert_allclose(ours * SATURN_UNITS, told, atol=MOON_OF_SATURN)


def _told(
    times: object, bodies: tuple[type, ...]
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return ephem's places as (west, north, away): it counts east, south and toward us."""
    moment = ephem.Date(float(times.tt[0]) - 2_415_020.0)  # type: ignore[attr-defined]
    moons = [body(moment) for body in bodies]
    return np.array([[-m.x for m in moons], [-m.y for m in moons], [-m.z for m in moons]])


@pytest.mark.parametrize(
    ("clock", "what"),
    [
        ("03:11", "Callisto's shadow moves onto the disc"),
        ("04:35", "Io's shadow moves onto the disc"),
        ("04:55", "Io moves onto the disc"),
        ("06:19", "Callisto moves onto the disc"),
        ("06:28", "Europa's shadow moves onto the disc"),
        ("06:52", "Io's shadow leaves the disc"),
        ("07:08", "Europa moves onto the disc"),
        ("07:12", "Io leaves the disc"),
        ("08:00", "Callisto's shadow leaves the disc"),
    ],
)
def test_three_shadows_of_2015_january_24(
    sky: Ephemeris, north: Site, clock: str, what: str
) -> None:
    """The times (UT) that Sky & Telescope, January 2015, printed; from memory. Within 2 minutes."""
    start = datetime(2015, 1, 24, 2, tzinfo=UTC)
    events = moon_events(sky, north, start, start + timedelta(hours=8))
    (found,) = [event.at for event in events if event.words == what]
    hour, minute = map(int, clock.split(":"))
    told = start.replace(hour=hour, minute=minute)
    assert abs(found - told) < timedelta(minutes=2)


def test_three_shadows_at_once(sky: Ephemeris, north: Site) -> None:
    """Between 6:28 and 6:52 UT that night the disc had three shadows on it, and after not."""
    shadows = jupiter_face(sky, north, datetime(2015, 1, 24, 6, 40, tzinfo=UTC)).shadows
    assert shadows == ("Io", "Europa", "Callisto")
    later = jupiter_face(sky, north, datetime(2015, 1, 24, 6, 56, tzinfo=UTC)).shadows
    assert later == ("Europa", "Callisto")


def test_the_resonance_of_the_inner_three() -> None:
    """L1 - 3 L2 + 2 L3 = 180 deg, Laplace's law, within the 0.1 deg by which it librates.

    Tested on the mean orbit: over a month of steps the periodic terms cancel to a degree.
    """
    days = np.arange(9000.0, 9400.0, 0.37)
    places = moons_of_jupiter(days)
    lengths = [np.unwrap(np.arctan2(p[:, 1], p[:, 0])) for p in places[:3]]
    angle = np.degrees(lengths[0] - 3.0 * lengths[1] + 2.0 * lengths[2]) % 360.0
    assert_allclose(angle.mean(), 180.0, atol=1.0)


def test_offsets_in_the_sky_follow_from_those_along_the_equator(
    sky: Ephemeris, north: Site
) -> None:
    """West on the planet is 90 deg before its pole in position angle; 1 radius is half the disc."""
    instant = datetime(2026, 11, 26, 2, tzinfo=UTC)
    face = jupiter_face(sky, north, instant)
    pole = np.radians(face.pole_angle_deg)
    seen = observe_body(sky, north, "Jupiter", [instant])
    radius_arcsec = float(seen.equatorial_arcsec[0]) / 2.0
    for moon in face.moons:
        east = -np.cos(pole) * moon.west_radii + np.sin(pole) * moon.north_radii
        upward = np.sin(pole) * moon.west_radii + np.cos(pole) * moon.north_radii
        assert_allclose(moon.east_arcsec / radius_arcsec, east, rtol=0.01, atol=0.01)
        assert_allclose(moon.north_arcsec / radius_arcsec, upward, rtol=0.01, atol=0.01)
