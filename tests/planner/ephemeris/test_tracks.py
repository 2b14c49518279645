"""The night's grid against skyfield object by object, astropy and ephem."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from importlib import resources
from typing import Any

import ephem
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from skyfield.api import Star, wgs84

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import BODIES, Ephemeris, UnknownBodyError, load_ephemeris
from planner.ephemeris.tracks import SkyGrid, track_bodies, track_instants, track_night
from planner.model.site import Site
from targets.arrays import Floats

# Against skyfield, whose model of the Earth is ours too, only the interpolation and the bending
# of light by the Sun (0.4 arcsec at one degree from its centre) can differ.
HALF_ARCSECOND = 0.5
TENTH_OF_ARCSECOND = 0.1
# astropy knows the wandering of the pole (0.6 arcsec at most) and the turning of the Earth to
# the millisecond, we to some 0.05 s (0.8 arcsec); it bends light too.
TWO_ARCSECONDS = 2.0
# In azimuth the pole's wandering grows by the tangent of the latitude, 4.7 for the highest here.
FIVE_ARCSECONDS = 5.0
# ephem is built on shortened theories, good to arcseconds (VSOP87, Moon by Moshier). It takes UTC
# for UT1: the nights below are of years in which these were within 0.1 s, 1.5 arcsec.
EPHEM_THEORY = 5.0
# Twice the 20.5 arcsec of aberration: Sun and Moon are compared where they are seen here, where
# they stood there.
HUNDREDTH_DEGREE = 0.0115


NIGHTS = [
    (Site("Garden", 51.2, -2.4, 210.0, "Europe/London"), date(2026, 10, 24)),  # 25 hours
    (Site("Equator", 0.0, -78.5, 2800.0, "America/Guayaquil"), date(2024, 2, 10)),
    (Site("South", -33.9, 18.5, 0.0, "Africa/Johannesburg"), date(2010, 6, 21)),
    (Site("Arctic", 78.2, 15.6, 0.0, "Arctic/Longyearbyen"), date(2026, 12, 21)),
    (Site("Date line", -13.8, 179.9, 0.0, "Pacific/Fiji"), date(2024, 2, 29)),
]

# Both sides of the RA wrap, both poles, the equator, and some places people look at [deg].
RA_DEG = np.array([0.0, 359.9999, 0.0001, 83.82, 201.70, 10.68, 37.95, 250.42, 266.4, 120.0])
DEC_DEG = np.array([0.0, -5.0, 89.9, -5.39, -47.48, 41.27, 89.26, 36.46, -89.99, 23.4])


@pytest.fixture(scope="module", params=NIGHTS, ids=[site.name for site, _ in NIGHTS])
def grid(ephemeris: Ephemeris, request: pytest.FixtureRequest) -> SkyGrid:
    """Return one night's grid, a step every 50 minutes."""
    site, evening = request.param
    return track_night(ephemeris, find_night(ephemeris, site, evening), step_minutes=50.0)


@pytest.fixture(scope="module")
def by_skyfield(ephemeris: Ephemeris, grid: SkyGrid) -> Callable[[Any], Any]:
    """Return a function that observes one object from the grid's site at all its steps."""
    site = grid.night.site
    ground = wgs84.latlon(site.latitude_deg, site.longitude_deg, site.elevation_m)
    times = ephemeris.times(grid.unix_s)
    observer = (ephemeris.kernel["earth"] + ground).at(times)
    return lambda thing: observer.observe(thing).apparent()


@pytest.fixture(scope="module")
def by_ephem(grid: SkyGrid) -> Callable[[Any], Floats]:
    """A function for altitude and azimuth of one ephem body at all steps [deg], ``(T, 2)``."""
    site = grid.night.site
    observer = ephem.Observer()
    observer.lat, observer.lon = str(site.latitude_deg), str(site.longitude_deg)
    observer.elevation, observer.pressure = site.elevation_m, 0.0

    def places(body: Any) -> Iterator[tuple[float, float]]:
        for moment in grid.unix_s:
            observer.date = datetime.fromtimestamp(moment, UTC).replace(tzinfo=None)
            body.compute(observer)
            yield math.degrees(body.alt), math.degrees(body.az)

    return lambda body: np.array(list(places(body)))


