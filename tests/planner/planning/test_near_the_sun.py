"""Nothing is offered so near the Sun that an eye could be hurt: by a geometry of our own.

The Sun's place is the low-precision formula of the Astronomical Almanac (section C; good to 0.01
deg from 1950 to 2050, from memory). The horizon is the sea's with a dip of 1.76' for the root of a
metre (methods of navigation, from memory), or the skyline where that is lower; the limb shows
with 34' of refraction and 16' of radius.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.ephemeris.almanac import find_night
from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.minor_bodies import observe_minor
from planner.formulas.refraction import sun_hidden_below_deg
from planner.model.errors import NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.look import look_at
from planner.planning.outlook.coming_nights import NightsAsked, coming_nights
from planner.planning.plan import plan_night
from planner.planning.session_times import session_times
from planner.session.course import begin_session
from planner.session.moves.targets import add_target
from planner.session.night import survey_night
from targets.catalogue.catalogue import Catalogue
from targets.elements import Elements
from targets.model import Kind, Target

BODIES = ("Moon", "Mercury", "Venus", "Mars", "Jupiter", "Saturn")
# Of the low-precision formula.
SUN_TOLERANCE_DEG = 0.03
# Meeus 1998, "Astronomical Algorithms", example 33.a; (1) Ceres by rounded published elements, its
# perihelion of June 2023 from them.
ENCKE = Elements(2448193.04502, 0.3308858, 0.8502196, 186.23352, 334.75006, 11.94524)
CERES = Elements(2460120.1, 2.54890, 0.0789126, 73.47045, 80.26013, 10.58634)
MINOR = {
    "Encke": Target("2P", "Encke", Kind.COMET, elements=ENCKE),
    "Ceres": Target("(1)", "Ceres", Kind.ASTEROID, elements=CERES),
}
J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
FEW, MANY = 6, 600  # about half a second each


def sun_direction(instant: datetime) -> tuple[float, float, float]:
    """Return the Sun's right ascension and declination of date, and Greenwich's angle [rad]."""
    days = (instant - J2000) / timedelta(days=1)
    mean = 280.460 + 0.9856474 * days
    anomaly = np.radians(357.528 + 0.9856003 * days)
    along = np.radians(mean + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly))
    tilt = np.radians(23.439 - 0.0000004 * days)
    ra = np.arctan2(np.cos(tilt) * np.sin(along), np.cos(along))
    turn = np.radians(15.0 * ((18.697374558 + 24.06570982441908 * days) % 24.0))
    return float(ra), float(np.arcsin(np.sin(tilt) * np.sin(along))), float(turn)


def sun_altitude_deg(site: Site, instant: datetime) -> float:
    """Return the true altitude of the Sun's centre."""
    ra, dec, turn = sun_direction(instant)
    hour = turn + np.radians(site.longitude_deg) - ra
    lat = np.radians(site.latitude_deg)
    sine = np.sin(lat) * np.sin(dec) + np.cos(lat) * np.cos(dec) * np.cos(hour)
    return float(np.degrees(np.arcsin(sine)))


def sun_away_deg(ephemeris: Ephemeris, site: Site, target: Target, instant: datetime) -> float:
    """Return how far a target is from the Sun, both put to the equinox of J2000."""
    ra_deg, dec_deg = target.ra_deg, target.dec_deg
    if target.elements is not None:
        minor = observe_minor(ephemeris, site, [(target.kind, target.elements)], instant)
        ra_deg, dec_deg = float(minor.ra_deg[0]), float(minor.dec_deg[0])
    elif target.moves:
        seen = observe_body(ephemeris, site, target.id, [instant])
        ra_deg, dec_deg = float(seen.ra_j2000_deg[0]), float(seen.dec_j2000_deg[0])
    assert ra_deg is not None
    assert dec_deg is not None
    ra, dec, _ = sun_direction(instant)
    # General precession: 3.075 s a year in right ascension and 20.04 arcsec cos(ra) in declination.
    years = (instant - J2000) / timedelta(days=365.25)
    ra -= np.radians(years * (3.075 + 1.336 * np.sin(ra) * np.tan(dec)) / 240.0)
    dec -= np.radians(years * 20.04 * np.cos(ra) / 3600.0)
    there = np.radians([ra_deg, dec_deg])
    cosine = np.sin(dec) * np.sin(there[1]) + np.cos(dec) * np.cos(there[1]) * np.cos(ra - there[0])
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def limb_shows(site: Site, instant: datetime) -> bool:
    """Tell whether the Sun's upper limb is above a sea horizon or the lowest of the skyline."""
    dip = 1.76 / 60.0 * np.sqrt(site.elevation_m)
    lowest = min([0.0, *(altitude for _, altitude in site.horizon)])
    return sun_altitude_deg(site, instant) > -(34.0 / 60.0 + 16.0 / 60.0 + max(dip, -lowest))


