"""Sun and Moon of a night against two other programs' searches, and in odd places and zones."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import ephem
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skyfield import almanac
from skyfield.api import wgs84

from planner.ephemeris.almanac import evening_date, find_night, night_bounds
from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris, OutsideEphemerisError, load_ephemeris
from planner.model.night import Night
from planner.model.site import Site

# Our times are rounded to a second; theirs are searched for to a fraction of one.
ONE_SECOND = 1.0
# ephem's own theories of Sun and Moon differ from DE421 by arcseconds: 15 arcsec is a second of
# time at the equator, and slanting paths take longer over it.
TWO_SECONDS = 2.0
ONE_MINUTE = 60.0  # printed tables are rounded to it
PARALLAX_OF_PHASE = 0.009  # the Moon's parallax, 1 degree, turns so much of its lit half away

GARDEN = Site("Garden", 51.2, -2.4, 210.0, "Europe/London")
HIGH_EQUATOR = Site("High equator", -0.2, -78.5, 2800.0, "America/Guayaquil")
SOUTH = Site("South", -33.9, 18.5, 0.0, "Africa/Johannesburg")
DATE_LINE = Site("Date line", -13.8, -171.8, 0.0, "Pacific/Apia")
ARCTIC = Site("Arctic", 78.2, 15.6, 0.0, "Arctic/Longyearbyen")
NORTH_CAPE = Site("Cape", 70.9, 25.7, 0.0, "Europe/Oslo")
NORTHERN_COAST = Site("Coast", 60.2, 24.9, 0.0, "Europe/Helsinki")

ORDINARY_NIGHTS = [
    (GARDEN, date(2026, 11, 25)),
    (GARDEN, date(2026, 10, 24)),  # clocks go back: 25 hours
    (GARDEN, date(2026, 3, 28)),  # clocks go on: 23 hours
    (HIGH_EQUATOR, date(2024, 3, 20)),
    (SOUTH, date(2010, 6, 21)),
    (DATE_LINE, date(2040, 9, 3)),
]


def seconds_apart(first: datetime | None, second: datetime) -> float:
    """Return the absolute difference of two instants [s]."""
    assert first is not None
    return abs((first - second).total_seconds())


@pytest.mark.parametrize(("site", "evening"), ORDINARY_NIGHTS)
def test_sun_times_are_those_of_skyfields_search(
    ephemeris: Ephemeris, site: Site, evening: date
) -> None:
    """Skyfield's iterative search finds the same sunset, twilights and sunrise."""
    night = find_night(ephemeris, site, evening)
    observer = ephemeris.kernel["earth"] + wgs84.latlon(
        site.latitude_deg, site.longitude_deg, site.elevation_m
    )
    span = (
        observer,
        ephemeris.kernel["sun"],
        ephemeris.timescale.from_datetime(night.start),
        ephemeris.timescale.from_datetime(night.end),
    )
    for level, dusk, dawn in (
        (None, night.sunset, night.sunrise),
        (-6.0, night.civil_dusk, night.civil_dawn),
        (-12.0, night.nautical_dusk, night.nautical_dawn),
        (-18.0, night.dark_start, night.dark_end),
    ):
        (setting,), _ = almanac.find_settings(*span, horizon_degrees=level)
        (rising,), _ = almanac.find_risings(*span, horizon_degrees=level)
        assert seconds_apart(dusk, setting.utc_datetime()) <= ONE_SECOND
        assert seconds_apart(dawn, rising.utc_datetime()) <= ONE_SECOND


@pytest.mark.parametrize(
    ("site", "evening"),
    [*ORDINARY_NIGHTS, (ARCTIC, date(2026, 12, 5)), (NORTH_CAPE, date(2026, 4, 1))],
)
def test_moon_times_are_those_of_skyfields_search(
    ephemeris: Ephemeris, site: Site, evening: date
) -> None:
    """Skyfield finds the same moonrise and moonset, or none in that night as we do."""
    night = find_night(ephemeris, site, evening)
    observer = ephemeris.kernel["earth"] + wgs84.latlon(
        site.latitude_deg, site.longitude_deg, site.elevation_m
    )
    start = ephemeris.timescale.from_datetime(night.start)
    end = ephemeris.timescale.from_datetime(night.end)
    for ours, search in (
        (night.moonrise, almanac.find_risings),
        (night.moonset, almanac.find_settings),
    ):
        times, crosses = search(observer, ephemeris.kernel["moon"], start, end)
        theirs = [moment.utc_datetime() for moment in times[crosses]]
        assert (ours is None) == (not theirs)
        if theirs:
            assert seconds_apart(ours, theirs[0]) <= ONE_SECOND


