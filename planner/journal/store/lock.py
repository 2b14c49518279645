"""A lock beside the journal's file: shared by all who write, held alone by who replaces the file.

It is one of SQLite's own, in a file apart: it holds whatever state the journal is in, on every
system, and goes when the program does. Who writes has it through each transaction, so that nobody
copies or replaces a file into which something is being written.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from pathlib import Path

from targets.files import FOR_THE_OWNER

BUSY_S = 30.0  # how long to wait for another program


@contextmanager
def shared(path: Path) -> Iterator[None]:
    """Use a journal together with others; where no lock can be made nothing can be written."""
    with ExitStack() as held:
        try:
            db = held.enter_context(closing(_connected(path)))
            db.execute("BEGIN")
            db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except sqlite3.DatabaseError as error:
            if error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY:
                raise
        yield


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Wait until nobody is writing, and let nobody begin.

    Raises sqlite3.Error if others hold it too long, or the lock cannot be made.
    """
    with closing(_connected(path)) as db:
        db.execute("BEGIN EXCLUSIVE")
        yield


def _connected(path: Path) -> sqlite3.Connection:
    lock = path.with_name(f"{path.name}.lock")
    make_private(lock)
    return sqlite3.connect(lock, timeout=BUSY_S, isolation_level=None)


def make_private(path: Path) -> None:
    """Make an empty file that only its owner may read, unless there is one; SQLite fills it."""
    if not path.exists():
        with suppress(OSError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FOR_THE_OWNER))