def danger(ephemeris: Ephemeris, site: Site, target: Target, instant: datetime) -> str | None:
    """Say why a target must not be offered at an instant."""
    away = sun_away_deg(ephemeris, site, target, instant)
    high = sun_altitude_deg(site, instant)
    near = [instant + timedelta(minutes=minutes) for minutes in range(-15, 16, 5)]
    where = f"{target.name} at {instant}, {away:.2f} deg from a Sun at {high:.2f}, {site}"
    if away < 10.0 - SUN_TOLERANCE_DEG and high > -6.0 + SUN_TOLERANCE_DEG:
        return f"before civil twilight: {where}"
    inner = target.id in {"Mercury", "Venus"}
    if (inner or away < 20.0 - SUN_TOLERANCE_DEG) and any(limb_shows(site, t) for t in near):
        return f"the limb shows within 15 minutes: {where}"
    return None


@dataclass(frozen=True)
class Offered:
    """What commands offer on a night."""

    ephemeris: Ephemeris
    catalogue: Catalogue
    circumstances: Circumstances

    def by_look(
        self, target: Target, night: Night, at: datetime | None
    ) -> list[tuple[Target, datetime]]:
        """Return the moment, when there are views, and the ends of the windows."""
        report = look_at(target, self.ephemeris, night, self.circumstances, at=at)
        ends = [(target, instant) for window in report.windows for instant in window]
        return ends + ([(target, report.at)] if report.views else [])

    def by_nights(self, target: Target, night: Night) -> list[tuple[Target, datetime]]:
        """Return the best moment, and the ends of the windows."""
        asked = NightsAsked(first=night.date, count=1, rows=self.bodies(), target=target)
        (outlook,) = coming_nights(
            self.catalogue, self.ephemeris, night.site, self.circumstances, asked
        )
        assert outlook.target is not None
        ends = [(target, instant) for window in outlook.target.windows for instant in window]
        return ends + ([(target, outlook.target.best.at)] if outlook.target.best else [])

    def by_plan(self, night: Night, start: datetime) -> list[tuple[Target, datetime]]:
        """Return the looks of a plan of bodies, from their start to their end, and the spares."""
        plan = plan_night(
            self.catalogue,
            self.ephemeris,
            night,
            start=start,
            end=min(start + timedelta(hours=5), night.end),
            circumstances=self.circumstances,
            wishes=Wishes(rows=self.bodies(), by_name=True, min_altitude_deg=0.0),
        )
        looks = [(look.target, t) for look in plan.looks for t in (look.start, look.end)]
        return looks + [(spare.target, spare.at) for spare in plan.spares]

    def bodies(self) -> np.ndarray:
        """Return the rows of the bodies."""
        return np.array([self.catalogue.index_of(name) for name in BODIES])


@pytest.fixture(scope="module")
def offered(
    ephemeris: Ephemeris, catalogue: Catalogue, circumstances_of: Callable[..., Circumstances]
) -> Offered:
    """Return what offers, with the telescope of an open field."""
    return Offered(ephemeris, catalogue, circumstances_of("open field"))


