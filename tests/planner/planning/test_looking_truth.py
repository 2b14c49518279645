"""Rising, culminating and setting against PyEphem, which shares neither code nor ephemeris."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import ephem
import pytest

from planner.ephemeris.kernel import Ephemeris
from planner.model.night import Night
from planner.planning.circumstances import Circumstances
from planner.planning.look import LookReport, look_at
from targets.catalogue.catalogue import Catalogue

# Almanacs print rising and setting to the minute.
ONE_MINUTE = timedelta(minutes=1)
# Where a track cuts the horizon at a flat angle, an error in altitude grows in time; both
# libraries' altitudes of fixed targets agree to an arcsecond.
RISING_HORIZON = "-0:34"
HALF_ARCMINUTE_DEG = 0.5 / 60.0

TARGETS = ("M42", "M13", "M8", "M44", "Saturn", "Jupiter", "Venus", "Moon")
SITES = ("open field", "arctic coast", "equator", "southern hills")
DAYS = ("2026-12-08", "2026-06-15")


def _in_night(night: Night, happening: Callable[[], ephem.Date]) -> datetime | None:
    """Return an event of PyEphem's as UTC if it is inside the night."""
    try:
        instant = happening().datetime().replace(tzinfo=UTC)
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return None
    return instant if night.start <= instant <= night.end else None


def _assert_same(ours: datetime | None, theirs: datetime | None) -> None:
    assert (ours is None) == (theirs is None), (ours, theirs)
    if ours and theirs:
        assert abs(ours - theirs) <= ONE_MINUTE, (ours, theirs)


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("name", TARGETS)
def test_rise_transit_and_set_to_the_minute(
    name: str,
    site: str,
    day: str,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
    elsewhere: Callable[..., object],
) -> None:
    """PyEphem 4 with its horizon 34 arcminutes down and no air; centre, for the Moon the limb."""
    night, target = night_of(site, day), catalogue.find(name)
    report = look_at(target, ephemeris, night, circumstances_of(site))
    other = elsewhere(night.site)
    body = other.body(target)  # type: ignore[attr-defined]
    by_centre = name != "Moon"

    def begin(instant: datetime) -> ephem.Observer:
        observer = other.observer(instant, air=False)  # type: ignore[attr-defined]
        observer.horizon = RISING_HORIZON
        return observer

    first, last = begin(night.start), begin(night.end)
    _assert_same(
        report.rise, _in_night(night, lambda: first.next_rising(body, use_center=by_centre))
    )
    _assert_same(
        report.set, _in_night(night, lambda: last.previous_setting(body, use_center=by_centre))
    )
    _assert_same(report.transit, _in_night(night, lambda: begin(night.start).next_transit(body)))
    if report.transit:
        observer = begin(report.transit)
        observer.compute_pressure()
        body.compute(observer)
        # Near the horizon refraction formulas differ; above 10 degrees hardly.
        if math.degrees(body.alt) > 10.0:
            assert report.transit_altitude_deg == pytest.approx(
                math.degrees(body.alt), abs=HALF_ARCMINUTE_DEG
            )


@pytest.mark.parametrize(
    ("site", "day", "hours"),
    [
        ("open field", "2026-10-24", 25),
        ("open field", "2026-03-28", 23),
        ("eastern shore", "2026-10-31", 25),
        ("southern hills", "2026-10-03", 23),
    ],
)
def test_a_clock_change_moves_no_star(
    site: str,
    day: str,
    hours: int,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
    elsewhere: Callable[..., object],
) -> None:
    """In a night of 23 or 25 hours a planet sets when PyEphem has it set."""
    night = night_of(site, day)
    assert night.end - night.start == timedelta(hours=hours)
    saturn = catalogue.find("Saturn")
    report: LookReport = look_at(saturn, ephemeris, night, circumstances_of(site))
    other = elsewhere(night.site)
    observer = other.observer(night.start, air=False)  # type: ignore[attr-defined]
    observer.horizon = RISING_HORIZON
    setting = _in_night(night, lambda: observer.next_setting(ephem.Saturn(), use_center=True))
    assert setting is not None
    _assert_same(report.set, setting)
    for begin, end in report.windows:
        assert begin.tzinfo is UTC
        assert night.start <= begin <= end <= night.end


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("name", ["M42", "M13", "Saturn", "Moon"])
def test_where_it_stands_at_a_moment(
    name: str,
    site: str,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
    elsewhere: Callable[..., object],
) -> None:
    """Altitude with refraction and azimuth agree with PyEphem where the air matters little."""
    night, target = night_of(site, "2026-12-24"), catalogue.find(name)
    at = night.start + timedelta(hours=9, minutes=7)
    report = look_at(target, ephemeris, night, circumstances_of(site), at=at)
    altitude_deg, azimuth_deg = elsewhere(night.site).place_deg(target, at)  # type: ignore[attr-defined]
    assert report.at == at
    if altitude_deg > 5.0:
        assert report.altitude_deg == pytest.approx(altitude_deg, abs=HALF_ARCMINUTE_DEG)
    turn_deg = (report.azimuth_deg - azimuth_deg + 180.0) % 360.0 - 180.0
    assert turn_deg * math.cos(math.radians(altitude_deg)) == pytest.approx(
        0.0, abs=HALF_ARCMINUTE_DEG
    )
