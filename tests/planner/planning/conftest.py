"""Sites, kits and nights for the tests of planning; all invented or plain geography."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import cache

import ephem
import numpy as np
import pytest

from planner.config.conditions import conditions_tonight
from planner.config.preferences import default_preferences
from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.kit import Barrel, Eyepiece, Kit, Mount, Telescope
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from targets.catalogue.catalogue import Catalogue, load_catalogue
from targets.model import Target

SITES = {
    "garden": example_settings(today=date(2026, 3, 1)).sites[0],
    "open field": Site("Open field", 51.2, -2.4, 210.0, "Europe/London", 20.9),
    "arctic coast": Site("Arctic coast", 69.65, 18.96, 10.0, "Europe/Oslo", 21.3),
    "far north": Site("Far north", 78.2, 15.6, 10.0, "Arctic/Longyearbyen", 21.5),
    "south pole": Site("South pole", -90.0, 0.0, 2835.0, "Antarctica/McMurdo", 21.8),
    "equator": Site("Equator", 0.0, -78.5, 2850.0, "America/Guayaquil", 21.5),
    "southern hills": Site("Southern hills", -33.9, 150.5, 300.0, "Australia/Sydney", 21.5),
    "eastern shore": Site("Eastern shore", 40.7, -73.9, 10.0, "America/New_York", 20.5),
}


def _eyepiece(focal_length_mm: float, barrel: Barrel = Barrel.ONE_AND_A_QUARTER) -> Eyepiece:
    return Eyepiece(
        f"{focal_length_mm:g} mm", (focal_length_mm,), (60.0,), barrel, eye_relief_mm=15
    )


def _kits() -> dict[str, tuple[Telescope, Kit]]:
    example = example_settings(today=date(2026, 3, 1)).kit
    reflector, refractor = example.telescopes
    twenty = tuple(_eyepiece(2.0 * k) for k in range(2, 22))
    driven = replace(reflector, mount=Mount.EQUATORIAL, driven=True, balance_g=None)
    narrow = replace(reflector, focuser=Barrel.ONE_AND_A_QUARTER, adapters=())
    return {
        "reflector": (reflector, example),
        "refractor": (refractor, example),
        "driven equatorial": (driven, replace(example, telescopes=(driven,))),
        "one eyepiece": (reflector, Kit((reflector,), (_eyepiece(20.0),))),
        "twenty eyepieces": (reflector, Kit((reflector,), twenty, example.amplifiers)),
        "no eyepiece fits": (narrow, Kit((narrow,), (_eyepiece(50.0, Barrel.THREE),))),
    }


KITS = _kits()


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """Return the whole catalogue."""
    return load_catalogue()


@pytest.fixture(scope="session")
def site_of() -> Callable[[str], Site]:
    """Return a site by its name."""
    return SITES.__getitem__


@pytest.fixture(scope="session")
def night_of(ephemeris: Ephemeris) -> Callable[[str, str], Night]:
    """Return the night of a site and a date."""
    return cache(lambda site, day: find_night(ephemeris, SITES[site], date.fromisoformat(day)))


@pytest.fixture(scope="session")
def circumstances_of() -> Callable[..., Circumstances]:
    """Return who looks, through which kit, from which site."""

    def build(site: str, kit: str = "reflector") -> Circumstances:
        telescope, owned = KITS[kit]
        observer = example_settings(today=date(2026, 3, 1)).observer
        return Circumstances(
            observer=observer,
            telescope=telescope,
            table=tabulate_trains(make_trains(telescope, owned)),
            conditions=conditions_tonight(SITES[site], observer),
            preferences=default_preferences(),
        )

    return cache(build)


@dataclass(frozen=True)
class Elsewhere:
    """The same sky by another library, PyEphem, which shares neither code nor ephemeris with us."""

    site: Site

    def observer(self, instant: datetime, *, air: bool) -> ephem.Observer:
        """Return an observer there at an instant."""
        observer = ephem.Observer()
        observer.lat = math.radians(self.site.latitude_deg)
        observer.lon = math.radians(self.site.longitude_deg)
        observer.elevation = self.site.elevation_m
        observer.temp = 10.0
        if air:
            observer.compute_pressure()
        else:
            observer.pressure = 0.0
        observer.date = ephem.Date(instant.astimezone(UTC).replace(tzinfo=None))
        return observer

    @staticmethod
    def body(target: Target) -> ephem.Body:
        """Return a target as that library has it."""
        if target.moves:
            return getattr(ephem, target.id)()
        body = ephem.FixedBody()
        body._ra, body._dec = math.radians(target.ra_deg), math.radians(target.dec_deg)  # noqa: SLF001  # the library's own way
        body._epoch = ephem.J2000  # noqa: SLF001
        return body

    def place_deg(self, target: Target, instant: datetime) -> tuple[float, float]:
        """Return apparent altitude and azimuth [deg]."""
        body = self.body(target)
        body.compute(self.observer(instant, air=True))
        return math.degrees(body.alt), math.degrees(body.az)

    def sun_altitude_deg(self, instant: datetime) -> float:
        """Return the true altitude of the Sun's centre [deg]."""
        sun = ephem.Sun()
        sun.compute(self.observer(instant, air=False))
        return math.degrees(sun.alt)

    def moon(self, target: Target, instant: datetime) -> tuple[float, float]:
        """Return the Moon's true altitude and its distance from a target [deg]."""
        observer = self.observer(instant, air=False)
        moon, body = ephem.Moon(), self.body(target)
        moon.compute(observer)
        body.compute(observer)
        return math.degrees(moon.alt), math.degrees(ephem.separation(moon, body))


@pytest.fixture(scope="session")
def elsewhere() -> Callable[[Site], Elsewhere]:
    """Return the sky over a site by PyEphem."""
    return Elsewhere


@pytest.fixture(scope="session")
def instants() -> Callable[..., list[datetime]]:
    """Return instants from a start, so many minutes apart."""

    def build(start: datetime, minutes: float, count: int) -> list[datetime]:
        return [start + timedelta(minutes=minutes * k) for k in np.arange(count).tolist()]

    return build