SITES = st.builds(
    Site,
    name=st.just("anywhere"),
    latitude_deg=st.floats(-89.0, 89.0),
    longitude_deg=st.floats(-180.0, 180.0),
    elevation_m=st.floats(0.0, 5500.0),
    horizon=st.sampled_from([(), ((0.0, -5.0), (180.0, -5.0)), ((90.0, 10.0), (270.0, -2.0))]),
)
DATES = st.dates(date(1950, 1, 2), date(2049, 12, 30))


def _check(offered: Offered, site: Site, evening: date, name: str, minutes: int) -> None:
    """Ask every command, by day and night, and judge all that it offers."""
    night = find_night(offered.ephemeris, site, evening)
    target = offered.catalogue.find(name)
    start = night.start + timedelta(minutes=minutes)
    found = offered.by_look(target, night, None) + offered.by_look(target, night, start)
    found += offered.by_nights(target, night) + offered.by_plan(night, start)
    with contextlib.suppress(NothingToPlanError):
        found += offered.by_plan(night, session_times(night).start)
    dangers = [danger(offered.ephemeris, site, target, instant) for target, instant in found]
    assert not [danger for danger in dangers if danger is not None]


ASKED = {
    "site": SITES,
    "evening": DATES,
    "name": st.sampled_from((*BODIES, "M44", "M45", "M8")),
    "minutes": st.integers(0, 23 * 60 - 60),
}


@settings(max_examples=FEW, deadline=None, suppress_health_check=list(HealthCheck))
@given(**ASKED)
def test_nothing_is_offered_near_the_sun(
    offered: Offered, site: Site, evening: date, name: str, minutes: int
) -> None:
    """Anywhere and at any time, by look, nights and plan."""
    _check(offered, site, evening, name, minutes)


@pytest.mark.slow
@settings(max_examples=MANY, deadline=None, suppress_health_check=list(HealthCheck))
@given(**ASKED)
def test_nothing_is_offered_near_the_sun_many_times(
    offered: Offered, site: Site, evening: date, name: str, minutes: int
) -> None:
    """The same, many times."""
    _check(offered, site, evening, name, minutes)


def test_from_a_height_the_sun_shows_earlier() -> None:
    """1500 m: dip 1.14 deg, 34' of refraction and 16' of radius (Bowditch's dip of 1.76' sqrt h).

    The altitude that counts as hidden lies below that by a margin, and no more than a degree below.
    """
    hidden = sun_hidden_below_deg(elevation_m=1500.0)
    assert -(1.14 + 0.83) - 1.0 < hidden < -(1.14 + 0.83) - 0.3
    assert sun_hidden_below_deg(elevation_m=0.0) < -0.83 - 0.3
    assert sun_hidden_below_deg(elevation_m=0.0, lowest_skyline_deg=-5.0) < -5.83 - 0.3
    assert sun_hidden_below_deg(elevation_m=0.0, lowest_skyline_deg=9.0) > -2.0


@pytest.mark.parametrize(
    ("site", "evening", "name"),
    [
        (Site("m", 51.2, -2.4, timezone="Europe/London"), date(2026, 11, 29), "Mercury"),
        (Site("v", 51.2, -2.4, timezone="Europe/London"), date(2033, 3, 19), "Venus"),
    ],
)
def test_the_best_moment_of_an_inner_planet_is_not_sunrise(
    offered: Offered, site: Site, evening: date, name: str
) -> None:
    """Where there is a choice the Sun is at -4 deg or lower; else nothing is offered by day."""
    night = find_night(offered.ephemeris, site, evening)
    report = look_at(offered.catalogue.find(name), offered.ephemeris, night, offered.circumstances)
    if report.views:
        assert sun_altitude_deg(site, report.at) <= -4.0 + SUN_TOLERANCE_DEG


def test_from_a_mountain_in_the_polar_night_venus_waits(offered: Offered) -> None:
    """68.35 N, 1500 m, 2030-01-06 at 12:01: 4.5 deg from a Sun that a low horizon shows."""
    site = Site("Fell", 68.35, 20.0, 1500.0, timezone="Europe/Stockholm")
    night = find_night(offered.ephemeris, site, date(2030, 1, 6))
    looks = offered.by_plan(night, night.start + timedelta(minutes=1))
    assert "Venus" not in {target.id for target, _ in looks[:1]}
    assert all(danger(offered.ephemeris, site, target, at) is None for target, at in looks)


