"""Faces of the Moon and planets against published worked examples and a second library.

Meeus 1998, "Astronomical Algorithms", 2nd ed.: examples 42.a (Mars, from memory), 43.a and 43.b
(Jupiter), 45.a (Saturn), 53.a (Moon). The second library is ephem 4.2 (libastro).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import ephem
import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.ephemeris.solar_system.jupiter import central_meridian_deg
from planner.ephemeris.solar_system.lunar_light import sun_altitude_deg
from planner.ephemeris.solar_system.moon import moon_face
from planner.ephemeris.solar_system.planet_phases import planet_face
from planner.ephemeris.solar_system.saturn import saturn_face
from planner.model.site import Site

# Meeus and ephem count from the axes of the Moon's inertia, maps from its mean axes toward the
# Earth: 0.019 deg apart in longitude and 0.022 in latitude (Archinal et al. 2018).
MOON_AXES_DEG = 0.025
# The book's last digit, for what it prints with two decimals.
LAST_DIGIT_DEG = 0.01
# Meeus turns Jupiter by elements of another report: 0.1 deg is 10 seconds of time.
TENTH_DEG = 0.1
# The poles of Saturn in the two sources lie this far apart.
POLE_DEG = 0.03
# ephem's colongitude leaves out the physical libration, and comes by low-accuracy series.
COLONGITUDE_DEG = 0.4


def test_the_moon_of_example_53a(sky: Ephemeris, at_tt: Callable[..., datetime]) -> None:
    """1992 April 12.0 TD: l -1.23, b +4.20, P 15.08, colongitude 22.11, b0 +1.46."""
    face = moon_face(sky, None, at_tt(1992, 4, 12))
    assert_allclose(face.libration_longitude_deg, -1.23, atol=MOON_AXES_DEG)
    assert_allclose(face.libration_latitude_deg, 4.20, atol=MOON_AXES_DEG + LAST_DIGIT_DEG)
    assert_allclose(face.pole_angle_deg, 15.08, atol=MOON_AXES_DEG)
    assert_allclose(face.colongitude_deg, 22.11, atol=MOON_AXES_DEG)
    assert_allclose(face.sun_latitude_deg, 1.46, atol=MOON_AXES_DEG)


def test_the_sun_over_copernicus_in_example_53a(
    sky: Ephemeris, at_tt: Callable[..., datetime]
) -> None:
    """The same instant, at longitude -20, latitude +9.7: +2.318 deg."""
    face = moon_face(sky, None, at_tt(1992, 4, 12))
    altitude = sun_altitude_deg(
        9.7,
        -20.0,
        sun_latitude_deg=face.sun_latitude_deg,
        sun_longitude_deg=face.sun_longitude_deg,
    )
    assert_allclose(altitude, 2.318, atol=MOON_AXES_DEG)


def test_sunrise_on_copernicus(sky: Ephemeris) -> None:
    """1992 April 11.8069 TD (Meeus, ch. 53): the Sun passes the horizon there, within 3 minutes."""
    times = sky.timescale.tt_jd(2448723.5 + 0.8069 + np.array([-0.002, 0.002])).utc_datetime()
    heights = [
        sun_altitude_deg(
            9.7,
            -20.0,
            sun_latitude_deg=face.sun_latitude_deg,
            sun_longitude_deg=face.sun_longitude_deg,
        )
        for face in (moon_face(sky, None, time) for time in times)
    ]
    assert heights[0] < MOON_AXES_DEG
    assert heights[1] > -MOON_AXES_DEG


def test_libration_and_colongitude_on_fifty_nights(sky: Ephemeris, nights: list[datetime]) -> None:
    """Those of ephem, for the middle of the Earth."""
    for instant in nights:
        face, other = moon_face(sky, None, instant), ephem.Moon(_ephem_date(instant))
        told = np.degrees([other.libration_long, other.libration_lat])
        ours = [face.libration_longitude_deg, face.libration_latitude_deg]
        assert_allclose(ours, told, atol=MOON_AXES_DEG + LAST_DIGIT_DEG)
        apart = (face.colongitude_deg - np.degrees(other.colong) + 180.0) % 360.0 - 180.0
        assert_allclose(apart, 0.0, atol=COLONGITUDE_DEG)


def test_libration_at_a_site_differs_as_the_earth_is_wide(
    sky: Ephemeris, nights: list[datetime], north: Site
) -> None:
    """Up to 1 degree (Meeus, ch. 53), and on some night more than half of one."""
    apart = [
        moon_face(sky, north, instant).libration_longitude_deg
        - moon_face(sky, None, instant).libration_longitude_deg
        for instant in nights
    ]
    assert 0.5 < max(map(abs, apart)) < 1.05


def test_jupiter_of_example_43a(sky: Ephemeris) -> None:
    """1992 Dec 16.0 UT: 268.06 and 72.74 in the two systems, D_E -2.48, P 24.80, D_S -2.194."""
    aspect = aspect_of(sky, None, "Jupiter", [datetime(1992, 12, 16, tzinfo=UTC)])
    assert_allclose(central_meridian_deg(aspect, "Jupiter I"), [268.06], atol=TENTH_DEG)
    assert_allclose(central_meridian_deg(aspect), [72.74], atol=TENTH_DEG)
    assert_allclose(aspect.facing("Jupiter II")[1], [-2.48], atol=LAST_DIGIT_DEG)
    assert_allclose(aspect.pole_angle_deg("Jupiter II"), [24.80], atol=LAST_DIGIT_DEG)
    assert_allclose(aspect.lit("Jupiter II")[1], [-2.194], atol=LAST_DIGIT_DEG)


def test_system_ii_comes_round_in_9_h_55_min_41_s(sky: Ephemeris) -> None:
    """The rotation period of System II, 9 h 55 m 40.6 s (Meeus, ch. 43), as seen within 0.1 deg."""
    start = datetime(2026, 1, 10, tzinfo=UTC)  # opposition, when the distance stands still
    period = 9 * 3600 + 55 * 60 + 40.6
    later = datetime.fromtimestamp(start.timestamp() + period, UTC)
    first, second = central_meridian_deg(aspect_of(sky, None, "Jupiter", [start, later]))
    assert_allclose((second - first + 180.0) % 360.0 - 180.0, 0.0, atol=TENTH_DEG)


def test_saturn_of_example_45a(sky: Ephemeris, at_tt: Callable[..., datetime], north: Site) -> None:
    """1992 Dec 16.0 TD: B 16.442, B' 14.679, P 6.741."""
    face = saturn_face(sky, north, at_tt(1992, 12, 16))
    assert_allclose(face.tilt_deg, 16.442, atol=LAST_DIGIT_DEG)
    assert_allclose(face.sun_tilt_deg, 14.679, atol=LAST_DIGIT_DEG)
    assert_allclose(face.pole_angle_deg, 6.741, atol=POLE_DEG)


