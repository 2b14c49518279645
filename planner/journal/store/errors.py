"""What can go wrong with the journal, as sentences."""

from __future__ import annotations

import errno
import shutil
import sqlite3
from pathlib import Path

from planner.model.errors import InputError

_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_NO_ACCESS = {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_AUTH,
}
_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
# What SQLite says with a code that means many things.
_WORDS_OF_DAMAGE = ("decode to UTF-8", "unsupported file format")
NO_ROOM_BYTES = 100_000  # a log and its index take as much
_PRIMARY = 0xFF  # an extended result code holds the primary one in its lowest byte


class JournalError(InputError):
    """The journal cannot do what is asked; the message is a sentence."""

    def __init__(self, sentence: str) -> None:
        super().__init__([sentence])


class UnreadableRowError(ValueError):
    """The file holds what no journal writes."""


class SuspectError(UnreadableRowError):
    """The file or its log looks damaged; it may be that another program was just writing."""


FAULTS_OF_THE_FILE = (sqlite3.Error, UnreadableRowError, UnicodeDecodeError)


def is_damage(error: Exception) -> bool:
    """Tell whether an error means that the file itself is damaged."""
    # SQLite's own complaint may quote bytes of the file that are no text.
    if isinstance(error, UnreadableRowError | UnicodeDecodeError):
        return True
    if not isinstance(error, sqlite3.DatabaseError):
        return False
    return _code(error) in _DAMAGE or any(words in str(error) for words in _WORDS_OF_DAMAGE)


def is_closed(error: BaseException) -> bool:
    """Tell whether an error means that nothing can be written; reading may go on then."""
    return _code(error) in {*_NO_ACCESS, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR}


def journal_fault(error: Exception, path: Path) -> JournalError:
    """Turn what SQLite or the system says into a sentence that the observer can act on."""
    if isinstance(error, sqlite3.IntegrityError):
        return _clash(error)
    code = _code(error)
    number = error.errno if isinstance(error, OSError) else 0
    if code in _BUSY:
        return JournalError(f"The journal {path} is in use by another program; try again.")
    if (
        code == sqlite3.SQLITE_FULL
        or number == errno.ENOSPC
        or (code == sqlite3.SQLITE_IOERR and _is_full(path))
    ):
        return JournalError(
            f"The disk is full: the journal {path} took nothing new. What it had is unharmed; "
            "make room and try again."
        )
    if code in _NO_ACCESS or number in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return JournalError(
            f"The journal {path} cannot be opened for writing; check the rights of the file and "
            "its folder, or name another folder with --data."
        )
    reason = error.strerror if isinstance(error, OSError) else error
    return JournalError(
        f"The journal {path} took nothing new ({reason}). What it had is unharmed; check the disk."
    )


def _is_full(path: Path) -> bool:
    """Whether there is no room left where a file is; SQLite says so in several ways."""
    try:
        return shutil.disk_usage(path.parent).free < NO_ROOM_BYTES
    except OSError:
        return False


def _clash(error: sqlite3.IntegrityError) -> JournalError:
    if error.sqlite_errorcode == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY:
        return JournalError("An entry belongs to a session that is not in the journal.")
    return JournalError("One of these is in the journal already, under the same id.")


def _code(error: BaseException) -> int:
    return getattr(error, "sqlite_errorcode", 0) & _PRIMARY