def arcsec_apart(first: tuple[Floats, Floats], second: tuple[Floats, Floats]) -> Floats:
    """Return the angles between places given as altitude and azimuth [deg], in arcseconds."""
    (alt_a, az_a), (alt_b, az_b) = (
        [np.radians(angle) for angle in pair] for pair in (first, second)
    )
    half = (
        np.sin((alt_a - alt_b) / 2.0) ** 2
        + np.cos(alt_a) * np.cos(alt_b) * np.sin((az_a - az_b) / 2.0) ** 2
    )
    return np.asarray(np.degrees(2.0 * np.arcsin(np.sqrt(half))) * 3600.0)


# Fixed targets


def test_fixed_targets_stand_where_skyfield_sees_each(
    grid: SkyGrid, by_skyfield: Callable[[Any], Any]
) -> None:
    """Matrix products give the apparent place that skyfield gives one by one."""
    altitude, azimuth = grid.place(RA_DEG, DEC_DEG)
    for row, (ra, dec) in enumerate(zip(RA_DEG, DEC_DEG, strict=True)):
        alt, az, _ = by_skyfield(Star(ra_hours=ra / 15.0, dec_degrees=dec)).altaz()
        apart = arcsec_apart((altitude[row], azimuth[row]), (alt.degrees, az.degrees))
        assert_allclose(apart, 0.0, atol=HALF_ARCSECOND)


@pytest.mark.usefixtures("astropy_offline")
def test_fixed_targets_stand_where_astropy_sees_them(grid: SkyGrid) -> None:
    """Astropy's road from ICRS to altitude and azimuth (ERFA) leads to the same place."""
    from astropy.coordinates import SkyCoord  # noqa: PLC0415  half a second

    theirs = SkyCoord(RA_DEG[:, None], DEC_DEG[:, None], unit="deg").transform_to(
        horizon_of_astropy(grid)
    )
    ours = grid.place(RA_DEG, DEC_DEG)
    assert_allclose((ours[0] - theirs.alt.deg) * 3600.0, 0.0, atol=TWO_ARCSECONDS)
    apart = arcsec_apart(ours, (theirs.alt.deg, theirs.az.deg))
    assert_allclose(apart, 0.0, atol=FIVE_ARCSECONDS)


def test_fixed_targets_stand_where_ephem_sees_them(
    grid: SkyGrid, by_ephem: Callable[[Any], Floats]
) -> None:
    """So does ephem's, which shares no code with the other two."""
    for ra, dec in zip(RA_DEG, DEC_DEG, strict=True):
        body = ephem.FixedBody()
        body._ra, body._dec, body._epoch = math.radians(ra), math.radians(dec), ephem.J2000  # noqa: SLF001
        theirs = by_ephem(body)
        altitude, azimuth = grid.place(ra, dec)
        apart = arcsec_apart((altitude[0], azimuth[0]), (theirs[:, 0], theirs[:, 1]))
        assert_allclose(apart, 0.0, atol=FIVE_ARCSECONDS)


def test_angles_from_moon_and_sun_are_skyfields(
    ephemeris: Ephemeris, grid: SkyGrid, by_skyfield: Callable[[Any], Any]
) -> None:
    """Distances of targets from the Moon and the Sun, as seen from the site."""
    moon = by_skyfield(ephemeris.body("Moon"))
    sun = by_skyfield(ephemeris.body("Sun"))
    from_moon = grid.moon_separations(RA_DEG, DEC_DEG)
    from_sun = grid.sun_separations(RA_DEG, DEC_DEG)
    for row, (ra, dec) in enumerate(zip(RA_DEG, DEC_DEG, strict=True)):
        star = by_skyfield(Star(ra_hours=ra / 15.0, dec_degrees=dec))
        for ours, body in ((from_moon, moon), (from_sun, sun)):
            difference = (ours[row] - star.separation_from(body).degrees) * 3600.0
            assert_allclose(difference, 0.0, atol=HALF_ARCSECOND)


