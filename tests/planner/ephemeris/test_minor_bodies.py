"""Comets and minor planets as seen: against a published ephemeris and against PyEphem."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime

import ephem
import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris, OutsideEphemerisError, unix_seconds
from planner.ephemeris.minor_bodies import (
    asteroid_magnitude,
    coma_arcmin,
    comet_magnitude,
    minor_body,
    observe_minor,
)
from planner.ephemeris.minor_targets import age_doubt, bright_enough, minor_at
from planner.ephemeris.tracks import track_instants, track_night
from planner.model.site import Site
from planner.planning.survey import body_at, follow
from targets.elements import Elements, julian_date
from targets.model import Kind, Target

SITE = Site("Garden", 51.2, -2.4, 210.0, "Europe/London", 20.9)
HALF_AN_ARCSECOND_DEG = 0.5 / 3600.0
# PyEphem's theory of the Earth and its own constants leave this much.
FIVE_ARCSECONDS_DEG = 5.0 / 3600.0
# It takes the perihelion for Universal Time, 62 s off at 44 km/s, and keeps elements in single
# precision.
TEN_ARCSECONDS_DEG = 10.0 / 3600.0
HUNDREDTH_MAG = 0.01
# The same formulas for light time, with and without velocities.
MILLIARCSECONDS_DEG = 20.0 / 3.6e6

# Meeus 1998, "Astronomical Algorithms", example 33.a: comet 2P/Encke, elements of J2000, and its
# astrometric place on 1990 October 6.0 TD (recalled from memory).
ENCKE_PERIHELION = (1990, 10, 28.54502)
ENCKE = {
    "perihelion_au": 0.3308858,
    "eccentricity": 0.8502196,
    "argument_deg": 186.23352,
    "node_deg": 334.75006,
    "inclination_deg": 11.94524,
}
ENCKE_PLACE_DEG = (158.558965, 19.158495)

# C/1995 O1 (Hale-Bopp) near its perihelion, and (1) Ceres: rounded published elements.
HALE_BOPP = Elements(2450539.628, 0.914142, 0.995086, 130.5887, 282.4707, 89.4300, 2450520.5, -0.8)
CERES_EPOCH = 2460200.5
CERES = {"a": 2.767254, "e": 0.0789126, "M": 17.21569, "w": 73.47045, "node": 80.26013}
CERES_INCLINATION_DEG = 10.58634


def ceres() -> Elements:
    """Return Ceres by its perihelion."""
    motion_deg = math.degrees(0.01720209895) * CERES["a"] ** -1.5
    return Elements(
        CERES_EPOCH - CERES["M"] / motion_deg,
        CERES["a"] * (1.0 - CERES["e"]),
        CERES["e"],
        CERES["w"],
        CERES["node"],
        CERES_INCLINATION_DEG,
        CERES_EPOCH,
        3.33,
        0.15,
    )


def elsewhere(body: ephem.Body, at: datetime) -> ephem.Body:
    """Compute a body with the other library, astrometric and topocentric."""
    observer = ephem.Observer()
    observer.lat, observer.lon = math.radians(SITE.latitude_deg), math.radians(SITE.longitude_deg)
    observer.elevation, observer.pressure = SITE.elevation_m, 0.0
    observer.date, observer.epoch = ephem.Date(at.replace(tzinfo=None)), ephem.J2000
    body.compute(observer)
    return body


def ceres_elsewhere() -> ephem.EllipticalBody:
    """Return Ceres to the other library by its mean anomaly, as published."""
    body = ephem.EllipticalBody()
    body._a, body._e, body._M = CERES["a"], CERES["e"], CERES["M"]  # noqa: SLF001
    body._inc, body._Om, body._om = CERES_INCLINATION_DEG, CERES["node"], CERES["w"]  # noqa: SLF001
    body._epoch, body._epoch_M = ephem.J2000, ephem.Date("2023/9/13")  # noqa: SLF001
    body._H, body._G = 3.33, 0.15  # noqa: SLF001
    return body


def hale_bopp_elsewhere() -> ephem.EllipticalBody:
    """Return Hale-Bopp to the other library, as an ellipse from its perihelion."""
    body = ephem.EllipticalBody()
    body._a, body._e, body._M = 0.914142 / (1.0 - 0.995086), 0.995086, 0.0  # noqa: SLF001
    body._inc, body._Om, body._om = 89.4300, 282.4707, 130.5887  # noqa: SLF001
    body._epoch, body._epoch_M = ephem.J2000, ephem.Date(2450539.628 - 2415020.0)  # noqa: SLF001
    return body


def test_encke_is_where_the_book_has_it(ephemeris: Ephemeris) -> None:
    """Its geocentric astrometric place agrees with the published example."""
    scale = ephemeris.timescale
    elements = Elements(scale.tt(*ENCKE_PERIHELION).tt, **ENCKE)
    earth = ephemeris.kernel["earth"].at(scale.tt(1990, 10, 6.0))
    ra, dec, _ = earth.observe(minor_body(ephemeris, elements)).radec()
    assert_allclose(
        [ra.hours * 15.0, dec.degrees], ENCKE_PLACE_DEG, rtol=0, atol=HALF_AN_ARCSECOND_DEG
    )


@pytest.mark.parametrize(
    "at",
    [datetime(2023, 9, 13, 22, tzinfo=UTC), datetime(2024, 6, 1, 1, tzinfo=UTC),
     datetime(2026, 12, 8, 21, tzinfo=UTC)],
)  # fmt: skip
def test_ceres_is_where_another_library_has_it(ephemeris: Ephemeris, at: datetime) -> None:
    """Place, distance and H, G magnitude, from the same published elements."""
    ours, theirs = observe_minor(ephemeris, SITE, [(Kind.ASTEROID, ceres())], at), ceres_elsewhere()
    elsewhere(theirs, at)
    assert_allclose(
        [ours.ra_deg[0], ours.dec_deg[0]],
        np.degrees([theirs.a_ra, theirs.a_dec]),
        rtol=0,
        atol=FIVE_ARCSECONDS_DEG,
    )
    assert_allclose(ours.distance_au[0], theirs.earth_distance, rtol=1e-4)
    assert_allclose(ours.magnitude[0], theirs.mag, rtol=0, atol=HUNDREDTH_MAG)


def test_hale_bopp_is_where_another_library_has_it(ephemeris: Ephemeris) -> None:
    """A week after its perihelion, high over the north-western horizon of spring 1997."""
    at = datetime(1997, 4, 8, 20, tzinfo=UTC)
    ours = observe_minor(ephemeris, SITE, [(Kind.COMET, HALE_BOPP)], at)
    theirs = elsewhere(hale_bopp_elsewhere(), at)
    assert_allclose(
        [ours.ra_deg[0], ours.dec_deg[0]],
        np.degrees([theirs.a_ra, theirs.a_dec]),
        rtol=0,
        atol=TEN_ARCSECONDS_DEG,
    )


def test_all_at_once_is_as_one_by_one(ephemeris: Ephemeris) -> None:
    """The fast way agrees with what skyfield observes, and rows do not mix."""
    at = datetime(1997, 10, 1, 20, tzinfo=UTC)
    both = observe_minor(ephemeris, SITE, [(Kind.COMET, HALE_BOPP), (Kind.ASTEROID, ceres())], at)
    from skyfield.api import wgs84  # noqa: PLC0415  # only here

    ground = wgs84.latlon(SITE.latitude_deg, SITE.longitude_deg, elevation_m=SITE.elevation_m)
    observer = (ephemeris.kernel["earth"] + ground).at(ephemeris.times(unix_seconds([at])))
    for row, elements in enumerate((HALE_BOPP, ceres())):
        ra, dec, _ = observer.observe(minor_body(ephemeris, elements)).radec()
        assert_allclose(
            [both.ra_deg[row], both.dec_deg[row]],
            [ra.hours[0] * 15.0, dec.degrees[0]],
            rtol=0,
            atol=MILLIARCSECONDS_DEG,
        )


def test_comet_magnitude_by_hand() -> None:
    """At 1 au from both it is g; 2.5 k log r with k = 4 adds 10 log 2 = 3.01 at 2 au from the Sun.

    Meeus 1998, ch. 33: m = g + 5 log(distance) + kappa log(r).
    """
    assert comet_magnitude(6.5, slope_k=4.0, distance_au=1.0, sun_distance_au=1.0) == 6.5
    found = comet_magnitude(6.5, slope_k=4.0, distance_au=0.1, sun_distance_au=2.0)
    assert_allclose(found, 6.5 - 5.0 + 3.0103, atol=1e-4)


def test_asteroid_magnitude_at_opposition() -> None:
    """With the Sun behind the observer the phase takes nothing: H + 5 log(r distance)."""
    found = asteroid_magnitude(
        3.33, slope_g=0.15, distance_au=1.6, sun_distance_au=2.6, earth_sun_au=1.0
    )
    assert_allclose(found, 3.33 + 5.0 * math.log10(1.6 * 2.6))


def test_coma_by_hand() -> None:
    """200,000 km at 1 au are 200000 / 149597871 rad = 4.596 arcmin."""
    assert_allclose(coma_arcmin(1.0), 4.596, atol=0.001)


def test_it_moves_during_the_night(ephemeris: Ephemeris) -> None:
    """Place and altitude are those of the instant, not of the night."""
    night = find_night(ephemeris, SITE, date(1997, 4, 8))
    grid = track_night(ephemeris, night)
    target = Target("C/1995O1", "C/1995 O1", Kind.COMET, elements=HALE_BOPP)
    early, late = (
        body_at(target, ephemeris, grid, night.start.replace(hour=hour)) for hour in (19, 23)
    )
    assert early.ra_deg is not None
    assert late.ra_deg is not None
    moved_arcmin = abs(late.ra_deg - early.ra_deg) * 60.0
    assert 2.0 < moved_arcmin < 30.0
    at = night.start.replace(hour=21)
    instant = track_instants(ephemeris, night, [at])
    tracks = follow([target], ephemeris, instant)
    theirs = elsewhere(hale_bopp_elsewhere(), at)
    assert_allclose(
        tracks.true_altitude_deg[0, 0], math.degrees(theirs.alt), atol=5 * FIVE_ARCSECONDS_DEG
    )


def test_what_is_said_of_a_comet(ephemeris: Ephemeris) -> None:
    """Expected magnitude, assumed coma and old elements are all told as such."""
    night = find_night(ephemeris, SITE, date(1997, 12, 8))
    grid = track_night(ephemeris, night)
    target = Target("C/1995O1", "C/1995 O1", Kind.COMET, elements=HALE_BOPP)
    at = datetime(1997, 12, 8, 0, tzinfo=UTC)
    seen = minor_at(target, HALE_BOPP, ephemeris, grid, at)
    assert seen.note is not None
    assert "expected magnitude " in seen.note
    assert "coma assumed 200,000 km wide" in seen.note
    assert "elements are 270 days old" in seen.note  # from 13 March 0h to 8 December midnight
    assert seen.size_is_approximate


@pytest.mark.parametrize(
    ("kind", "days", "said"),
    [
        (Kind.COMET, 99.0, None),
        (Kind.COMET, 102.0, "102 days old"),
        (Kind.COMET, -150.0, "150 days ahead"),
        (Kind.ASTEROID, 150.0, None),
        (Kind.ASTEROID, 500.0, "500 days old"),
    ],
)
def test_stale_elements(kind: Kind, days: float, said: str | None) -> None:
    """Comets from 100 days on, minor planets from 400."""
    at = datetime(2026, 12, 8, 12, tzinfo=UTC)
    elements = Elements(2461000.0, 1.0, 0.5, 0.0, 0.0, 0.0, julian_date(at) - days)
    found = age_doubt(kind, elements, at)
    assert found is None if said is None else said in str(found)


def test_elements_without_an_epoch_are_doubted() -> None:
    """Nobody can tell how old they are."""
    at = datetime(2026, 12, 8, 12, tzinfo=UTC)
    found = age_doubt(Kind.COMET, Elements(2461000.0, 1.0, 0.5, 0.0, 0.0, 0.0), at)
    assert found is not None
    assert "epoch" in found


def test_only_bright_ones_join_a_plan(ephemeris: Ephemeris) -> None:
    """Hale-Bopp of 1997 does, thirty years later it does not; nor what has no magnitude."""
    comet = Target("C/1995O1", "C/1995 O1", Kind.COMET, elements=HALE_BOPP)
    dark = Target("X", "X", Kind.COMET, elements=Elements(2450539.6, 0.9, 1.0, 0.0, 0.0, 90.0))
    for year, names in ((1997, ["C/1995O1"]), (2027, [])):
        at = datetime(year, 4, 8, 20, tzinfo=UTC)
        assert [target.id for target in bright_enough([dark, comet], ephemeris, SITE, at)] == names


def test_what_is_hidden_takes_no_place_from_others(ephemeris: Ephemeris) -> None:
    """From far in the south Hale-Bopp of April 1997 never rises; a fainter body comes first."""
    comet = Target("C/1995O1", "C/1995 O1", Kind.COMET, elements=HALE_BOPP)
    other = Target("X", "X", Kind.COMET, elements=replace(ceres(), absolute_mag=1.0, slope=4.0))
    at = datetime(1997, 4, 8, 20, tzinfo=UTC)
    names = {
        latitude: [
            target.id
            for target in bright_enough(
                [comet, other], ephemeris, replace(SITE, latitude_deg=latitude), at, fainter_mag=5.0
            )
        ]
        for latitude in (51.2, -60.0)
    }
    assert names == {51.2: ["C/1995O1", "X"], -60.0: ["X", "C/1995O1"]}


def test_elongation_is_the_angle_from_the_sun(ephemeris: Ephemeris) -> None:
    """As the other library has it, to a hundredth of a degree: it takes the centre of the Earth."""
    at = datetime(2026, 12, 8, 21, tzinfo=UTC)
    ours, theirs = observe_minor(ephemeris, SITE, [(Kind.ASTEROID, ceres())], at), ceres_elsewhere()
    elsewhere(theirs, at)
    assert_allclose(ours.elongation_deg[0], abs(math.degrees(theirs.elong)), atol=0.02)


def test_outside_the_ephemeris(ephemeris: Ephemeris) -> None:
    """Dates without positions are refused as for planets."""
    with pytest.raises(OutsideEphemerisError, match="covers the nights"):
        observe_minor(ephemeris, SITE, [(Kind.COMET, HALE_BOPP)], datetime(2100, 1, 1, tzinfo=UTC))