@pytest.mark.parametrize(("site", "evening"), [*ORDINARY_NIGHTS, (SOUTH, date(1931, 12, 31))])
def test_all_times_are_those_of_ephem(ephemeris: Ephemeris, site: Site, evening: date) -> None:
    """ephem, with theories of the Sun and Moon that are not DE421, finds the same times."""
    night = find_night(ephemeris, site, evening)
    observer = ephem.Observer()
    observer.lat, observer.lon = str(site.latitude_deg), str(site.longitude_deg)
    observer.elevation, observer.pressure = site.elevation_m, 0.0
    observer.date = night.start.replace(tzinfo=None)

    for horizon, dusk, dawn in (
        ("-0:50", night.sunset, night.sunrise),
        ("-6", night.civil_dusk, night.civil_dawn),
        ("-12", night.nautical_dusk, night.nautical_dawn),
        ("-18", night.dark_start, night.dark_end),
    ):
        observer.horizon = horizon
        setting = observer.next_setting(ephem.Sun(), use_center=True)
        rising = observer.next_rising(ephem.Sun(), use_center=True)
        assert seconds_apart(dusk, setting.datetime().replace(tzinfo=UTC)) <= TWO_SECONDS
        assert seconds_apart(dawn, rising.datetime().replace(tzinfo=UTC)) <= TWO_SECONDS
    observer.horizon = "-0:34"
    for ours, theirs in (
        (night.moonrise, observer.next_rising(ephem.Moon())),
        (night.moonset, observer.next_setting(ephem.Moon())),
    ):
        moment = theirs.datetime().replace(tzinfo=UTC)
        if moment < night.end:
            assert seconds_apart(ours, moment) <= TWO_SECONDS
        else:
            assert ours is None


def test_london_at_midsummer_as_newspapers_print_it(ephemeris: Ephemeris) -> None:
    """London, 21 June 2024: sunset 21:21 BST, sunrise next day 04:43 (newspapers, from memory)."""
    zone = ZoneInfo("Europe/London")
    night = find_night(
        ephemeris, Site("London", 51.5074, -0.1278, timezone="Europe/London"), date(2024, 6, 21)
    )
    assert seconds_apart(night.sunset, datetime(2024, 6, 21, 21, 21, 30, tzinfo=zone)) < ONE_MINUTE
    assert seconds_apart(night.sunrise, datetime(2024, 6, 22, 4, 43, 30, tzinfo=zone)) < ONE_MINUTE


@pytest.mark.parametrize(
    ("evening", "lit"),
    [
        (date(2018, 7, 27), 1.0),
        (date(2017, 8, 21), 0.0),
    ],
)
def test_the_moon_is_full_and_new_at_eclipses(
    ephemeris: Ephemeris, evening: date, lit: float
) -> None:
    """Eclipses of 2018 Jul 27 (Moon) and 2017 Aug 21 (Sun): Espenak's canons, from memory."""
    night = find_night(ephemeris, GARDEN, evening)
    assert night.moon_illuminated == pytest.approx(lit, abs=PARALLAX_OF_PHASE)


def test_lit_fraction_is_that_of_ephem(ephemeris: Ephemeris) -> None:
    """Seen from the Earth's centre by ephem, the Moon is as lit at local midnight, all month."""
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.elevation = "-33.9", "18.5", 0.0
    for day in range(0, 30, 3):
        night = find_night(ephemeris, SOUTH, date(2026, 11, 1) + timedelta(days=day))
        observer.date = datetime.combine(night.date, datetime.min.time()) + timedelta(hours=22)
        assert night.moon_illuminated == pytest.approx(
            ephem.Moon(observer).moon_phase, abs=PARALLAX_OF_PHASE
        )


# Polar day and night, and twilight that lasts


def events(night: Night) -> tuple[datetime | None, ...]:
    """Return dusks and dawns from sunset to sunrise."""
    return (
        night.sunset,
        night.civil_dusk,
        night.nautical_dusk,
        night.dark_start,
        night.dark_end,
        night.nautical_dawn,
        night.civil_dawn,
        night.sunrise,
    )


@pytest.mark.parametrize("site", [ARCTIC, Site("Pole", 90.0, 0.0)])
def test_polar_day_is_said(ephemeris: Ephemeris, site: Site) -> None:
    """Where the Sun stays up there are no dusks, and the note says why."""
    night = find_night(ephemeris, site, date(2026, 6, 21))
    assert events(night) == (None,) * 8
    assert night.note is not None
    assert night.note.startswith("The Sun does not set: polar day. It is lowest at ")


