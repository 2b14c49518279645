"""Sessions and entries to keep, and a journal to keep them in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
    new_id,
)
from planner.journal.store.journal import Journal, open_journal

BEGINNING = datetime(2026, 11, 25, 18, 30, tzinfo=UTC)

MakeEntry = Callable[..., JournalEntry]


@pytest.fixture
def session() -> JournalSession:
    """Return a session with everything noted."""
    return JournalSession(
        id=new_id(),
        evening=date(2026, 11, 25),
        site="Garden",
        timezone="Europe/London",
        start=BEGINNING,
        end=BEGINNING + timedelta(hours=4),
        latitude_deg=51.0,
        longitude_deg=-2.4,
        elevation_m=210.0,
        seeing="III",
        transparency=4,
        sky_mag_arcsec2=20.9,
        faintest_star_mag=6.1,
        weather="still, some dew",
        comments='Said: "cold"; then left.',
        observer="Observer",
        companions=("Ann", "Bo, with O'Neil"),
    )


@pytest.fixture
def make_entry(session: JournalSession) -> MakeEntry:
    """Return a function that makes entries of the session, one minute after the other."""
    count = 0

    def make_entry(**changes: object) -> JournalEntry:
        nonlocal count
        count += 1
        values: dict[str, object] = {
            "id": new_id(),
            "session_id": session.id,
            "at": BEGINNING + timedelta(minutes=count, microseconds=count),
            "target": LoggedTarget(
                "NGC6720", "M57 Ring Nebula", "planetary nebula", "Lyr", 283.4, 33.03, 1.4, 1.0, 8.8
            ),
            "train": LoggedTrain(
                telescope="200 mm f/6",
                aperture_mm=200.0,
                telescope_focal_length_mm=1200.0,
                eyepiece="12 mm 60",
                eyepiece_focal_length_mm=12.0,
                apparent_field_deg=60.0,
                amplifier="2x Barlow",
                amplifier_factor=2.0,
                filter="O III",
                filter_kind="oiii",
                magnification=200.0,
                exit_pupil_mm=1.0,
                true_field_deg=0.3,
            ),
            "outcome": Outcome.SEEN,
            "planned_train": "8 mm 60",
            "planned_at": BEGINNING,
            "rating": 4,
            "seeing": "II",
            "transparency": 5,
            "note": "a smoke ring",
            "sketch": "sketches/m57.png",
        }
        return JournalEntry(**(values | changes))  # type: ignore[arg-type]

    return make_entry


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where the journal is; its folder is not there yet."""
    return tmp_path / "data" / "journal.sqlite"


@pytest.fixture
def journal(path: Path, session: JournalSession) -> Iterator[Journal]:
    """Return a journal that holds the session."""
    with open_journal(path) as journal:
        journal.add_session(session)
        yield journal
