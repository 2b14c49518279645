"""Discs, phases and rings in the drawings."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import ephem
import numpy as np
import pytest

from planner.ephemeris.almanac import evening_date, find_night
from planner.ephemeris.solar_system.lunar_light import on_the_disc
from planner.ephemeris.tracks import track_instants
from planner.model.kit import Orientation
from planner.output.drawing.field import draw_field
from planner.output.drawing.marks import Disc
from planner.planning.survey import body_at
from targets.catalogue.catalogue import Catalogue
from targets.lunar import Form, LunarPlace
from targets.model import Kind, Target


def _body(catalogue: Catalogue, name: str, circumstance: Any) -> Target:
    night = find_night(
        circumstance.ephemeris,
        circumstance.site,
        evening_date(circumstance.instant, circumstance.site),
    )
    grid = track_instants(circumstance.ephemeris, night, [circumstance.instant])
    return body_at(catalogue.find(name), circumstance.ephemeris, grid, circumstance.instant)


# From memory of Meeus 1998, "Astronomical Algorithms", 2nd ed., example 48.a: Moon, 12 April
# 1992, 0h TD: lit fraction 0.6786 and position angle of the bright limb 285.0 degrees, from the
# Earth's centre.
def test_the_moon_of_the_worked_example(catalogue: Catalogue, train: Any, around: Any) -> None:
    """To a percent, and two degrees: a site sees the Moon from up to a degree aside."""
    circumstance = around("north", datetime(1992, 4, 11, 23, 59, tzinfo=UTC))
    drawing = draw_field(_body(catalogue, "Moon", circumstance), train(), circumstance)
    (disc,) = drawing.discs
    assert disc.lit == pytest.approx(0.6786, abs=0.01)
    # Upright, north up: a position angle is counted from the top to the left.
    assert (disc.sunward_deg - 90.0) % 360.0 == pytest.approx(285.0, abs=2.0)
    assert 2.0 * disc.semi_major == pytest.approx(30.0, abs=3.5)
    assert not drawing.stars


def test_saturn_s_rings_and_axis_agree_with_a_library(
    catalogue: Catalogue, train: Any, around: Any
) -> None:
    """Tilt by ephem; the rings' long axis lies along the equator, the pole from ephem's figures."""
    circumstance = around("north", datetime(2026, 12, 8, 20, 0, tzinfo=UTC))
    drawing = draw_field(_body(catalogue, "Saturn", circumstance), train(), circumstance)
    (disc,) = drawing.discs
    assert disc.ring is not None
    saturn = ephem.Saturn("2026/12/8 20:00:00")
    tilt = math.degrees(math.asin(disc.ring.semi_minor / disc.ring.semi_major))
    assert tilt == pytest.approx(abs(math.degrees(saturn.earth_tilt)), abs=0.1)
    # Meeus 1998, ch. 45: the inner edge of ring B is 0.6650 of the outer edge of ring A.
    assert disc.ring.inner == pytest.approx(0.665, abs=0.001)
    assert disc.ring.angle_deg == disc.angle_deg


# The northern face was seen in 2019, the southern one is from 2025 on. Half a ring is a flat thing
# around the pole: its point nearest to the eye is worked out here from ephem's place of Saturn.
@pytest.mark.parametrize("year", [2019, 2026])
@pytest.mark.parametrize("orientation", list(Orientation))
def test_the_near_half_of_the_rings_is_before_the_globe(
    year: int, orientation: Orientation, catalogue: Catalogue, train: Any, around: Any
) -> None:
    """The half that is marked as near is where the nearest point of the rings is projected."""
    circumstance = around("north", datetime(year, 8, 20, 22, 0, tzinfo=UTC))
    drawing = draw_field(_body(catalogue, "Saturn", circumstance), train(orientation), circumstance)
    saturn = ephem.Saturn(f"{year}/8/20 22:00:00")
    sight = _unit(math.degrees(saturn.a_ra), math.degrees(saturn.a_dec))
    pole = _unit(40.589, 83.537)
    nearest = -sight + (sight @ pole) * pole
    east = np.cross([0.0, 0.0, 1.0], sight)
    north = np.cross(sight, east)
    sign = {Orientation.UPRIGHT: (-1, 1), Orientation.INVERTED: (1, -1)}
    right, up = sign.get(orientation, (1, 1))
    toward = math.atan2(up * (nearest @ north), right * (nearest @ east))
    ring = drawing.discs[0].ring
    assert ring is not None
    across = math.cos(toward - math.radians(ring.angle_deg + 90.0))
    assert ring.near_is_across is (across > 0.0)


def _unit(ra_deg: float, dec_deg: float) -> Any:
    ra, dec = math.radians(ra_deg), math.radians(dec_deg)
    return np.array([math.cos(dec) * math.cos(ra), math.cos(dec) * math.sin(ra), math.sin(dec)])


MOONS = {"Jupiter": ("Io", "Ganymede", "Callisto"), "Saturn": ("Titan", "Rhea", "Dione")}
# A tenth of a millimetre in a drawing of a degree on 60 mm.
TENTH_ARCMIN = 0.1


@pytest.mark.parametrize("planet", ["Jupiter", "Saturn"])
def test_moons_stand_where_a_library_puts_them(
    planet: str, catalogue: Catalogue, train: Any, around: Any
) -> None:
    """By ephem's places in radii, east and south positive; upright, north up: east is left."""
    day, hour = {"Jupiter": (19, 3), "Saturn": (18, 19)}[planet]  # high up in the dark
    instant = f"2026/12/{day} {hour:02}:00:00"
    circumstance = around("north", datetime(2026, 12, day, hour, 0, tzinfo=UTC))
    drawing = draw_field(_body(catalogue, planet, circumstance), train(), circumstance)
    radius_arcmin = getattr(ephem, planet)(instant).size / 120.0
    moons = [getattr(ephem, name)(instant) for name in MOONS[planet]]
    places = [(-moon.x * radius_arcmin, -moon.y * radius_arcmin) for moon in moons]
    bright = sorted(drawing.stars, key=lambda s: -s.weight)
    for x, y in places:
        apart = min(math.hypot(star.x - x, star.y - y) for star in bright)
        assert apart < TENTH_ARCMIN