def test_polar_night_is_dark_for_hours(ephemeris: Ephemeris) -> None:
    """At 78 degrees in December the Sun never rises; dark begins and ends, twilight is at noon."""
    night = find_night(ephemeris, ARCTIC, date(2026, 12, 21))
    assert (night.sunset, night.sunrise) == (None, None)
    assert (night.civil_dusk, night.civil_dawn) == (night.start, night.end)
    assert night.dark_start is not None
    assert night.dark_end is not None
    assert night.dark_end - night.dark_start > timedelta(hours=14)
    assert night.note == "The Sun does not rise: polar night."


def test_a_pole_in_winter_is_dark_from_noon_to_noon(ephemeris: Ephemeris) -> None:
    """Where it is dark at noon the dark hours are the night itself."""
    night = find_night(ephemeris, Site("Pole", -90.0, 0.0), date(2026, 6, 21))
    assert (night.dark_start, night.dark_end) == (night.start, night.end)
    assert night.note == "The Sun does not rise: polar night."


def test_polar_twilight_has_both_sentences(ephemeris: Ephemeris) -> None:
    """At the pole in October the Sun neither rises nor sinks far."""
    night = find_night(ephemeris, Site("Pole", 90.0, 0.0), date(2026, 10, 15))
    assert night.dark_start is None
    assert night.note is not None
    assert night.note.startswith("The Sun does not rise: polar night. No nautical or astronomical")


@pytest.mark.parametrize(
    ("site", "evening", "sentence"),
    [
        (GARDEN, date(2026, 6, 21), "No astronomical darkness: the Sun goes only 15.4 degrees"),
        (NORTHERN_COAST, date(2026, 6, 21), "No nautical or astronomical darkness: the Sun goes"),
        (
            Site("Fjord", 64.1, -21.9, timezone="Atlantic/Reykjavik"),
            date(2026, 6, 21),
            "Civil twilight all night: the Sun goes only 2.5 degrees below the horizon;",
        ),
    ],
)
def test_light_summer_nights_are_said(
    ephemeris: Ephemeris, site: Site, evening: date, sentence: str
) -> None:
    """A night without darkness has sunset and sunrise, and says how dark it gets and when."""
    night = find_night(ephemeris, site, evening)
    assert night.sunset is not None
    assert night.sunrise is not None
    assert (night.dark_start, night.dark_end) == (None, None)
    assert night.note is not None
    assert night.note.startswith(sentence)
    assert "darkest at 0" in night.note


def test_depth_of_the_midsummer_sun_follows_from_its_declination(ephemeris: Ephemeris) -> None:
    """At its lowest the Sun is 90 - 51.2 - 23.44 = 15.36 degrees down (obliquity, IAU 2006)."""
    note = find_night(ephemeris, GARDEN, date(2026, 6, 21)).note
    assert note is not None
    assert "only 15.4 degrees below the horizon; darkest at 01:1" in note


def test_the_last_sunset_before_polar_night_has_no_sunrise(ephemeris: Ephemeris) -> None:
    """On one evening of the year the Sun sets for weeks, and the note says that it stays down."""
    nights = [
        find_night(ephemeris, ARCTIC, date(2026, 10, 20) + timedelta(days=day)) for day in range(14)
    ]
    (last,) = [night for night in nights if night.sunset and not night.sunrise]
    assert last.note == "The Sun is still down at noon, when this night ends."


# Dates, zones and clocks

# East longitudes of the zones' own places [deg].
LONGITUDES_DEG = {
    "Europe/London": -0.1,
    "Pacific/Kiritimati": -157.4,
    "America/St_Johns": -52.7,
    "Antarctica/Troll": 2.5,
    "America/Santiago": -70.7,
    "Pacific/Apia": -171.8,
    "Pacific/Kwajalein": 167.7,
    "Etc/UTC": 0.0,
}


def place_in(zone: str) -> Site:
    """Return a site where people live by a zone."""
    return Site("Place", 0.0, LONGITUDES_DEG[zone], timezone=zone)


@pytest.mark.parametrize(
    ("local", "evening"),
    [
        ("2026-11-26T02:00", date(2026, 11, 25)),
        ("2026-11-26T11:59", date(2026, 11, 25)),
        ("2026-11-26T12:00", date(2026, 11, 26)),
        ("2027-01-01T00:00", date(2026, 12, 31)),
    ],
)
@pytest.mark.parametrize("zone", ["Europe/London", "Pacific/Kiritimati", "America/St_Johns"])
def test_before_noon_tonight_is_last_evening(local: str, evening: date, zone: str) -> None:
    """A night is named by the date of its evening, on the site's own clock."""
    instant = datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
    assert evening_date(instant, place_in(zone)) == evening