GARDEN = Site("Garden", 51.2, -2.4, timezone="Europe/London")
HILLS = Site("Hills", -33.9, 150.5, 300.0, "Australia/Sydney")
HIGH = Site("High", -23.0, -67.8, 5400.0, "America/Santiago")
CLIFF = Site("Cliff", 40.0, -3.0, horizon=((0.0, -5.0), (180.0, -5.0)))


@pytest.mark.parametrize(
    ("site", "evening", "name", "away_deg"),
    [
        # Outside the ten degrees, where only the clearance from a Sun that can show forbids it.
        (HIGH, date(2026, 8, 16), "Jupiter", (10.0, 20.0)),
        (CLIFF, date(2026, 8, 17), "Jupiter", (10.0, 20.0)),
        (GARDEN, date(2026, 8, 20), "Jupiter", (10.0, 20.0)),
        (HILLS, date(1990, 10, 26), "Encke", (10.0, 20.0)),
        (GARDEN, date(2023, 10, 14), "Ceres", (10.0, 20.0)),
        (GARDEN, date(2026, 5, 17), "Moon", (10.0, 20.0)),
        # Inside them, north of the Sun in the north and south of it in the south.
        (GARDEN, date(2025, 3, 22), "Venus", (7.0, 10.0)),
        (GARDEN, date(2027, 9, 11), "Jupiter", (7.0, 10.0)),
        (HILLS, date(1991, 2, 1), "Encke", (7.0, 10.0)),
        (GARDEN, date(2023, 9, 23), "Ceres", (7.0, 10.0)),
    ],
)
def test_a_look_is_refused_to_the_last_minute_of_danger(
    offered: Offered, site: Site, evening: date, name: str, away_deg: tuple[float, float]
) -> None:
    """Where the danger begins and where it ends: the edges of every margin, in twilight."""
    night = find_night(offered.ephemeris, site, evening)
    target = MINOR.get(name) or offered.catalogue.find(name)
    night_times = (night.start + timedelta(minutes=minutes) for minutes in range(1, 1439, 3))
    times = [t for t in night_times if -12.0 < sun_altitude_deg(site, t) < 3.0]
    unsafe = [danger(offered.ephemeris, site, target, t) is not None for t in times]
    edges = {i for i in range(1, len(times) - 1) if unsafe[i] and not all(unsafe[i - 1 : i + 2])}
    reports = [
        look_at(target, offered.ephemeris, night, offered.circumstances, at=times[i])
        for i in sorted(edges)
    ]
    judged = [report for report in reports if report.altitude_deg > 0.0]
    assert judged
    for report in judged:
        away = sun_away_deg(offered.ephemeris, site, target, report.at)
        assert away_deg[0] < away < away_deg[1]
        assert report.hazard
        assert not report.views


def test_a_session_finds_no_place_for_what_stands_near_the_sun(offered: Offered) -> None:
    """Asked for in a session by day from a mountain, Venus is refused for the Sun, and so named."""
    site = Site("Fell", 68.35, 20.0, 1500.0, timezone="Europe/Stockholm")
    night = find_night(offered.ephemeris, site, date(2030, 1, 6))
    what = {
        "start": night.start + timedelta(minutes=1),
        "end": night.start + timedelta(hours=4),
        "circumstances": offered.circumstances,
        "wishes": Wishes(rows=offered.bodies(), by_name=True, min_altitude_deg=0.0),
    }
    plan = plan_night(offered.catalogue, offered.ephemeris, night, **what)
    surveyed = survey_night(offered.catalogue, offered.ephemeris, night, **what, also=("Venus",))
    state, _ = begin_session(surveyed, plan, plan.start)
    state, words = add_target(surveyed, state, plan.start, "Venus")
    assert not [look for look in state.looks if look.target_id == "Venus" and look.counts]
    assert words == ("Venus finds no place: too near the Sun",)
