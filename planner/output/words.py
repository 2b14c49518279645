"""What the text sheets share: times, directions and sizes."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from planner.text import fit, wrap

if TYPE_CHECKING:
    from planner.model.site import Site

LABEL_WIDTH = 9
NOT_THERE = "-"
# Between these hours of the day a reader asks which of the two days of a night is meant.
NOON_FROM_H, NOON_UNTIL_H = 10, 14
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
POINTS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
SUN_CAUTION = (
    "Caution: never point a telescope or finder at the Sun or near it without a filter made for "
    "that over the front; keep both capped while it is up. This is customary advice: the rules "
    "of your place come first."
)


def compass(azimuth_deg: float) -> str:
    """Write an azimuth [deg] as one of 16 points and whole degrees: ``NNW 334``."""
    degrees = round(azimuth_deg) % 360
    return f"{POINTS[round(degrees / 22.5) % 16]} {degrees:03d}"


def clock(instant: datetime | None, site: Site) -> str:
    """Write an instant as the site's time to the minute: ``21:05``; ``-`` for none.

    While the clocks show an hour twice, the zone's letters tell which: ``01:05 GMT``.
    """
    if instant is None:
        return NOT_THERE
    # Rounded before it is turned into site time: a local time does not count across a change.
    return clock_of((instant.astimezone(UTC) + timedelta(seconds=30)).astimezone(site.zone))


def clock_of(local: datetime) -> str:
    """Write a local time: ``21:05``, with its zone where that time comes twice: ``01:05 GMT``."""
    first, second = (local.replace(fold=fold).utcoffset() for fold in (0, 1))
    # In an hour that the clocks leave out these two differ as well, but the other way round.
    comes_twice = first is not None and second is not None and first > second
    return f"{local:%H:%M %Z}" if comes_twice else f"{local:%H:%M}"


def clock_and_day(instant: datetime, site: Site) -> str:
    """Write the same with the weekday where, around noon, either day of a night can be meant."""
    local = instant.astimezone(site.zone)
    if not NOON_FROM_H <= local.hour < NOON_UNTIL_H:
        return clock(instant, site)
    return f"{clock(instant, site)} {WEEKDAYS[local.weekday()]}"


def span(start: datetime, end: datetime, site: Site) -> str:
    """Write a start and an end: ``21:05-21:15``."""
    return f"{clock(start, site)}-{clock(end, site)}"


def date_words(day: date) -> str:
    """Write a date: ``8 Dec 2026``."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def double_date(evening: date) -> str:
    """Write both dates of a night: ``Wed 25 / Thu 26 Nov 2026``."""
    morning = evening + timedelta(days=1)
    first = f"{WEEKDAYS[evening.weekday()]} {evening.day}"
    if evening.month != morning.month:
        first += f" {MONTHS[evening.month - 1]}"
    if evening.year != morning.year:
        first += f" {evening.year}"
    return f"{first} / {WEEKDAYS[morning.weekday()]} {date_words(morning)}"


def arc(arcmin: float) -> str:
    """Write a size [arcmin] in the unit that suits it: ``42"``, ``9.5'``, ``104'``."""
    if arcmin < 1.0:
        return f'{arcmin * 60.0:.0f}"' if arcmin * 60.0 >= 9.95 else f'{arcmin * 60.0:.1f}"'
    return f"{arcmin:.1f}'" if arcmin < 9.95 else f"{arcmin:.0f}'"


def item(name: str, text: str) -> list[str]:
    """Write a line of the heading, its name in a column of its own."""
    return wrap(text, first=fit(name, LABEL_WIDTH), rest=" " * LABEL_WIDTH)