# Sun, Moon and planets


def test_bodies_stand_where_skyfield_sees_each(
    ephemeris: Ephemeris, grid: SkyGrid, by_skyfield: Callable[[Any], Any]
) -> None:
    """Thirteen instants of a night are enough to place every body at all others."""
    tracks = track_bodies(ephemeris, grid, ("Sun", *BODIES))
    moon, sun = (by_skyfield(ephemeris.body(name)) for name in ("Moon", "Sun"))
    for name, track in tracks.items():
        body = by_skyfield(ephemeris.body(name))
        alt, az, _ = body.altaz()
        apart = arcsec_apart((track.altitude_deg, track.azimuth_deg), (alt.degrees, az.degrees))
        assert_allclose(apart, 0.0, atol=TENTH_OF_ARCSECOND)
        for ours, other in ((track.moon_separation_deg, moon), (track.sun_separation_deg, sun)):
            difference = (ours - body.separation_from(other).degrees) * 3600.0
            assert_allclose(difference, 0.0, atol=TENTH_OF_ARCSECOND)


@pytest.mark.usefixtures("astropy_offline")
@pytest.mark.parametrize("name", ["Moon", "Venus", "Jupiter", "Neptune"])
def test_bodies_stand_where_astropy_sees_them(
    ephemeris: Ephemeris, grid: SkyGrid, name: str
) -> None:
    """Astropy reads the same DE421 by its own code and turns it by its own model of the Earth."""
    from astropy.coordinates import get_body, solar_system_ephemeris  # noqa: PLC0415

    horizon = horizon_of_astropy(grid)
    kernel = str(resources.files("skyfield_data") / "data" / "de421.bsp")
    with solar_system_ephemeris.set(kernel):
        theirs = get_body(name.lower(), horizon.obstime, horizon.location).transform_to(horizon)
    track = track_bodies(ephemeris, grid, [name])[name]
    assert_allclose((track.altitude_deg - theirs.alt.deg) * 3600.0, 0.0, atol=TWO_ARCSECONDS)
    apart = arcsec_apart((track.altitude_deg, track.azimuth_deg), (theirs.alt.deg, theirs.az.deg))
    assert_allclose(apart, 0.0, atol=FIVE_ARCSECONDS)


@pytest.mark.parametrize("name", BODIES)
def test_bodies_stand_where_ephem_sees_them(
    ephemeris: Ephemeris, grid: SkyGrid, by_ephem: Callable[[Any], Floats], name: str
) -> None:
    """Theories that know nothing of DE421 put the bodies in the same place."""
    theirs = by_ephem(getattr(ephem, name)())
    track = track_bodies(ephemeris, grid, [name])[name]
    apart = arcsec_apart((track.altitude_deg, track.azimuth_deg), (theirs[:, 0], theirs[:, 1]))
    assert_allclose(apart, 0.0, atol=EPHEM_THEORY)


def test_sun_and_moon_of_the_grid_are_skyfields(
    ephemeris: Ephemeris, grid: SkyGrid, by_skyfield: Callable[[Any], Any]
) -> None:
    """Their altitudes and the Moon's phase stand in the grid itself."""
    for name, ours_deg in (("Sun", grid.sun_altitude_deg), ("Moon", grid.moon_altitude_deg)):
        alt, _, _ = by_skyfield(ephemeris.body(name)).altaz()
        assert_allclose(3600.0 * (ours_deg - alt.degrees), 0.0, atol=TENTH_OF_ARCSECOND)
    moon, sun = by_skyfield(ephemeris.body("Moon")), ephemeris.body("Sun")
    assert_allclose(grid.moon_phase_deg, moon.phase_angle(sun).degrees, atol=HUNDREDTH_DEGREE)
    assert_allclose(grid.moon_illuminated, moon.fraction_illuminated(sun), atol=0.0002)


