"""Sessions and the looks in them: what a look takes from its session."""

from __future__ import annotations

from datetime import date, datetime

from planner.journal.records import JournalEntry, JournalSession
from planner.journal.store.journal import new_id
from planner.model.site import Site


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


def seeing_at(entry: JournalEntry, session: JournalSession) -> str | None:
    """Give the seeing at a look: its own, else the session's."""
    return session.seeing if entry.seeing is None else entry.seeing


def transparency_at(entry: JournalEntry, session: JournalSession) -> int | None:
    """Give the transparency at a look: its own, else the session's."""
    return session.transparency if entry.transparency is None else entry.transparency
