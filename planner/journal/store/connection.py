"""Opens the journal's file with SQLite, and brings one of an older version up to date."""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

from planner.journal.store.copies.backup import copy_database, free_name, is_due
from planner.journal.store.errors import JournalError, UnreadableRowError
from planner.journal.store.lock import BUSY_S, make_private
from planner.journal.store.schema import (
    APPLICATION_ID,
    VERSION,
    definitions,
    make_tables,
    present_definitions,
)
from planner.journal.store.write_ahead import whole_image

PAUSE_S = 0.02
MOST_VERSIONS = 1000  # a larger number is no version but damage
OLDEST_SQLITE = (3, 37)  # the first with strict tables; to an older one they look like damage


def connect(path: Path) -> sqlite3.Connection:
    """Open the file, making it or bringing it up to date where that is needed.

    Raises
    ------
    JournalError
        If it belongs to another program or to a newer version of this one.
    UnreadableRowError, sqlite3.Error
        If it is damaged, or cannot be used.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise JournalError(
            f"The journal needs SQLite 3.37 or newer; this Python has {sqlite3.sqlite_version}."
        )
    make_private(path)
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    try:
        _check_owner(connection, path)
        _log_ahead(connection)
        # What was acknowledged outlives a power cut: the log is on disk before COMMIT returns.
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        if _number(connection, "user_version") < VERSION:
            _update(connection, path)
        check_whole(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def connect_to_copy(path: Path) -> sqlite3.Connection:
    """Open a copy of the file and its log in memory: where nothing may be written beside it.

    Raises JournalError, UnreadableRowError, OSError or sqlite3.Error as with `connect`; also if it
    is of an older version.
    """
    content = whole_image(path)
    check_writer_version(path)
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        if content:
            connection.deserialize(content)
        _check_owner(connection, path)
        _check_present(connection, path)
        check_whole(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def check_writer_version(path: Path) -> None:
    """Raise UnreadableRowError if it is the header that keeps SQLite from writing."""
    with path.open("rb") as file:
        versions = file.read(20)[18:]
    if not set(versions) <= {1, 2}:
        raise UnreadableRowError("no such version writes")


def _check_present(connection: sqlite3.Connection, path: Path) -> None:
    if _number(connection, "user_version") < VERSION:
        raise JournalError(
            f"The journal {path} is of an older version, and cannot be brought up to date: "
            "its folder may not be written."
        )


def check_whole(connection: sqlite3.Connection, path: Path) -> None:
    """Raise UnreadableRowError if tables or pages are not what a journal has.

    Pages are looked at when a copy is due: always, or by the hour in a large file.
    """
    if not present_definitions() <= definitions(connection):
        raise UnreadableRowError("a table of the journal is not as it was made")
    if is_due(path):
        check_pages(connection)


def check_pages(connection: sqlite3.Connection) -> None:
    """Raise UnreadableRowError if SQLite finds a fault on any page."""
    ((found,),) = connection.execute("PRAGMA integrity_check(1)")
    if found != "ok":
        raise UnreadableRowError(str(found))


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


def _check_owner(connection: sqlite3.Connection, path: Path) -> None:
    version = _number(connection, "user_version")
    is_new = version == 0 and not definitions(connection)
    if not is_new and _number(connection, "application_id") != APPLICATION_ID:
        if _has_looks(connection):
            raise UnreadableRowError("the mark that tells a journal is broken")
        raise JournalError(
            f"{path} is the database of another program; nothing in it was changed. "
            "Name another folder with --data, or move that file away."
        )
    if not is_new and _is_no_version(connection, version):
        raise UnreadableRowError("there is no such version")
    if version > VERSION:
        raise JournalError(
            f"The journal {path} was written by a newer version of this program (format {version}; "
            f"this one knows up to {VERSION}). Nothing was changed; install the newer version."
        )


def _is_no_version(connection: sqlite3.Connection, version: int) -> bool:
    """Whether a number is damage: out of range, or one bit away while the tables are the present.

    The number after the present one is taken at its word.
    """
    if not 1 <= version <= MOST_VERSIONS:
        return True
    is_one_bit_off = (version ^ VERSION).bit_count() == 1 and version != VERSION + 1
    return is_one_bit_off and definitions(connection) == present_definitions()


def _has_looks(connection: sqlite3.Connection) -> bool:
    """Whether there is a table of entries as only a journal has it."""
    query = "SELECT count(*) FROM pragma_table_info('entry') WHERE name = 'train_eyepiece'"
    return bool(connection.execute(query).fetchone()[0])


def _update(connection: sqlite3.Connection, path: Path) -> None:
    """Bring a file to the present version in one transaction, a copy made before."""
    connection.execute("BEGIN IMMEDIATE")
    version = _number(connection, "user_version")  # another program may have been faster
    if version:
        _keep_version(path, version)
    make_tables(connection, since=version)
    connection.execute("COMMIT")


def _keep_version(path: Path, version: int) -> None:
    """Copy the file as it stands, under a name of its own; the same copy is not kept twice."""
    name = f"{path.stem}.version-{version}"
    with copy_database(path) as draft:
        content = draft.read_bytes()
        kept = [*path.parent.glob(f"{name}.sqlite"), *path.parent.glob(f"{name}-*.sqlite")]
        if not any(copy.read_bytes() == content for copy in kept):
            draft.rename(free_name(path.with_name(f"{name}.sqlite")))


def _number(connection: sqlite3.Connection, pragma: str) -> int:
    return int(connection.execute(f"PRAGMA {pragma}").fetchone()[0])
