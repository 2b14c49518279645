"""Turns the tables of the configuration into the observer, the session and the sites."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from itertools import pairwise
from typing import Any
from zoneinfo import available_timezones

from planner.config.checks import Table
from planner.config.conditions import EXTINCTION_MAG_RANGE, PUPIL_MM_RANGE, SKY_MAG_RANGE
from planner.config.fields import (
    Bounds,
    Choice,
    Field,
    Flag,
    Name,
    Text,
    UnfitError,
    Zone,
    optional,
)
from planner.formulas.pupil import dark_pupil_mm
from planner.model.antoniadi import ANTONIADI, STEPS_ALLOWED, antoniadi_step
from planner.model.kit import Experience, Observer
from planner.model.pace import USUAL_PACE, ObservingPace
from planner.model.red_spot import RedSpot
from planner.model.site import Site
from planner.text import nearest, show

# Common practice: middles of the classes. There is no official map from class to meter, and those
# in use differ by a class; a reading is better.
BORTLE_SKY_MAG_ARCSEC2 = (21.85, 21.6, 21.4, 20.9, 20.0, 19.2, 18.7, 18.1, 17.3)

AVERAGE_SEEING = "III"

NAME = Field("name", Name())
OBSERVER = (
    Field("name", Name(), "Observer"),
    Field("spectacles", Flag(), default=False),
    Field("lean_on_journal", Flag(), default=True),
    Field("learn_eye", Flag(), default=True),
    Field("overdue_minutes", Bounds(1, 240, "minutes"), 15.0),
    Field("experience", Choice(Experience), Experience.PRACTISED),
    optional("dark_pupil_mm", Bounds(*PUPIL_MM_RANGE, "mm")),
)
SESSION = (
    optional("find_minutes", Bounds(0, 60, "minutes")),
    Field("look_minutes", Bounds(2, 60, "minutes"), USUAL_PACE.look_min),
    optional("looks_an_hour", Bounds(0.5, 30)),
    Field("easy_share", Bounds(0, 1), USUAL_PACE.easy_share),
    Field("variety", Bounds(0, 3), USUAL_PACE.variety),
    optional("forecast", Text()),
)
SITE = (
    NAME,
    Field("latitude_deg", Bounds(-90, 90, "degrees, north positive")),
    Field("longitude_deg", Bounds(-180, 360, "degrees, east positive")),
    Field("elevation_m", Bounds(-430, 9000, "m"), 0.0),
    optional("extinction_mag", Bounds(*EXTINCTION_MAG_RANGE, "mag per air mass")),
    optional("bortle", Bounds(1, 9, whole=True)),
    optional("sky_mag_arcsec2", Bounds(*SKY_MAG_RANGE, "mag/arcsec2")),
)


def read_observer(table: Table, today: date) -> Observer:
    """Read the observer; the pupil is measured, follows from the age, or is assumed."""
    found = table.fields(OBSERVER)
    table.exclude("dark_pupil_mm", "birth_year")
    pupil_mm, source = found["dark_pupil_mm"], "measured"
    year = table.value("birth_year", Bounds(1900, today.year, whole=True), None)
    if not table.has("dark_pupil_mm"):
        pupil_mm, source = 6.0, "assumed"
        if year is not None:
            age = today.year - int(year)
            pupil_mm, source = round(float(dark_pupil_mm(age)), 1), f"from age {age}"
    return Observer(
        found["name"],
        pupil_mm,
        source,
        spectacles=found["spectacles"],
        lean_on_journal=found["lean_on_journal"],
        learn_eye=found["learn_eye"],
        overdue_min=found["overdue_minutes"],
        experience=found["experience"],
    )


def read_session(table: Table) -> tuple[ObservingPace, str | None]:
    """Read how the observer likes to spend a session, and where forecasts are kept, if anywhere."""
    found = table.fields(SESSION)
    pace = ObservingPace(
        find_min=found["find_minutes"],
        look_min=found["look_minutes"],
        most_an_hour=found["looks_an_hour"],
        easy_share=found["easy_share"],
        variety=found["variety"],
    )
    return pace, found["forecast"]


def read_jupiter(table: Table) -> RedSpot | None:
    """Read where the Red Spot was seen and when; None when the file does not say."""
    keys = ("red_spot_longitude_deg", "red_spot_date", "red_spot_drift_deg_per_month")
    there = [table.has(key) for key in keys]
    if not any(there):
        return None
    longitude_deg = table.value(keys[0], Bounds(0, 360, "degrees, System II"))
    on = table.values.get(keys[1])
    if not isinstance(on, date) or isinstance(on, datetime):
        table.wrong(keys[1], "a date without quotation marks, as in 2026-11-25")
        on = date.min
    return RedSpot(longitude_deg, on, table.value(keys[2], Bounds(-10, 10, "degrees a month"), 0.0))


def read_site(table: Table) -> Site:
    """Read one site."""
    found = table.fields(SITE)
    longitude_deg = found["longitude_deg"]
    if longitude_deg is not None and longitude_deg > 180.0:
        longitude_deg -= 360.0
    sky_mag_arcsec2, sky_source = _sky(table, found)
    return Site(
        name=found["name"],
        latitude_deg=found["latitude_deg"],
        longitude_deg=longitude_deg,
        elevation_m=found["elevation_m"],
        timezone=_timezone(table, found["latitude_deg"], longitude_deg),
        sky_mag_arcsec2=sky_mag_arcsec2,
        sky_source=sky_source,
        extinction_mag=found["extinction_mag"],
        seeing=_seeing(table),
        horizon=_horizon(table),
    )


def _sky(table: Table, found: Mapping[str, Any]) -> tuple[float, str]:
    """The brightness of the zenith, and how it is known."""
    table.exclude("sky_mag_arcsec2", "bortle")
    if table.has("sky_mag_arcsec2"):
        return found["sky_mag_arcsec2"], "measured"
    if found["bortle"] is None:
        return 20.9, "assumed"
    return BORTLE_SKY_MAG_ARCSEC2[found["bortle"] - 1], f"Bortle class {found['bortle']}"


def _seeing(table: Table) -> str:
    """Read the usual seeing, as numeral or number; average when not stated."""
    if not table.has("seeing"):
        return AVERAGE_SEEING
    try:
        return ANTONIADI[antoniadi_step(str(table.values["seeing"])) - 1]
    except ValueError:
        table.wrong("seeing", STEPS_ALLOWED)
        return AVERAGE_SEEING


def _timezone(table: Table, latitude_deg: float | None, longitude_deg: float | None) -> str:
    """Read the time zone, or find it from the position."""
    if not table.has("timezone"):
        if latitude_deg is None or longitude_deg is None:
            return "UTC"
        from planner.config.time_zones import zone_at  # noqa: PLC0415  loads a map that most files do not need

        return zone_at(latitude_deg, longitude_deg)
    value, zone = table.values["timezone"], Zone()
    try:
        return str(zone.read(value))
    except UnfitError:
        guess = nearest(value, available_timezones()) if isinstance(value, str) else None
        table.wrong("timezone", zone.words + (f'; did you mean "{guess}"?' if guess else ""))
        return "UTC"


def _horizon(table: Table) -> tuple[tuple[float, float], ...]:
    """Read the skyline: two points or more, in order of azimuth."""
    key = "horizon"
    if not table.has(key):
        return ()
    value = table.values[key]
    if not isinstance(value, list) or len(value) < 2:
        table.wrong(key, "a list of at least two points [azimuth, altitude]")
        return ()
    for number, point in enumerate(value, start=1):
        if not _is_horizon_point(point):
            allowed = "[azimuth from 0 to below 360, altitude from -10 to 90] in degrees"
            table.fault(key, f"found {show(point)} as point {number}; allowed is {allowed}")
    if key in table.faulty:
        return ()
    for (before, _), (after, _) in pairwise(value):
        if after == before:
            table.fault(key, f"found azimuth {after:g} twice; allowed is one altitude for each")
        elif after < before:
            table.fault(key, f"found azimuth {after:g} after {before:g}; allowed is rising order")
    return tuple((float(azimuth), float(altitude)) for azimuth, altitude in value)


def _is_horizon_point(point: object) -> bool:
    if not isinstance(point, list) or len(point) != 2:
        return False
    azimuth, altitude = point
    return Bounds(0, 360).hold(azimuth) and azimuth != 360 and Bounds(-10, 90).hold(altitude)
