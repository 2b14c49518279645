"""Discs, phases and rings in the drawings."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

import ephem
import pytest

from planner.almanac import evening_date, find_night
from planner.field.drawing import Disc
from planner.field.scene import draw_field
from planner.survey import body_at
from planner.tracks import track_instants
from targets.catalogue import Catalogue
from targets.model import Target


def _body(catalogue: Catalogue, name: str, circumstance: Any) -> Target:
    night = find_night(
        circumstance.ephemeris,
        circumstance.site,
        evening_date(circumstance.instant, circumstance.site.zone),
    )
    grid = track_instants(circumstance.ephemeris, night, [circumstance.instant])
    return body_at(catalogue.find(name), circumstance.ephemeris, grid, circumstance.instant)


# Meeus 1998, "Astronomical Algorithms", 2nd ed., example 48.a: Moon, 12 April 1992, 0h TD: lit
# fraction 0.6786 and position angle of the bright limb 285.0 degrees, from the Earth's centre.
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
    outer, inner = drawing.outlines
    saturn = ephem.Saturn("2026/12/8 20:00:00")
    tilt = math.degrees(math.asin(outer.semi_minor / outer.semi_major))
    assert tilt == pytest.approx(abs(math.degrees(saturn.earth_tilt)), abs=0.1)
    assert inner.semi_major / outer.semi_major == pytest.approx(0.665, abs=0.001)
    assert outer.angle_deg == drawing.discs[0].angle_deg


def test_phases_fill_the_right_part_of_a_disc() -> None:
    """Half lit from the right, a crescent, a gibbous phase: counted point by point."""
    for lit in (0.0, 0.1, 0.5, 0.8, 1.0):
        disc = Disc(0.0, 0.0, 1.0, 1.0, lit=lit, sunward_deg=0.0)
        points = [(x / 50.0, y / 50.0) for x in range(-50, 51) for y in range(-50, 51)]
        inside = [p for p in points if disc.is_lit(*p) is not None]
        share = sum(bool(disc.is_lit(*p)) for p in inside) / len(inside)
        assert share == pytest.approx(lit, abs=0.02)
        assert disc.is_lit(0.95, 0.0) is (lit > 0.05)
