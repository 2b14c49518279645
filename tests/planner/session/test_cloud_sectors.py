"""Parts of the sky: their names, their edges, and the circle that closes in the north."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.session.cloud_sectors import (
    BANDS,
    DIRECTIONS,
    find_sector,
    inside,
    sector_words,
    without_sector,
)
from planner.session.state import Closure, CloudKind

POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def closure(direction: str, band: str = "all") -> Closure:
    """Return a solid cloud there."""
    sector = find_sector(direction, band)
    assert not isinstance(sector, str)
    return Closure(*sector, CloudKind.SOLID, 0.0, datetime(2026, 3, 18, 20, tzinfo=UTC))


def is_inside(direction: str, azimuth_deg: float, altitude_deg: float, band: str = "all") -> bool:
    """Tell it of one place."""
    where = np.array([azimuth_deg]), np.array([altitude_deg])
    return bool(inside(closure(direction, band), *where)[0])


@given(st.floats(0.0, 360.0, exclude_max=True), st.floats(0.0, 90.0))
def test_eight_points_and_three_bands_cover_the_sky_once(
    azimuth_deg: float, altitude_deg: float
) -> None:
    """Every place lies in one of the 24 parts, and in the part that holds them all."""
    bands = [band for band in BANDS if band != "all"]
    hits = [
        (point, band)
        for point in POINTS
        for band in bands
        if is_inside(point, azimuth_deg, altitude_deg, band)
    ]
    assert len(hits) == 1
    assert is_inside("all", azimuth_deg, altitude_deg)


@pytest.mark.parametrize(("n", "point"), list(enumerate(POINTS)))
def test_a_point_lies_in_the_middle_of_its_part(n: int, point: str) -> None:
    """N at 0, NE at 45 and so on clockwise, each 22.5 degrees to both sides."""
    middle = 45.0 * n
    for aside in (-22.4, 0.0, 22.4):
        assert is_inside(point, (middle + aside) % 360.0, 40.0)
    for aside in (-22.6, 22.6, 180.0):
        assert not is_inside(point, (middle + aside) % 360.0, 40.0)


@pytest.mark.parametrize(
    ("half", "middle"),
    [("north half", 0), ("east half", 90), ("south half", 180), ("west half", 270)],
)
def test_a_half_is_half(half: str, middle: float) -> None:
    """Ninety degrees to both sides."""
    azimuths = np.arange(0.5, 360.0)
    hits = inside(closure(half), azimuths, np.full_like(azimuths, 40.0))
    assert hits.sum() == 180
    assert is_inside(half, middle, 40.0)


def test_the_zenith_is_high() -> None:
    """The highest band holds its upper end too."""
    assert is_inside("all", 10.0, 90.0, "high")
    assert not is_inside("all", 10.0, 59.9, "high")


def test_parts_have_their_names_again() -> None:
    """What was named is told by the same name; what was measured, by its degrees."""
    assert sector_words(closure("all")) == "all sky"
    assert sector_words(closure("W", "low")) == "W, low"
    assert sector_words(closure("north half")) == "north half"
    assert sector_words(closure("all", "high")) == "all round, high"
    odd = Closure(10.0, 50.0, 5.0, 35.0, CloudKind.SOLID, 0.0, datetime(2026, 3, 18, tzinfo=UTC))
    assert sector_words(odd) == "azimuth 10 to 50 deg, 5 to 35 deg up"
    assert set(DIRECTIONS) >= set(POINTS)


sectors = st.tuples(st.sampled_from(sorted(DIRECTIONS)), st.sampled_from(sorted(BANDS)))


@given(sectors, sectors, sectors, st.floats(0.0, 359.9), st.floats(0.0, 89.9))
def test_what_opens_is_open_and_the_rest_stays_closed(
    cloud: tuple[str, str],
    opened: tuple[str, str],
    again: tuple[str, str],
    azimuth: float,
    altitude: float,
) -> None:
    """Everywhere on the sky, also when parts open one after the other."""
    place = np.array([azimuth]), np.array([altitude])

    left = [closure(*cloud)]
    expected = bool(inside(left[0], *place)[0])
    for names in (opened, again):
        sector = find_sector(*names)
        left = [part for old in left for part in without_sector(old, sector)]
        expected = expected and not inside(closure(*names), *place)[0]
    assert any(inside(part, *place)[0] for part in left) == expected
