"""What the journal keeps: sessions and entries, each with a copy of the kit as it was."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, tzinfo
from enum import StrEnum
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from targets.frozen import frozen

if TYPE_CHECKING:
    from planner.model.kit import Train
    from planner.model.site import Site
    from targets.model import Target

# No look is known to be outside them, and zones need a day of room at the ends of the calendar.
YEARS = range(1800, 2201)
MOST_COMPANIONS = 1000
TRANSPARENCIES = RATINGS = range(1, 6)
ID_SHOWN = 8  # so many digits of an id stand in lists and sentences


class Outcome(StrEnum):
    """What came of a look."""

    SEEN = "seen"
    SUSPECTED = "suspected"
    NOT_SEEN = "not-seen"
    SKIPPED = "skipped"

    @property
    def words(self) -> str:
        """As a sentence has it."""
        return self.value.replace("-", " ")


@frozen
class LoggedTarget:
    """A target as it was when it was logged; None where a value is unknown.

    ``id`` is empty for something that the catalogue does not know. Coordinates are J2000, None for
    what moves.
    """

    id: str
    name: str
    kind: str
    constellation: str | None = None
    ra_deg: float | None = None
    dec_deg: float | None = None
    major_arcmin: float | None = None
    minor_arcmin: float | None = None
    magnitude: float | None = None


@frozen
class LoggedTrain:
    """What the light went through, by the names and numbers that the kit had then.

    ``eyepiece`` is empty for the naked eye or when it was not noted; numbers are None where
    unknown.
    """

    telescope: str = ""
    aperture_mm: float | None = None
    telescope_focal_length_mm: float | None = None
    eyepiece: str = ""
    eyepiece_focal_length_mm: float | None = None
    apparent_field_deg: float | None = None
    amplifier: str = ""
    amplifier_factor: float | None = None
    filter: str = ""
    filter_kind: str = ""
    magnification: float | None = None
    exit_pupil_mm: float | None = None
    true_field_deg: float | None = None


@frozen
class JournalSession:
    """One evening at one site.

    Parameters
    ----------
    id : str
        Unique; 32 hexadecimal digits.
    evening : date
        Names the night.
    site : str
        Name.
    timezone : str
        IANA name of the site's zone.
    start, end : datetime
        UTC; ``end`` is None while it goes on.
    latitude_deg, longitude_deg : float or None
        East positive.
    seeing : str or None
        Antoniadi, ``I`` .. ``V``.
    transparency : int or None
        1 (thick haze) .. 5 (clear).
    sky_mag_arcsec2 : float or None
        Zenith.
    faintest_star_mag : float or None
        By eye.
    """

    id: str
    evening: date
    site: str
    timezone: str
    start: datetime
    end: datetime | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None
    seeing: str | None = None
    transparency: int | None = None
    sky_mag_arcsec2: float | None = None
    faintest_star_mag: float | None = None
    weather: str = ""
    comments: str = ""
    observer: str = ""
    companions: tuple[str, ...] = ()


@frozen
class JournalEntry:
    """One look, and what came of it.

    Parameters
    ----------
    id : str
        Unique; 32 hexadecimal digits.
    session_id : str
        Of its session.
    at : datetime
        UTC.
    train : LoggedTrain
        What was used.
    planned_train : str
        What the plan proposed, in words; empty when it was not planned.
    planned_at : datetime or None
        When the plan would have had it (UTC).
    rating : int or None
        1 (not worth it) .. 5 (unforgettable).
    seeing : str or None
        At this look, when it differs from the session's.
    transparency : int or None
        The same.
    sketch : str
        Path of a file, as the observer gave it.
    """

    id: str
    session_id: str
    at: datetime
    target: LoggedTarget
    train: LoggedTrain
    outcome: Outcome
    planned_train: str = ""
    planned_at: datetime | None = None
    why_skipped: str = ""
    rating: int | None = None
    seeing: str | None = None
    transparency: int | None = None
    note: str = ""
    sketch: str = ""


def logged_target(target: Target) -> LoggedTarget:
    """Copy what the catalogue says of a target."""
    return LoggedTarget(
        id=target.id,
        name=target.name,
        kind=target.kind.value,
        constellation=target.constellation,
        ra_deg=target.ra_deg,
        dec_deg=target.dec_deg,
        major_arcmin=target.major_arcmin,
        minor_arcmin=target.minor_arcmin,
        magnitude=target.magnitude,
    )


def logged_train(train: Train) -> LoggedTrain:
    """Copy a train, with its numbers."""
    amplifier, filter_ = train.amplifier, train.filter
    return LoggedTrain(
        telescope=train.telescope.name,
        aperture_mm=train.telescope.aperture_mm,
        telescope_focal_length_mm=train.telescope.focal_length_mm,
        eyepiece=train.eyepiece.name,
        eyepiece_focal_length_mm=train.focal_length_mm,
        apparent_field_deg=train.apparent_field_deg,
        amplifier=amplifier.name if amplifier else "",
        amplifier_factor=amplifier.factor if amplifier else None,
        filter=filter_.name if filter_ else "",
        filter_kind=filter_.kind.value if filter_ else "",
        magnification=train.magnification,
        exit_pupil_mm=train.exit_pupil_mm,
        true_field_deg=train.true_field_arcmin / 60.0,
    )


def logged_words(train: LoggedTrain) -> str:
    """Name a train as a plan does: ``12 mm 60 + 2x Barlow + O III``; empty without any glass."""
    return " + ".join(part for part in (train.eyepiece, train.amplifier, train.filter) if part)


def new_session(site: Site, evening: date, start: datetime, *, observer: str) -> JournalSession:
    """Begin a session at a site, under its usual sky."""
    return JournalSession(
        id=new_id(),
        evening=evening,
        site=site.name,
        timezone=site.timezone,
        start=start,
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        elevation_m=site.elevation_m,
        observer=observer,
    )


def session_zone(session: JournalSession) -> tzinfo:
    """Return the zone of a session's site; UTC where its name means nothing here."""
    try:
        return ZoneInfo(session.timezone)
    except (OSError, ValueError, KeyError):
        return UTC


def seeing_at(entry: JournalEntry, session: JournalSession) -> str | None:
    """Return the seeing at a look: its own, else the session's."""
    return session.seeing if entry.seeing is None else entry.seeing


def transparency_at(entry: JournalEntry, session: JournalSession) -> int | None:
    """Return the transparency at a look: its own, else the session's."""
    return session.transparency if entry.transparency is None else entry.transparency


def new_id() -> str:
    """Return an id that nothing else has: 32 hexadecimal digits."""
    return uuid.uuid4().hex
