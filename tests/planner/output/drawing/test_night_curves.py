"""Altitudes through a night, against another library."""

from __future__ import annotations

import itertools
import math
import re
from datetime import UTC, date, datetime, timedelta

import ephem
import numpy as np
import pytest

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.model.site import Site
from planner.output.drawing.curves import Curve, NightCurves, curve_cells, curves_svg
from planner.output.drawing.night_curves import target_curves
from targets.catalogue.catalogue import load_catalogue

GARDEN = Site("Garden", 51.2, -2.4, 210.0, "Europe/London", 20.9, horizon=((0, 12), (180, 5)))
# ephem is asked without refraction, for places good to some arcseconds.
TWENTIETH_DEG = 0.05


@pytest.fixture(scope="module")
def curves() -> NightCurves:
    """Return the way of M31 through a winter night."""
    night = find_night(load_ephemeris(), GARDEN, date(2026, 12, 18))
    return target_curves(load_catalogue().find("M31"), load_ephemeris(), night)


def _altitudes_deg(body: ephem.Body, instants: tuple[datetime, ...]) -> list[float]:
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.elevation = "51.2", "-2.4", 210.0
    observer.pressure = 0
    found = []
    for instant in instants:
        observer.date = instant.astimezone(UTC).replace(tzinfo=None)
        body.compute(observer)
        found.append(math.degrees(body.alt))
    return found


def test_moon_and_target_stand_where_a_library_puts_them(curves: NightCurves) -> None:
    """Through the night, the Moon with its parallax."""
    expected = _altitudes_deg(ephem.Moon(), curves.instants)
    is_up = np.array(expected) > 5.0  # lower down refraction is more than the tolerance
    assert is_up.sum() > 20
    lift = np.abs(curves.moon_deg - expected)[is_up]
    assert lift.max() < 0.25  # refraction at 5 degrees is 0.16 (Bennett 1982)
    high = np.array(expected) > 40.0
    assert np.abs(curves.moon_deg - expected)[high].max() < TWENTIETH_DEG
    m31 = ephem.readdb("M31,f|G,0:42:44.3,41:16:09,3.4,2000")
    target = np.array(_altitudes_deg(m31, curves.instants))
    high = target > 40.0
    assert np.abs(curves.curves[0].altitude_deg - target)[high].max() < TWENTIETH_DEG


def test_a_night_is_drawn_from_sunset_to_sunrise(curves: NightCurves) -> None:
    """Evenly, in steps of ten minutes at most, to the very end."""
    night = find_night(load_ephemeris(), GARDEN, date(2026, 12, 18))
    assert (curves.instants[0], curves.instants[-1]) == (night.sunset, night.sunrise)
    steps = {b - a for a, b in zip(curves.instants, curves.instants[1:], strict=False)}
    assert max(steps) <= timedelta(minutes=10)
    assert max(steps) - min(steps) < timedelta(milliseconds=1)


def test_what_is_below_the_horizon_is_not_drawn() -> None:
    """In cells: a target that is down all night leaves the picture empty."""
    start = datetime(2026, 12, 8, 16, 0, tzinfo=UTC)
    instants = tuple(start + timedelta(minutes=10 * k) for k in range(73))
    down = Curve(np.full(73, -0.5))
    lines = curve_cells(
        NightCurves(instants, (down,), np.full(73, -0.5)), columns=76, rows=12, clock=lambda _: ""
    )
    assert "".join(line[4:] for line in lines[:10]).strip() == ""


@pytest.mark.parametrize("apart_min", [15, 20, 30])
def test_numbers_of_looks_do_not_cover_each_other(apart_min: int) -> None:
    """Looks one after the other at one height, each number where it can be read."""
    start = datetime(2026, 12, 8, 16, 0, tzinfo=UTC)
    instants = tuple(start + timedelta(minutes=10 * k) for k in range(73))
    begins = [start + timedelta(minutes=apart_min * k) for k in range(1, 720 // apart_min - 1)]
    looks = [
        Curve(np.full(73, 60.0), None, begin, begin + timedelta(minutes=10)) for begin in begins
    ]
    curves = NightCurves(instants, tuple(looks), np.full(73, -1.0))
    svg = curves_svg(curves, clock=lambda _: "", title="")
    found = re.findall(r'x="([0-9.]+)" y="([0-9.]+)" text-anchor="middle">([0-9]+)<', svg)
    places = [(float(x), float(y), 7.0 * len(number)) for x, y, number in found]
    assert len(places) == len(looks)
    for (x, y, width), (a, b, wide) in itertools.combinations(places, 2):
        assert abs(x - a) >= (width + wide) / 2.0 or abs(y - b) >= 11.0
