"""Opens the journal's file, and brings one of an older version up to date."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path

from planner.journal.store.errors import JournalError, UnreadableRowError

BUSY_S = 30.0  # how long to wait for another program to finish writing
PAUSE_S = 0.02
MOST_VERSIONS = 1000  # a larger number is no version but damage
OLDEST_SQLITE = (3, 37)  # the first with strict tables; to an older one they look like damage


def connect(path: Path) -> sqlite3.Connection:
    """Open the file, making it or bringing it up to date where that is needed.

    A file that may not be written is opened for reading alone.

    Raises
    ------
    JournalError
        If it belongs to another program or to a newer version of this one.
    sqlite3.Error
        If it is damaged, or cannot be used.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise JournalError(
            f"The journal needs SQLite 3.37 or newer; this Python has {sqlite3.sqlite_version}."
        )
    try:
        return _opened(path)
    except sqlite3.OperationalError as error:
        refused = {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY}
        if error.sqlite_errorcode & 0xFF not in refused or not path.is_file():
            raise
    return _opened_for_reading(path)


def _opened(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    try:
        _check_owner(connection, path)
        _log_ahead(connection)
        # What was acknowledged outlives a power cut: the log is on disk before COMMIT returns.
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        if _number(connection, "user_version") < VERSION:
            _update(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def _log_ahead(connection: sqlite3.Connection) -> None:
    """Let the file have a write-ahead log; SQLite does not wait for this by itself."""
    for _ in range(int(BUSY_S / PAUSE_S)):
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                raise
            time.sleep(PAUSE_S)
        else:
            return


def _opened_for_reading(path: Path) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
    connection = sqlite3.connect(uri, uri=True, isolation_level=None)
    try:
        _check_owner(connection, path)
        _check_present(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def _check_owner(connection: sqlite3.Connection, path: Path) -> None:
    version = _number(connection, "user_version")
    is_new = version == 0 and not _tables(connection)
    if not is_new and _number(connection, "application_id") != APPLICATION_ID:
        if _has_looks(connection):
            raise UnreadableRowError("the mark that tells a journal is broken")
        raise JournalError(
            f"{path} is the database of another program; nothing in it was changed. "
            "Name another folder with --data, or move that file away."
        )
    if version > MOST_VERSIONS:
        raise UnreadableRowError("there is no such version")
    if version > VERSION:
        raise JournalError(
            f"The journal {path} was written by a newer version of this program (format {version}; "
            f"this one knows up to {VERSION}). Nothing was changed; install the newer version."
        )


def _has_looks(connection: sqlite3.Connection) -> bool:
    """Whether there is a table of entries as only a journal has it."""
    query = "SELECT count(*) FROM pragma_table_info('entry') WHERE name = 'train_eyepiece'"
    return bool(connection.execute(query).fetchone()[0])


def _check_present(connection: sqlite3.Connection, path: Path) -> None:
    if _number(connection, "user_version") < VERSION:
        raise JournalError(
            f"The journal {path} is of an older version, and cannot be brought up to date: "
            "its folder may not be written."
        )


def _update(connection: sqlite3.Connection, path: Path) -> None:
    """Bring a file to the present version in one transaction, a copy made before."""
    connection.execute("BEGIN IMMEDIATE")
    version = _number(connection, "user_version")  # another program may have been faster
    if version:
        _back_up(path, path.with_name(f"{path.stem}.version-{version}.sqlite"))
    for step in STEPS[version:]:
        for statement in statements(step):
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {VERSION}")
    connection.execute("COMMIT")


def _back_up(path: Path, copy: Path) -> None:
    """Copy a file as it stands; a copy that a migration cut short has left is made anew."""
    unfinished = copy.with_name(f"{copy.name}.part")
    unfinished.unlink(missing_ok=True)
    with (
        closing(sqlite3.connect(path, timeout=BUSY_S)) as source,
        closing(sqlite3.connect(unfinished)) as target,
    ):
        source.backup(target)
    if not copy.exists():
        unfinished.replace(copy)
    unfinished.unlink(missing_ok=True)


def _tables(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0])


def _number(connection: sqlite3.Connection, pragma: str) -> int:
    return int(connection.execute(f"PRAGMA {pragma}").fetchone()[0])


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
