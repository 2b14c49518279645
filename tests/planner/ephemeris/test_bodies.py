"""The Moon and planets against worked examples, published magnitudes, and ephem."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import ephem
import numpy as np
import pytest
from numpy.testing import assert_allclose
from skyfield.api import wgs84

from planner.ephemeris.bodies import BodyEphemeris, find_constellation, observe_body
from planner.ephemeris.kernel import BODIES, Ephemeris, OutsideEphemerisError, UnknownBodyError
from planner.model.site import Site

# Five kilometres from its centre the Earth's turning and parallax come to nothing: 3 arcsec for
# the Moon. (At the centre itself skyfield divides by zero, to bend light by the Earth's mass.)
CENTRE = Site("Centre of the Earth", 0.0, 0.0, -6_378_137.0 + 5_000.0)
GARDEN = Site("Garden", 51.2, -2.4, 210.0, "Europe/London")
WASHINGTON = Site("Washington", 38.921389, -77.065556)

TEN_ARCSECONDS_DEG = 10.0 / 3600.0  # Meeus' Moon is good to that (ch. 47)
VENUS_PARALLAX_DEG = 7.0 / 3600.0  # 8.8 arcsec at one au; his Venus is seen from the centre
HALF_SECOND_TURN_DEG = 0.5 * 15.0 / 3600.0  # his time is UT1, ours UTC
NINTH_OF_ARCSECOND_AU = 5.0e-6  # a barycentre for a planet, and DE421 for a later ephemeris
LAST_DIGIT_ARCSEC = 0.01


def dynamical(year: int, month: int, day: int, *, ahead_s: float) -> datetime:
    """Return the UTC of midnight in terrestrial time, which was ``ahead_s`` ahead."""
    return datetime(year, month, day, tzinfo=UTC) - timedelta(seconds=ahead_s)


@pytest.fixture
def observe(ephemeris: Ephemeris) -> Callable[[Site, str, datetime], BodyEphemeris]:
    """Return a function that observes a body once."""
    return lambda site, name, instant: observe_body(ephemeris, site, name, [instant])


def test_moon_in_a_worked_example(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Meeus 1998, ex. 47.a and 48.a, 1992 April 12.0 TD: place, distance and lit fraction."""
    moon = observe(CENTRE, "Moon", dynamical(1992, 4, 12, ahead_s=58.7))
    assert_allclose(moon.ra_deg, 134.688470, atol=TEN_ARCSECONDS_DEG)
    assert_allclose(moon.dec_deg, 13.768368, atol=TEN_ARCSECONDS_DEG)
    # Ours is the way of the light, in whose 1.3 seconds the Earth moves on by 38 km.
    forty_kilometres = 40.0
    assert_allclose(moon.distance_au * 149_597_870.7, 368_409.7, atol=forty_kilometres)
    assert_allclose(moon.illuminated, 0.6786, atol=0.0002)
    assert_allclose(moon.phase_deg, 69.0756, atol=0.02)  # his Sun is not light-time corrected