def test_no_moon_is_drawn_that_the_sky_is_too_bright_for(
    catalogue: Catalogue, train: Any, around: Any
) -> None:
    """Titan at 8.4 is there in the dark, and not with the Sun up."""
    for hour, is_there in ((20, True), (14, False)):
        circumstance = around("north", datetime(2026, 12, 8, hour, 0, tzinfo=UTC))
        drawing = draw_field(_body(catalogue, "Saturn", circumstance), train(), circumstance)
        assert bool(drawing.stars) is is_there


def test_a_moon_before_the_disc_is_not_drawn(catalogue: Catalogue, train: Any, around: Any) -> None:
    """By ephem Europa stands 0.28 arcmin from Jupiter's middle and nearer: before its disc."""
    circumstance = around("north", datetime(2026, 12, 19, 3, 0, tzinfo=UTC))
    drawing = draw_field(_body(catalogue, "Jupiter", circumstance), train(), circumstance)
    (disc,) = drawing.discs
    assert not [s for s in drawing.stars if disc.is_lit(s.x, s.y) is not None]


# Meeus 1998, example 53.a, 12 April 1992, 0h TD: libration 1.23 W and 4.20 N, position angle of the
# axis 15.08. By hand from these: the north pole stands cos 4.20 = 0.9973 from the middle, at the
# angle of the axis; the middle of the disc at none; what lies 90 degrees east is on the edge,
# the western one in the sky.
def test_places_on_the_moon_s_disc() -> None:
    """By the geometry of a ball seen from far away."""
    libration = {"middle": (-1.23, 4.20), "pole_angle_deg": 15.08}
    angle, part = on_the_disc(LunarPlace(Form.CRATER, 90.0, 0.0, 10.0), **libration)
    assert (angle, part) == pytest.approx((15.08, 0.9973), abs=1e-3)
    assert on_the_disc(LunarPlace(Form.CRATER, 4.2, -1.23, 1.0), **libration)[1] < 1e-9
    angle, part = on_the_disc(
        LunarPlace(Form.SEA, 0.0, 90.0, 9.0), middle=(0.0, 0.0), pole_angle_deg=0.0
    )
    assert (angle, part) == pytest.approx((270.0, 1.0))


def test_a_feature_stands_in_the_middle_and_the_moon_around_it(
    catalogue: Catalogue, train: Any, around: Any
) -> None:
    """Tycho, 43 S 11 W: the Moon's middle is north of it, by sin 43 of the radius or some more."""
    circumstance = around("north", datetime(2026, 12, 18, 19, 0, tzinfo=UTC))
    moon = _body(catalogue, "Moon", circumstance)
    tycho = replace(
        catalogue.find("Tycho"), ra_deg=moon.ra_deg, dec_deg=moon.dec_deg, major_arcmin=0.8
    )
    drawing = draw_field(tycho, train(), circumstance)
    (disc,), (outline,) = drawing.discs, drawing.outlines
    assert (outline.x, outline.y) == (0.0, 0.0)
    apart = math.hypot(disc.x, disc.y) / disc.semi_major
    # Libration moves it by up to 8 degrees on the ball.
    assert math.sin(math.radians(43.3 - 8.0)) < apart < math.sin(math.radians(45.0 + 8.0))
    assert drawing.north_deg == 90.0
    # The Moon's axis leans by up to 25 degrees to either side of north.
    assert disc.y > math.cos(math.radians(40.0)) * math.hypot(disc.x, disc.y)
    assert not drawing.stars


def test_a_planet_covers_the_stars_behind_it(catalogue: Catalogue, train: Any, around: Any) -> None:
    """Put before Alcyone (SIMBAD: 03 47 29.08 +24 06 18.5) it hides that star and no other."""
    circumstance = around("north", datetime(2026, 12, 8, 20, 0, tzinfo=UTC))
    venus = _body(catalogue, "Venus", circumstance)
    before = replace(venus, ra_deg=56.87117, dec_deg=24.10514)
    pleiad = Target("X", "X", Kind.OPEN_CLUSTER, ra_deg=56.87117, dec_deg=24.10514)
    covered = draw_field(before, train(), circumstance).stars
    every = draw_field(pleiad, train(), circumstance).stars
    assert len(every) - len(covered) == 1
    assert min(math.hypot(star.x, star.y) for star in every) < 0.1


def test_phases_fill_the_right_part_of_a_disc() -> None:
    """Half lit from the right, a crescent, a gibbous phase: counted point by point."""
    for lit in (0.0, 0.1, 0.5, 0.8, 1.0):
        disc = Disc(0.0, 0.0, 1.0, 1.0, lit=lit, sunward_deg=0.0)
        points = [(x / 50.0, y / 50.0) for x in range(-50, 51) for y in range(-50, 51)]
        inside = [p for p in points if disc.is_lit(*p) is not None]
        share = sum(bool(disc.is_lit(*p)) for p in inside) / len(inside)
        assert share == pytest.approx(lit, abs=0.02)
        assert disc.is_lit(0.95, 0.0) is (lit > 0.05)
