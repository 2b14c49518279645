"""Time zones of places."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
import tzfpy
from hypothesis import given
from hypothesis import strategies as st

from planner.config.time_zones import zone_at

MIDSUMMER = datetime(2026, 6, 21)  # noqa: DTZ001  # a clock time: zones at sea have no summer time


# Cities and their zones: IANA time zone database, file zone1970.tab.
@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "zone"),
    [
        (51.5083, -0.1253, "Europe/London"),
        (-33.4500, -70.6667, "America/Santiago"),
        (-33.8667, 151.2167, "Australia/Sydney"),
        (35.6544, 139.7447, "Asia/Tokyo"),
        (40.7142, -74.0064, "America/New_York"),
        (1.8667, -157.4000, "Pacific/Kiritimati"),
        (27.7167, 85.3167, "Asia/Kathmandu"),
        (78.0000, 16.0000, "Arctic/Longyearbyen"),
    ],
)
def test_a_city_has_its_zone(latitude_deg: float, longitude_deg: float, zone: str) -> None:
    """Latitude comes first; a swapped pair would land in another zone."""
    assert zone_at(latitude_deg, longitude_deg) == zone


@pytest.mark.parametrize(
    ("longitude_deg", "hours_east"), [(0.0, 0), (-30.0, -2), (-140.0, -9), (89.0, 6), (180.0, 12)]
)
def test_at_sea_the_nautical_zone_serves(longitude_deg: float, hours_east: int) -> None:
    """A ship's clock goes an hour ahead for each 15 degrees east (Bowditch 2002, ch. 18)."""
    offset = ZoneInfo(zone_at(-5.0, longitude_deg)).utcoffset(MIDSUMMER)
    assert offset is not None
    assert offset.total_seconds() == hours_east * 3600


@pytest.mark.parametrize("unknown", ["", "Atlantis/Poseidonis"])
def test_a_zone_that_this_computer_lacks_gives_way_to_the_nautical_one(
    monkeypatch: pytest.MonkeyPatch, unknown: str
) -> None:
    """An empty or unknown name from the map is never handed on."""
    monkeypatch.setattr(tzfpy, "get_tz", lambda *_: unknown)
    assert zone_at(40.0, -74.0) == "Etc/GMT+5"
    assert zone_at(40.0, 34.0) == "Etc/GMT-2"
    assert zone_at(40.0, 7.0) == "Etc/GMT"


@given(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0))
def test_every_place_on_the_globe_has_a_zone(latitude_deg: float, longitude_deg: float) -> None:
    """Poles and the date line included, the name is one that zoneinfo knows."""
    ZoneInfo(zone_at(latitude_deg, longitude_deg))


@pytest.mark.parametrize(
    ("place", "message"),
    [
        ((91.0, 0.0), "latitude is 91.0; allowed is -90 to 90"),
        ((float("nan"), 0.0), "latitude is nan"),
        ((0.0, 181.0), "longitude is 181.0; allowed is -180 to 180 degrees, east positive"),
    ],
)
def test_a_place_off_the_globe_is_refused(place: tuple[float, float], message: str) -> None:
    """The message names the value and what is allowed."""
    with pytest.raises(ValueError, match=message):
        zone_at(*place)