# The grid itself


@pytest.mark.parametrize(("evening", "steps"), [((2026, 6, 1), 289), ((2026, 10, 24), 301)])
def test_a_grid_runs_from_noon_to_noon(
    ephemeris: Ephemeris, evening: tuple[int, int, int], steps: int
) -> None:
    """Both noons are steps, also of a night of 25 hours."""
    night = find_night(ephemeris, NIGHTS[0][0], date(*evening))
    grid = track_night(ephemeris, night)
    assert len(grid.unix_s) == steps
    assert grid.unix_s[0] == night.start.timestamp()
    assert grid.unix_s[-1] == night.end.timestamp()


def test_part_of_a_grid_is_the_same_sky(ephemeris: Ephemeris) -> None:
    """Cutting a grid keeps its values, takes both ends in, and may leave nothing."""
    night = find_night(ephemeris, *NIGHTS[0])
    whole = track_night(ephemeris, night)
    start, end = night.start + timedelta(hours=5), night.start + timedelta(hours=9)
    part = whole.between(start, end)
    assert len(part.unix_s) == 4 * 12 + 1
    for field in fields(SkyGrid):
        if field.name != "night":
            assert_array_equal(getattr(part, field.name), getattr(whole, field.name)[60:109])
    assert_array_equal(part.altitudes(RA_DEG, DEC_DEG), whole.altitudes(RA_DEG, DEC_DEG)[:, 60:109])
    nothing = whole.between(end, start)
    assert nothing.altitudes(RA_DEG, DEC_DEG).shape == (len(RA_DEG), 0)
    bodies = track_bodies(ephemeris, part, ["Mars"])
    assert bodies["Mars"].altitude_deg.shape == (49,)


def test_chosen_instants_are_steps_of_the_same_sky(ephemeris: Ephemeris) -> None:
    """Asking for instants of one's own gives what an even grid gives there."""
    night = find_night(ephemeris, *NIGHTS[2])
    even = track_night(ephemeris, night, step_minutes=60.0)
    chosen = track_instants(
        ephemeris, night, [night.start + timedelta(hours=3), night.start + timedelta(hours=11)]
    )
    rounding_deg = 1e-9  # the order of additions may differ with the number of instants
    assert_allclose(
        chosen.altitudes(RA_DEG, DEC_DEG),
        even.altitudes(RA_DEG, DEC_DEG)[:, [3, 11]],
        rtol=0.0,
        atol=rounding_deg,
    )


def test_an_instant_outside_the_night_is_refused(ephemeris: Ephemeris) -> None:
    """The message names the instant and the night's bounds."""
    night = find_night(ephemeris, *NIGHTS[2])
    with pytest.raises(ValueError, match=r"2010-06-20T10:00:00.* outside the night of 2010-06-21"):
        track_instants(ephemeris, night, [night.start - timedelta(days=1)])
    with pytest.raises(ValueError, match="has no time zone"):
        track_instants(ephemeris, night, [night.start.replace(tzinfo=None)])


@pytest.mark.parametrize("step_minutes", [0.0, -5.0, math.nan])
def test_a_step_that_leads_nowhere_is_refused(ephemeris: Ephemeris, step_minutes: float) -> None:
    """Zero, negative and no number are answered with what is allowed."""
    night = find_night(ephemeris, *NIGHTS[2])
    with pytest.raises(ValueError, match="must be above 0"):
        track_night(ephemeris, night, step_minutes)


def test_an_unknown_body_is_refused(ephemeris: Ephemeris, grid: SkyGrid) -> None:
    """The message lists the bodies."""
    with pytest.raises(UnknownBodyError, match="'Ceres'; allowed are Sun, Moon"):
        track_bodies(ephemeris, grid, ["Ceres"])