@pytest.mark.parametrize(
    ("longitude_deg", "instant", "evening"),
    [
        (151.2, "2026-11-28T10:00", date(2026, 11, 28)),  # Sydney: nine in the evening
        (151.2, "2026-11-28T15:00", date(2026, 11, 28)),  # and two in the morning
        (-157.9, "2026-11-28T05:00", date(2026, 11, 27)),  # Honolulu: seven in the evening
    ],
)
def test_the_night_goes_by_the_sun_where_the_clock_does_not(
    ephemeris: Ephemeris, longitude_deg: float, instant: str, evening: date
) -> None:
    """With a clock kept to UTC the night is whole, and the one that contains the instant."""
    site = Site("Far", -20.0, longitude_deg)
    moment = datetime.fromisoformat(instant).replace(tzinfo=UTC)
    night = find_night(ephemeris, site, evening_date(moment, site))
    assert night.date == evening
    assert night.sunset is not None
    assert night.sunrise is not None
    assert night.sunset < moment < night.sunrise


def test_a_bare_clock_time_is_refused() -> None:
    """Without a zone the instant is not known, and the message says so."""
    with pytest.raises(ValueError, match="no time zone"):
        evening_date(datetime(2026, 11, 25, 20), place_in("Etc/UTC"))  # noqa: DTZ001


@pytest.mark.parametrize(
    ("zone", "evening", "hours"),
    [
        ("Europe/London", date(2026, 6, 1), 24),
        ("Europe/London", date(2026, 10, 24), 25),
        ("Europe/London", date(2026, 3, 28), 23),
        ("Antarctica/Troll", date(2026, 10, 24), 26),
        ("America/Santiago", date(2026, 9, 5), 23),  # midnight itself is skipped
        ("Pacific/Apia", date(2011, 12, 29), 24),  # the next date is skipped
        ("Pacific/Apia", date(2011, 12, 30), 24),  # this date is skipped
        ("Pacific/Kwajalein", date(1969, 9, 30), 24),  # the clock goes back by 23 hours
    ],
)
def test_a_night_is_as_long_as_the_clocks_make_it(zone: str, evening: date, hours: int) -> None:
    """From noon to noon by the clock; where a date is skipped or doubled, 24 hours."""
    start, end = night_bounds(evening, place_in(zone))
    assert end - start == timedelta(hours=hours)
    assert start.tzinfo is UTC


def test_the_last_night_has_its_bodies_after_midnight(ephemeris: Ephemeris) -> None:
    """Its morning has the date of a night that is not covered."""
    night = find_night(ephemeris, ARCTIC, ephemeris.last_night)
    assert observe_body(ephemeris, ARCTIC, "Moon", [night.end]).name == "Moon"


def test_a_date_without_positions_is_refused(ephemeris: Ephemeris) -> None:
    """The answer is a sentence with the allowed dates."""
    with pytest.raises(OutsideEphemerisError, match=r"2060-01-01.*to 2053-10-06"):
        find_night(ephemeris, GARDEN, date(2060, 1, 1))


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Etc/GMT+12"])
def test_the_first_and_last_nights_can_be_found(ephemeris: Ephemeris, zone: str) -> None:
    """The allowed span holds for the zones farthest from Greenwich."""
    for evening in (ephemeris.first_night, ephemeris.last_night):
        assert find_night(ephemeris, Site("Edge", 10.0, 170.0, timezone=zone), evening).sunset


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-90.0, 90.0),
    st.floats(-180.0, 180.0),
    st.dates(date(1950, 1, 1), date(2053, 1, 1)),
    st.sampled_from(["UTC", "Europe/London", "Australia/Lord_Howe", "Pacific/Kiritimati"]),
)
def test_dusks_and_dawns_come_in_order(
    latitude_deg: float, longitude_deg: float, evening: date, zone: str
) -> None:
    """Anywhere, in any zone: deeper is later at dusk and earlier at dawn, all inside the night."""
    site = Site("Anywhere", latitude_deg, longitude_deg, timezone=zone)
    night = find_night(load_ephemeris(), site, evening)
    happened = [event for event in events(night) if event is not None]
    assert happened == sorted(happened)
    assert all(night.start <= event <= night.end for event in happened)
    assert timedelta(hours=22) <= night.end - night.start <= timedelta(hours=26)
    for event in (night.moonrise, night.moonset):
        assert event is None or night.start <= event <= night.end
    assert 0.0 <= night.moon_illuminated <= 1.0
    if night.sunset is None or night.sunrise is None or night.dark_start is None:
        assert night.note
