"""The tables of the journal's file, step by step from its first version to the present one."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import lru_cache

APPLICATION_ID = 0x66737470  # "fstp": tells a journal from the databases of other programs

_VERSION_1 = """
CREATE TABLE session (
    id TEXT PRIMARY KEY NOT NULL,
    evening TEXT NOT NULL,
    site TEXT NOT NULL,
    timezone TEXT NOT NULL,
    start TEXT NOT NULL,
    "end" TEXT,
    latitude_deg REAL,
    longitude_deg REAL,
    elevation_m REAL,
    seeing TEXT CHECK (seeing IN ('I', 'II', 'III', 'IV', 'V')),
    transparency INTEGER CHECK (transparency BETWEEN 1 AND 5),
    sky_mag_arcsec2 REAL,
    faintest_star_mag REAL,
    weather TEXT NOT NULL DEFAULT '',
    comments TEXT NOT NULL DEFAULT '',
    observer TEXT NOT NULL DEFAULT '',
    companions TEXT NOT NULL DEFAULT '[]',
    revision INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE entry (
    id TEXT PRIMARY KEY NOT NULL,
    session_id TEXT NOT NULL REFERENCES session (id),
    at TEXT NOT NULL,
    target_id TEXT NOT NULL,
    target_name TEXT NOT NULL,
    target_kind TEXT NOT NULL,
    target_constellation TEXT,
    target_ra_deg REAL,
    target_dec_deg REAL,
    target_major_arcmin REAL,
    target_minor_arcmin REAL,
    target_magnitude REAL,
    train_telescope TEXT NOT NULL DEFAULT '',
    train_aperture_mm REAL,
    train_telescope_focal_length_mm REAL,
    train_eyepiece TEXT NOT NULL DEFAULT '',
    train_eyepiece_focal_length_mm REAL,
    train_apparent_field_deg REAL,
    train_amplifier TEXT NOT NULL DEFAULT '',
    train_amplifier_factor REAL,
    train_filter TEXT NOT NULL DEFAULT '',
    train_filter_kind TEXT NOT NULL DEFAULT '',
    train_magnification REAL,
    train_exit_pupil_mm REAL,
    train_true_field_deg REAL,
    outcome TEXT NOT NULL CHECK (outcome IN ('seen', 'suspected', 'not-seen', 'skipped')),
    planned_train TEXT NOT NULL DEFAULT '',
    planned_at TEXT,
    why_skipped TEXT NOT NULL DEFAULT '',
    rating INTEGER CHECK (rating BETWEEN 1 AND 5),
    seeing TEXT CHECK (seeing IN ('I', 'II', 'III', 'IV', 'V')),
    transparency INTEGER CHECK (transparency BETWEEN 1 AND 5),
    note TEXT NOT NULL DEFAULT '',
    revision INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX entry_by_time ON entry (at);
CREATE INDEX entry_by_session ON entry (session_id);
CREATE INDEX entry_by_target ON entry (target_id, outcome);
"""

# What a record was before each correction.
_VERSION_2 = """
CREATE TABLE former (
    record_id TEXT NOT NULL,
    revision INTEGER NOT NULL,
    changed_at TEXT NOT NULL,
    record TEXT NOT NULL,
    PRIMARY KEY (record_id, revision)
) STRICT;
"""

# Sketches.
_VERSION_3 = """
ALTER TABLE entry ADD COLUMN sketch TEXT NOT NULL DEFAULT '';
CREATE INDEX entry_by_eyepiece ON entry (train_eyepiece);
"""

# Entries that were taken out, and when. The index answers for what is left without the table.
_VERSION_4 = """
ALTER TABLE entry ADD COLUMN removed_at TEXT;
DROP INDEX entry_by_target;
CREATE INDEX entry_by_target ON entry (target_id, outcome, removed_at);
"""

STEPS = (_VERSION_1, _VERSION_2, _VERSION_3, _VERSION_4)
VERSION = len(STEPS)


def statements(step: str) -> tuple[str, ...]:
    """Return the statements of a step one by one: several at once would end the transaction."""
    return tuple(part.strip() for part in step.split(";") if part.strip())


def make_tables(db: sqlite3.Connection, *, since: int) -> None:
    """Bring the tables of a version to the present one, and mark the file as a journal."""
    for step in STEPS[since:]:
        for statement in statements(step):
            db.execute(statement)
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {VERSION}")


def definitions(db: sqlite3.Connection) -> frozenset[tuple[str, str]]:
    """Return the names and definitions of all tables and indices of a file."""
    query = "SELECT name, sql FROM sqlite_schema WHERE sql NOTNULL"
    return frozenset(db.execute(query).fetchall())


@lru_cache(maxsize=1)
def present_definitions() -> frozenset[tuple[str, str]]:
    """Return what `definitions` gives of a sound file of the present version."""
    with closing(sqlite3.connect(":memory:")) as db:
        make_tables(db, since=0)
        return definitions(db)