def test_at_the_pole_altitude_is_declination(ephemeris: Ephemeris) -> None:
    """At the north pole nothing rises: over a day a star keeps its declination of date."""
    site = Site("Pole", 90.0, 0.0)
    grid = track_night(ephemeris, find_night(ephemeris, site, date(2000, 1, 1)), 60.0)
    altitude = grid.altitudes(RA_DEG, DEC_DEG)
    one_arcminute = 1.0 / 60.0  # aberration 20 arcsec, nutation 17 arcsec; precession since 2000: 0
    assert_allclose(altitude, np.broadcast_to(DEC_DEG[:, None], altitude.shape), atol=one_arcminute)


def test_a_target_in_the_very_zenith_has_an_altitude(grid: SkyGrid) -> None:
    """Rounding beyond a sine of one must not leave a hole at the top of the sky."""
    ra_rad = np.arctan2(grid.axes[:, 2, 1], grid.axes[:, 2, 0])
    dec_rad = np.arcsin(grid.axes[:, 2, 2])
    altitude = grid.altitudes(np.degrees(ra_rad), np.degrees(dec_rad))
    aberration_deg = 21.0 / 3600.0
    assert_allclose(np.diagonal(altitude), 90.0, atol=aberration_deg)
    again = replace(grid, velocity=np.zeros_like(grid.velocity))
    still = again.altitudes(np.degrees(ra_rad), np.degrees(dec_rad))
    assert_allclose(np.diagonal(still), 90.0, atol=1e-5)


@settings(max_examples=30, deadline=None)
@given(
    st.floats(-90.0, 90.0),
    st.floats(-180.0, 180.0),
    st.lists(st.tuples(st.floats(0.0, 360.0), st.floats(-90.0, 90.0)), min_size=1, max_size=5),
)
def test_every_place_is_on_the_globe_and_alone_as_in_company(
    latitude_deg: float, longitude_deg: float, targets: list[tuple[float, float]]
) -> None:
    """Altitudes, azimuths and angles keep to their ranges; one target alone gives its row."""
    site = Site("Anywhere", latitude_deg, longitude_deg)
    loaded = load_ephemeris()
    grid = track_night(loaded, find_night(loaded, site, date(2026, 11, 25)), 240.0)
    ra_deg, dec_deg = np.array(targets).T
    altitude, azimuth = grid.place(ra_deg, dec_deg)
    from_moon = grid.moon_separations(ra_deg, dec_deg)
    assert np.all(np.abs(altitude) <= 90.0)
    assert np.all((azimuth >= 0.0) & (azimuth <= 360.0))
    assert np.all((from_moon >= 0.0) & (from_moon <= 180.0))
    assert_allclose(grid.altitudes(*targets[0]), altitude[:1], atol=1e-9)
    assert_allclose(grid.altitudes(ra_deg + 360.0, dec_deg), altitude, atol=1e-6)


def horizon_of_astropy(grid: SkyGrid) -> Any:
    """Return astropy's airless horizon of the grid's site at its steps."""
    from astropy.coordinates import AltAz, EarthLocation  # noqa: PLC0415
    from astropy.time import Time  # noqa: PLC0415

    site = grid.night.site
    location = EarthLocation.from_geodetic(site.longitude_deg, site.latitude_deg, site.elevation_m)
    return AltAz(obstime=Time(grid.unix_s, format="unix"), location=location)


def test_the_instants_of_a_grid_lie_in_its_night(ephemeris: Ephemeris) -> None:
    """Where noon by the Sun is no whole second, rounding does not leave the night."""
    site = Site("Pole", 90.0, -65.73, 0.0, "UTC")
    for day in range(1, 8):
        night = find_night(ephemeris, site, date(2034, 2, day))
        grid = track_instants(ephemeris, night, [night.start, night.end])
        assert night.start <= grid.instant(0) <= grid.instant(1) <= night.end
