"""Records that hold everything a journal can, and little of it."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)

NASTY = "a <b>&amp; \"q\" 's' =1+1 ]]> \u202eright\u202c \U0001f52d\r\n\x00\x1b[31m\ttab -2"


@pytest.fixture
def sessions() -> tuple[JournalSession, ...]:
    """Two evenings, one of them without an entry and without much said of it."""
    full = JournalSession(
        id="0" * 31 + "a",
        evening=date(2026, 3, 14),
        site="Garden",
        timezone="Europe/London",
        start=datetime(2026, 3, 14, 19, 0, tzinfo=UTC),
        end=datetime(2026, 3, 14, 22, 30, tzinfo=UTC),
        latitude_deg=51.2,
        longitude_deg=-2.4,
        elevation_m=210.0,
        seeing="III",
        transparency=4,
        sky_mag_arcsec2=20.9,
        faintest_star_mag=5.8,
        weather="thin cloud in W after 21 UT",
        comments=NASTY,
        observer="Ann Mary Example",
        companions=("Bo", "Cy Other"),
    )
    bare = JournalSession(
        id="0" * 31 + "b",
        evening=date(2026, 3, 15),
        site="Hill",
        timezone="Pacific/Auckland",
        start=datetime(2026, 3, 15, 9, 0, tzinfo=UTC),
    )
    return (full, bare)


@pytest.fixture
def entries(sessions: tuple[JournalSession, ...]) -> tuple[JournalEntry, ...]:
    """Four looks of the first evening: one with everything, one with nothing, and others."""
    session = sessions[0].id
    train = LoggedTrain(
        "200 mm f/6", 200.0, 1200.0, "12 mm 60", 12.0, 60.0, "2x Barlow", 2.0, "O III", "oiii",
        200.0, 1.0, 0.3,
    )  # fmt: skip
    dumbbell = LoggedTarget(
        "NGC6853", "M27 Dumbbell Nebula", "planetary nebula", "Vul", 299.901, 22.721, 8.0, 5.6, 7.4
    )
    pair = LoggedTarget("STF2758", "61 Cygni", "double star", "Cyg", 316.7, 38.7, 0.53, None, 5.2)
    return (
        JournalEntry(
            "1" * 32, session, datetime(2026, 3, 14, 21, 10, 5, 123456, tzinfo=UTC), dumbbell,
            train,
            Outcome.SEEN, "15 mm 60", datetime(2026, 3, 14, 21, 0, tzinfo=UTC), "", 5, "II", 3,
            NASTY, "sketches/m27 = 1.png",
        ),
        JournalEntry(
            "2" * 32, session, datetime(2026, 3, 14, 20, 0, tzinfo=UTC),
            LoggedTarget("", "=cmd|'/c calc'!A1", "smudge"), LoggedTrain(), Outcome.NOT_SEEN,
        ),
        JournalEntry(
            "3" * 32, session, datetime(2026, 3, 14, 20, 30, tzinfo=UTC), pair,
            LoggedTrain(telescope="old one", eyepiece="some eyepiece"), Outcome.SUSPECTED,
            note="[fieldstop 1]\nrating = 3",
        ),
        JournalEntry(
            "4" * 32, session, datetime(2026, 3, 14, 20, 45, tzinfo=UTC),
            LoggedTarget("Moon", "Moon", "Moon"), LoggedTrain(), Outcome.SKIPPED,
            why_skipped="cloud, then dew. Home",
        ),
    )  # fmt: skip