def test_venus_above_washington_in_a_worked_example(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Meeus 1998, ex. 13.b, 1987 April 10, 19:21 UT: azimuth 248.0337, altitude 15.1249."""
    venus = observe(WASHINGTON, "Venus", datetime(1987, 4, 10, 19, 21, tzinfo=UTC))
    tolerance = VENUS_PARALLAX_DEG + HALF_SECOND_TURN_DEG
    assert_allclose(venus.azimuth_deg, 248.0337, atol=tolerance)
    assert_allclose(venus.altitude_deg, 15.1249, atol=tolerance)
    assert_allclose(venus.ra_deg, 347.3193, atol=tolerance)
    assert_allclose(venus.dec_deg, -6.7199, atol=tolerance)


def test_venus_lit_in_a_worked_example(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Meeus 1998, ex. 33.a and 41.a, 1992 Dec 20.0 TD: place, distance 0.910947 au, k 0.647."""
    venus = observe(CENTRE, "Venus", dynamical(1992, 12, 20, ahead_s=59.2))
    assert_allclose(venus.ra_deg, 316.17291, atol=TEN_ARCSECONDS_DEG)
    assert_allclose(venus.dec_deg, -18.88801, atol=TEN_ARCSECONDS_DEG)
    assert_allclose(venus.distance_au, 0.910947, atol=NINTH_OF_ARCSECOND_AU)
    assert_allclose(venus.illuminated, 0.647, atol=0.0005)


def test_saturns_rings_in_a_worked_example(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Meeus 1998, ex. 45.a, 1992 Dec 16.0 TD: B 16.442 deg, axes 35.87 and 10.15 arcsec."""
    saturn = observe(CENTRE, "Saturn", dynamical(1992, 12, 16, ahead_s=59.2))
    assert saturn.rings is not None
    assert_allclose(saturn.rings.tilt_deg, 16.442, atol=0.005)  # his place of Saturn is truncated
    assert_allclose(saturn.rings.major_arcsec, 35.87, atol=LAST_DIGIT_ARCSEC)
    assert_allclose(saturn.rings.minor_arcsec, 10.15, atol=LAST_DIGIT_ARCSEC)


# Mallama and Hilton 2018, arXiv:1808.01973: the authors' test cases with their distances and
# phase angles. The dates are those on which DE421 gives these distances.
HUNDREDTH_MAG = 0.01
# Sun taken at the barycentre: 0.009 au of Mercury's 0.31, and some phase.
MERCURY_BARYCENTRE_MAG = 0.05
VENUS_BARYCENTRE_MAG = 0.02
MARS_MARKINGS_MAG = 0.1


@pytest.mark.parametrize(
    ("name", "day", "distance_au", "phase_deg", "magnitude", "tolerance"),
    [
        ("Mercury", (2006, 5, 19), 1.32182643625754, 1.1677, -2.477, MERCURY_BARYCENTRE_MAG),
        ("Mercury", (2006, 6, 15), 0.92644808718613, 90.1662, 0.181, MERCURY_BARYCENTRE_MAG),
        ("Venus", (2006, 10, 28), 1.71607489554051, 1.3232, -3.917, VENUS_BARYCENTRE_MAG),
        ("Venus", (2005, 12, 14), 0.37762511206278, 124.1348, -4.916, VENUS_BARYCENTRE_MAG),
        ("Mars", (2003, 8, 28), 0.37274381097911, 4.8948, -2.862, MARS_MARKINGS_MAG),
        ("Jupiter", (2004, 9, 21), 6.44985867459088, 0.2446, -1.667, HUNDREDTH_MAG),
        ("Jupiter", (2010, 9, 21), 3.95393078136013, 0.3431, -2.934, HUNDREDTH_MAG),
        ("Saturn", (2032, 12, 25), 8.03160470546889, 0.1055, -0.552, HUNDREDTH_MAG),
        ("Uranus", (1970, 3, 28), 17.3229728525108, 0.0410, 5.381, HUNDREDTH_MAG),
    ],
)
def test_published_magnitudes(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
    name: str,
    day: tuple[int, int, int],
    distance_au: float,
    phase_deg: float,
    magnitude: float,
    tolerance: float,
) -> None:
    """Distance, phase angle and magnitude of the authors' own cases come out of the dates."""
    body = observe(CENTRE, name, datetime(*day, tzinfo=UTC))
    assert_allclose(body.distance_au, distance_au, atol=NINTH_OF_ARCSECOND_AU)
    assert_allclose(body.phase_deg, phase_deg, atol=0.005)  # apparent or geometric Sun
    assert body.magnitude_at(0) == pytest.approx(magnitude, abs=tolerance)


MOMENT = datetime(2026, 11, 25, 20, tzinfo=UTC)


@pytest.fixture
def by_ephem() -> Callable[[str], Any]:
    """Return a function that lets ephem observe a body from the garden at the moment."""
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.elevation = "51.2", "-2.4", GARDEN.elevation_m
    observer.pressure, observer.date = 0.0, MOMENT.replace(tzinfo=None)
    return lambda name: getattr(ephem, name)(observer)


@pytest.mark.parametrize("name", BODIES)
def test_everything_is_near_what_ephem_gives(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
    by_ephem: Callable[[str], Any],
    name: str,
) -> None:
    """Place, distance, size, phase, elongation and constellation by a program of its own."""
    ours, theirs = observe(GARDEN, name, MOMENT), by_ephem(name)
    # ephem's place of date is that from the Earth's centre: the Moon's parallax goes into it.
    assert_allclose(
        ours.ra_j2000_deg, math.degrees(theirs.a_ra), atol=0.01 if name != "Moon" else 1
    )
    assert_allclose(
        ours.dec_j2000_deg, math.degrees(theirs.a_dec), atol=0.01 if name != "Moon" else 1
    )
    assert_allclose(ours.altitude_deg, math.degrees(theirs.alt), atol=TEN_ARCSECONDS_DEG)
    assert_allclose(ours.azimuth_deg, math.degrees(theirs.az), atol=TEN_ARCSECONDS_DEG)
    earth_radius = 0.017  # ephem takes the Moon's distance from the centre of the Earth
    assert_allclose(ours.distance_au, theirs.earth_distance, rtol=earth_radius)
    two_percent = 0.02  # older radii, Venus with its cloud
    assert_allclose(ours.equatorial_arcsec, theirs.size, rtol=two_percent)
    assert_allclose(ours.illuminated, theirs.phase / 100.0, atol=0.01)
    assert_allclose(ours.elongation_deg, abs(math.degrees(theirs.elong)), atol=1.0)
    older_magnitudes = 0.5  # before 2018 Venus was given 0.4 mag fainter
    assert_allclose(ours.magnitude, theirs.mag, atol=older_magnitudes)
    place = find_constellation(ours.ra_j2000_deg[0], ours.dec_j2000_deg[0])
    assert place == ephem.constellation(theirs)[0]


def test_saturns_tilt_has_the_sign_and_size_that_ephem_gives(
    observe: Callable[[Site, str, datetime], BodyEphemeris], by_ephem: Callable[[str], Any]
) -> None:
    """In late 2026 the southern face is seen, by six degrees."""
    rings = observe(GARDEN, "Saturn", MOMENT).rings
    assert rings is not None
    tenth_degree = 0.1  # another pole of Saturn
    assert_allclose(rings.tilt_deg, math.degrees(by_ephem("Saturn").earth_tilt), atol=tenth_degree)
    assert -7.0 < rings.tilt_deg[0] < -5.0


def test_only_saturn_has_rings_and_its_globe_leans(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Its disc is flattened less than the globe is, its rings reach beyond 2.2 diameters."""
    saturn = observe(CENTRE, "Saturn", datetime(2032, 12, 25, tzinfo=UTC))
    assert saturn.rings is not None
    assert 54_364 / 60_268 < saturn.polar_arcsec[0] / saturn.equatorial_arcsec[0] < 0.93
    assert_allclose(saturn.rings.major_arcsec / saturn.equatorial_arcsec, 2.26, atol=0.02)
    assert observe(CENTRE, "Jupiter", MOMENT).rings is None


def test_j2000_places_move_with_precession(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Of date and of J2000 differ by 27 years of precession, 46 arcsec a year in RA near 0 h."""
    neptune = observe(GARDEN, "Neptune", MOMENT)
    drift_deg = (neptune.ra_deg - neptune.ra_j2000_deg) % 360.0
    one_arcminute = 1.0 / 60.0  # aberration and nutation
    assert_allclose(drift_deg, 26.9 * 46.1 / 3600.0, atol=one_arcminute)


def test_many_instants_give_what_each_gives(ephemeris: Ephemeris) -> None:
    """Arrays are in the order of the instants, and each value is that of its instant alone."""
    instants = [MOMENT, MOMENT - timedelta(days=40), MOMENT + timedelta(days=9)]
    together = observe_body(ephemeris, GARDEN, "Saturn", instants)
    assert together.rings is not None
    for index, instant in enumerate(instants):
        alone = observe_body(ephemeris, GARDEN, "Saturn", [instant])
        assert alone.rings is not None
        for name in ("ra_deg", "altitude_deg", "magnitude", "polar_arcsec", "phase_deg"):
            assert_allclose(getattr(together, name)[index], getattr(alone, name)[0], atol=1e-9)
        assert_allclose(together.rings.tilt_deg[index], alone.rings.tilt_deg[0], atol=1e-9)


def test_an_unknown_magnitude_is_none(
    observe: Callable[[Site, str, datetime], BodyEphemeris],
) -> None:
    """Mallama and Hilton give none for Neptune before 2000 above a phase angle of 1.9 degrees."""
    year = [datetime(1950, 1, 1, tzinfo=UTC) + timedelta(days=day) for day in range(0, 366, 5)]
    neptune = [observe(GARDEN, "Neptune", instant) for instant in year]
    unknown = [body.magnitude_at(0) is None for body in neptune]
    assert unknown == [body.phase_deg[0] > 1.9 for body in neptune]
    assert any(unknown)
    assert not all(unknown)


@pytest.mark.parametrize("name", ["Sun", "Pluto", "moon"])
def test_what_cannot_be_observed_is_refused(ephemeris: Ephemeris, name: str) -> None:
    """The Sun, too: no telescope is pointed at it from here. The message lists the bodies."""
    with pytest.raises(UnknownBodyError, match=f"'{name}' cannot be observed; allowed are Moon"):
        observe_body(ephemeris, GARDEN, name, [MOMENT])


def test_instants_without_zone_or_position_are_refused(ephemeris: Ephemeris) -> None:
    """Both are answered by a sentence."""
    with pytest.raises(ValueError, match="no time zone"):
        observe_body(ephemeris, GARDEN, "Mars", [MOMENT.replace(tzinfo=None)])
    with pytest.raises(OutsideEphemerisError, match="2126-11-25"):
        observe_body(ephemeris, GARDEN, "Mars", [MOMENT.replace(year=2126)])


@pytest.mark.usefixtures("astropy_offline")
@pytest.mark.parametrize(
    ("ra_hours", "dec_deg", "abbreviation"),
    [
        (9.0, 65.0, "UMa"),
        (23.5, -20.0, "Aqr"),
        (5.12, 9.12, "Ori"),
        (9.4555, -19.9, "Hya"),
        (12.8888, 22.0, "Com"),
        (15.6687, -12.1234, "Lib"),
        (19.0, -40.0, "CrA"),
        (6.2222, -81.1234, "Men"),
    ],
)
def test_constellations_of_the_published_check(
    ra_hours: float, dec_deg: float, abbreviation: str
) -> None:
    """Roman 1987, catalogue VI/42: the eight places with which to check a program, B1950."""
    from astropy.coordinates import FK4, SkyCoord  # noqa: PLC0415  half a second

    place = SkyCoord(ra_hours * 15.0, dec_deg, unit="deg", frame=FK4(equinox="B1950")).icrs
    assert find_constellation(place.ra.deg, place.dec.deg) == abbreviation


def test_constellations_all_over_the_sky_are_those_of_ephem() -> None:
    """Both hold the borders of Delporte 1930; 400 places fall on the same side of them."""
    random = np.random.default_rng(88)
    for ra_deg, sine in zip(random.uniform(0, 360, 400), random.uniform(-1, 1, 400), strict=True):
        theirs, _ = ephem.constellation((math.radians(ra_deg), math.asin(sine)), epoch=ephem.J2000)
        ours = find_constellation(ra_deg, math.degrees(math.asin(sine)))
        assert ours == {"Se1": "Ser", "Se2": "Ser"}.get(theirs, theirs)  # one, in two parts


def test_altitude_is_skyfields(ephemeris: Ephemeris) -> None:
    """The site's elevation and position reach the observer: altitude as skyfield has it."""
    instants = [MOMENT + timedelta(hours=hour) for hour in range(5)]
    ours = observe_body(ephemeris, GARDEN, "Moon", instants)
    ground = wgs84.latlon(51.2, -2.4, 210.0)
    times = ephemeris.timescale.from_datetimes(instants)
    observer = (ephemeris.kernel["earth"] + ground).at(times)
    alt, az, distance = observer.observe(ephemeris.kernel["moon"]).apparent().altaz()
    assert_allclose(ours.altitude_deg, alt.degrees, atol=1e-6)
    assert_allclose(ours.azimuth_deg, az.degrees, atol=1e-6)
    assert_allclose(ours.distance_au, distance.au, atol=1e-7)
    assert np.all(ours.elongation_deg > 150.0)
