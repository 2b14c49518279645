"""Moons of Jupiter and Saturn against Kepler's third law, their resonance and a printed night."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.ephemeris.solar_system.jupiter import jupiter_face, moon_events
from planner.ephemeris.solar_system.rotation import axes_of
from planner.ephemeris.solar_system.satellites import (
    MOONS_OF_JUPITER,
    MOONS_OF_SATURN,
    moon_vectors,
)
from planner.ephemeris.solar_system.saturn import saturn_face
from planner.model.kit import Orientation
from planner.model.site import Site
from planner.output.text.solar_system import moons_line

MOONS = {"Jupiter": MOONS_OF_JUPITER, "Saturn": MOONS_OF_SATURN}
# GM of the planet [km3/s2], J2 for the radius beside it [km]; from memory of JPL's tables of
# planets and their satellites, as are the sidereal periods [days].
FIELDS = {
    "Jupiter": (126_686_534.0, 0.014_736, 71_492.0),
    "Saturn": (37_931_208.0, 0.016_291, 60_330.0),
}
PERIODS_DAYS = {
    "Io": 1.769_138,
    "Europa": 3.551_181,
    "Ganymede": 7.154_553,
    "Callisto": 16.689_018,
    "Tethys": 1.887_802,
    "Dione": 2.736_915,
    "Rhea": 4.518_212,
    "Titan": 15.945_421,
}
RADIUS_KM = {"Jupiter": 71_492.0, "Saturn": 60_268.0}
PER_MILLE = 0.001
# The unit of the library's tables before 2020 is that much off for Saturn; 0.02 radii for Titan.
UNIT_OF_TABLES = 0.0012
# How far a moon's orbit may lean against its planet's equator [deg]: JPL's tables (from memory)
# have at most 0.5 for Jupiter's, 1.1 for Tethys, 0.3 to 0.6 for the others.
MOST_TILT_DEG = {"Jupiter": 0.9, "Saturn": 1.3}


def month(planet: str, sky: Ephemeris, year: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return days since J2000.0 at the planet, its moons [radii], and its pole, for 64 days."""
    first = datetime(year, 3, 1, tzinfo=UTC)
    instants = [first + timedelta(hours=3 * k) for k in range(512)]
    aspect = aspect_of(sky, None, planet, instants)
    vectors = moon_vectors(aspect, MOONS[planet])
    assert vectors is not None
    spin = "Jupiter II" if planet == "Jupiter" else planet
    return aspect.days_tdb, vectors, axes_of(spin, aspect.days_tdb)[:, 2]


@pytest.mark.parametrize("year", [1999, 2012, 2026, 2039])
@pytest.mark.parametrize("planet", ["Jupiter", "Saturn"])
def test_distances_follow_from_the_periods(sky: Ephemeris, planet: str, year: int) -> None:
    """The mean of 1/r is 1/a, which Kepler's third law gives with the planet's flattening."""
    _, vectors, _ = month(planet, sky, year)
    mass, j2, radius = FIELDS[planet]
    for name, places in zip(MOONS[planet], vectors, strict=True):
        mean_motion = 2.0 * np.pi / (PERIODS_DAYS[name] * 86_400.0)
        axis_km = (mass / mean_motion**2) ** (1.0 / 3.0)
        axis_km *= 1.0 + 0.5 * j2 * (radius / axis_km) ** 2
        found_km = RADIUS_KM[planet] / np.mean(1.0 / np.linalg.norm(places, axis=1))
        assert_allclose(found_km, axis_km, rtol=UNIT_OF_TABLES, err_msg=name)


@pytest.mark.parametrize("year", [1999, 2012, 2026, 2039])
@pytest.mark.parametrize("planet", ["Jupiter", "Saturn"])
def test_moons_go_round_eastward_near_the_equator(sky: Ephemeris, planet: str, year: int) -> None:
    """In the published time, about the pole that the IAU gives."""
    days, vectors, pole = month(planet, sky, year)
    for name, places in zip(MOONS[planet], vectors, strict=True):
        length = np.linalg.norm(places, axis=1)
        leaning = np.degrees(np.arcsin(np.einsum("tj,tj->t", places, pole) / length))
        assert np.abs(leaning).max() < MOST_TILT_DEG[planet], name
        angle = _longitude(places, pole)
        turned = np.polyfit(days, angle, 1)[0]
        assert_allclose(360.0 / turned, PERIODS_DAYS[name], rtol=2.0 * PER_MILLE, err_msg=name)


def _longitude(places: np.ndarray, pole: np.ndarray) -> np.ndarray:
    """Return the angle around a pole from an axis across it, without jumps [deg]."""
    first = np.cross(pole[0], [1.0, 0.0, 0.0])
    first /= np.linalg.norm(first)
    second = np.cross(pole[0], first)
    return np.degrees(np.unwrap(np.arctan2(places @ second, places @ first)))


def test_the_resonance_of_the_inner_three(sky: Ephemeris) -> None:
    """L1 - 3 L2 + 2 L3 = 180 deg, Laplace's law; the terms of the resonance take off a degree."""
    _, vectors, pole = month("Jupiter", sky, 2026)
    io, europa, ganymede = (_longitude(places, pole) for places in vectors[:3])
    angle = (io - 3.0 * europa + 2.0 * ganymede) % 360.0
    assert_allclose(angle.mean(), 180.0, atol=1.0)


@pytest.mark.parametrize(
    ("day", "known"),
    [
        (datetime(1998, 12, 31, 12, tzinfo=UTC), False),
        (datetime(1999, 1, 1, 12, tzinfo=UTC), True),
        (datetime(2039, 12, 31, 12, tzinfo=UTC), True),
        (datetime(2040, 1, 1, 12, tzinfo=UTC), False),
    ],
)
def test_no_moons_outside_the_tables(
    sky: Ephemeris, north: Site, day: datetime, known: bool
) -> None:
    """Where the library would extrapolate there is no moon, no event and no line."""
    jupiter, saturn = jupiter_face(sky, north, day), saturn_face(sky, north, day)
    assert [bool(face.moons) for face in (jupiter, saturn)] == [known] * 2
    assert bool(moons_line(jupiter, 0.0, Orientation.UPRIGHT)) is known
    assert bool(moon_events(sky, north, day, day + timedelta(days=-3 if known else 3))) is False


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