def test_ring_tilts_on_fifty_nights(sky: Ephemeris, nights: list[datetime], north: Site) -> None:
    """Those of ephem, toward the Earth and toward the Sun."""
    for instant in nights:
        face, other = saturn_face(sky, north, instant), ephem.Saturn(_ephem_date(instant))
        told = np.degrees([other.earth_tilt, other.sun_tilt])
        assert_allclose([face.tilt_deg, face.sun_tilt_deg], told, atol=LAST_DIGIT_DEG)


def test_mars_of_example_42a(sky: Ephemeris, north: Site) -> None:
    """1992 Nov 9.0 UT (from memory): omega 111.55, D_E +12.44, P 347.64, lit 0.9012."""
    face = planet_face(sky, north, "Mars", datetime(1992, 11, 9, tzinfo=UTC))
    assert face.meridian_deg is not None
    assert_allclose(face.meridian_deg, 111.55, atol=TENTH_DEG)
    assert_allclose([face.tilt_deg, face.pole_angle_deg], [12.44, 347.64], atol=LAST_DIGIT_DEG)
    assert_allclose(face.illuminated, 0.9012, atol=0.0005)


@pytest.mark.parametrize(
    ("name", "day", "greatest", "is_east"),
    [
        # Dates and elongations as astronomical almanacs print them, from memory.
        ("Venus", datetime(2025, 1, 10, tzinfo=UTC), 47.2, True),
        ("Venus", datetime(2027, 1, 3, tzinfo=UTC), 47.0, False),
        ("Mercury", datetime(2026, 2, 19, tzinfo=UTC), 18.1, True),
    ],
)
def test_greatest_elongations(
    sky: Ephemeris, north: Site, name: str, day: datetime, greatest: float, is_east: bool
) -> None:
    """Found a month before, to the day and to the printed decimal."""
    before = datetime.fromtimestamp(day.timestamp() - 20 * 86_400, UTC)
    found = planet_face(sky, north, name, before).greatest
    assert found is not None
    assert abs((found[0] - day).total_seconds()) < 1.5 * 86_400
    assert_allclose(found[1], greatest, atol=0.06)
    assert found[2] is is_east


def test_elongations_and_sides_on_ten_nights(
    sky: Ephemeris, nights: list[datetime], north: Site
) -> None:
    """Those of ephem, whose sign tells evening from morning; within parallax and aberration."""
    for instant in nights[:10]:
        for name, body in (("Venus", ephem.Venus), ("Mercury", ephem.Mercury)):
            face, other = planet_face(sky, north, name, instant), body(_ephem_date(instant))
            sign = 1.0 if face.is_east else -1.0
            if abs(np.degrees(other.elong)) > 1.0:
                assert_allclose(sign * face.elongation_deg, np.degrees(other.elong), atol=0.05)
            assert_allclose(face.illuminated, other.phase / 100.0, atol=0.01)


def _ephem_date(instant: datetime) -> ephem.Date:
    return ephem.Date(instant.replace(tzinfo=None))
