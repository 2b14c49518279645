"""Opens the journal's file, and brings one of an older version up to date."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path

from planner.journal.store.errors import JournalError, UnreadableRowError
from planner.journal.store.schema import APPLICATION_ID, STEPS, VERSION, statements

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
