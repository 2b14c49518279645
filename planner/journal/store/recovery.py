"""Puts a damaged journal aside and makes a new one of all that can still be read."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from planner.journal.records import JournalSession
from planner.journal.store.connection import BUSY_S, connect
from planner.journal.store.rows import SESSION_COLUMNS, insert_words, session_row
from planner.journal.store.salvage import Salvaged, Values, salvage

# What SQLite keeps beside a file.
LOG, INDEX = "-wal", "-shm"
LOST_SESSION = "The record of this session itself was damaged."


def rescue(path: Path, *, file_number: int) -> str:
    """Make a new journal of what can be read in a damaged one, which is kept.

    Parameters
    ----------
    path : Path
        Of the damaged file; afterwards, of the new one.
    file_number : int
        Of the damaged file; where another has taken its place meanwhile, nothing is done.

    Returns
    -------
    str
        A sentence that says what was done.

    Raises
    ------
    OSError, sqlite3.Error
        If it cannot be done; the damaged file is still in its place then.
    """
    with _alone(path):
        if path.stat().st_ino != file_number:
            return f"The journal {path} was damaged; another program has put it right."
        aside = _copied_aside(path)
        found = salvage(aside, _with_ending(aside, LOG))
        fresh = _with_ending(path, ".rescuing")
        fresh.unlink(missing_ok=True)
        with closing(connect(fresh)) as db:
            kept = _fill(db, found)
            db.execute("PRAGMA journal_mode = DELETE")  # a file without a log beside it
        fresh.replace(_with_ending(path, ".rescued"))
        _take_over(path)
    return (
        f"The journal {path} was damaged. {kept} could be read, and stand in a new file; the "
        f'damaged one is kept as "{aside.name}" beside it.'
    )


def finish_rescue(path: Path) -> None:
    """Let a rescued journal take its place, where a rescue was cut short just before that."""
    if _with_ending(path, ".rescued").exists():
        with _alone(path):
            _take_over(path)


def _take_over(path: Path) -> None:
    rescued = _with_ending(path, ".rescued")
    if not rescued.exists():
        return
    # The log of the damaged file must not be taken for one of the new file.
    for ending in (LOG, INDEX):
        _with_ending(path, ending).unlink(missing_ok=True)
    rescued.replace(path)


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Keep other programs from doing the same at once; the lock goes when the program does."""
    lock = _with_ending(path, ".lock")
    with closing(sqlite3.connect(lock, timeout=BUSY_S, isolation_level=None)) as db:
        db.execute("BEGIN EXCLUSIVE")
        yield
        db.execute("ROLLBACK")


def _copied_aside(path: Path) -> Path:
    """Copy the file and its log under a name that nothing has, on the disk for good."""
    number = 1
    while (aside := path.with_name(f"{path.stem}.damaged-{number}.sqlite")).exists():
        number += 1
    for ending in (LOG, ""):
        with suppress(FileNotFoundError):
            copy = _with_ending(aside, ending)
            shutil.copyfile(_with_ending(path, ending), copy)
            with copy.open("rb+") as file:
                os.fsync(file.fileno())
    return aside


def _fill(db: sqlite3.Connection, found: Salvaged) -> str:
    """Put what was found into a new file; give a clause that counts it."""
    db.execute("BEGIN IMMEDIATE")
    sessions = _insert(db, "session", found.sessions.values())
    for row in found.entries.values():
        if row["session_id"] not in found.sessions:
            found.sessions[row["session_id"]] = row
            stand_in = session_row(_stand_in(row))
            with suppress(sqlite3.IntegrityError):
                db.execute(insert_words("session", SESSION_COLUMNS), stand_in)
    entries = _insert(db, "entry", found.entries.values())
    _insert(db, "former", found.former.values())
    db.execute("COMMIT")
    return (
        f"{_counted(entries, 'entry', 'entries')} and {_counted(sessions, 'session', 'sessions')}"
    )


def _insert(db: sqlite3.Connection, table: str, rows: Iterable[Values]) -> int:
    count = 0
    for row in rows:
        with suppress(sqlite3.IntegrityError):
            db.execute(insert_words(table, tuple(row)), tuple(row.values()))
            count += 1
    return count


def _stand_in(entry: Values) -> JournalSession:
    at = datetime.fromisoformat(entry["at"])
    return JournalSession(
        id=entry["session_id"],
        evening=at.date(),
        site="unknown",
        timezone="UTC",
        start=at,
        comments=LOST_SESSION,
    )


def _counted(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def _with_ending(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)
