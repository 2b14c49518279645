"""A telescope that was put out at sunset has to cool before it bears high power."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.model.site import Site
from planner.planning.candidates import session_of
from planner.planning.circumstances import Circumstances

GARDEN = Site("Garden", 51.2, -2.4, timezone="Europe/London")


@pytest.mark.parametrize(
    ("after_sunset_min", "cooling_min"), [(-40.0, 70.0), (-5.0, 35.0), (10.0, 20.0), (45.0, 0.0)]
)
def test_it_cools_for_half_an_hour_from_sunset(
    after_sunset_min: float,
    cooling_min: float,
    ephemeris: Ephemeris,
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """Also in a session that begins before (common practice: half an hour at the least)."""
    night = find_night(ephemeris, GARDEN, date(2026, 11, 28))
    start = night.sunset + timedelta(minutes=after_sunset_min)
    session = session_of(
        circumstances_of("open field"),
        night,
        start,
        start + timedelta(hours=4),
        most_looks=None,
    )
    assert session.cooled_min == pytest.approx(cooling_min)
