"""Puts rows that were found into a journal, and what its ledger holds more than it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from planner.journal.records import YEARS, JournalSession
from planner.journal.store.copies.ledger import (
    Ledger,
    agreed_end,
    has_rows,
    read_ledger,
    set_aside,
    write_anew,
)
from planner.journal.store.rows import SESSION_COLUMNS, insert_words, put_words, session_row
from planner.journal.store.salvage import Salvaged, Values, salvage_ledger
from targets.frozen import frozen

# What no table takes: what its rules refuse, and values that no column can hold.
_UNFIT = (
    sqlite3.IntegrityError, sqlite3.InterfaceError, sqlite3.ProgrammingError, OverflowError,
)  # fmt: skip
PERHAPS = (
    "Looks may be missing: the copy of it, line by line, is damaged or missing too. Compare with "
    "your notes or an export."
)
LOST_SESSION = "The record of this session itself was damaged."


@frozen
class Agreed:
    """Where a ledger ends that agrees with its journal, and what was done for that, in words."""

    end: int
    said: tuple[str, ...] = ()


def agree(db: sqlite3.Connection, path: Path, *, looks_at_all: bool = False) -> Agreed:
    """Make journal and ledger hold the same, where one has less.

    Parameters
    ----------
    db : sqlite3.Connection
        In a transaction for writing.
    path : Path
        Of the journal.
    looks_at_all : bool
        As in `agreed_end`.

    Raises
    ------
    OSError
        If the ledger cannot be written.
    """
    end = agreed_end(db, path, looks_at_all=looks_at_all)
    if end is not None:
        return Agreed(end)
    ledger = read_ledger(path)
    said: tuple[str, ...] = ()
    if _is_of_another(db, ledger):
        said = (_kept_aside("belongs to another one", path),)
    else:
        if not ledger.is_whole and has_rows(path):
            said = (_kept_aside("was damaged and is made anew", path),)
        lacked = put_back(db, path, ledger)
        said += (*lacked, *([PERHAPS] if lacked and said else []))
    return Agreed(write_anew(db, path), said)


def _kept_aside(fate: str, path: Path) -> str:
    aside = set_aside(path).name
    return f'The copy beside the journal {path}, line by line, {fate}; it is kept as "{aside}".'


def put_back(db: sqlite3.Connection, path: Path, ledger: Ledger) -> tuple[str, ...]:
    """Write what a ledger holds more than its journal into that; say so.

    The last transaction comes back without a word: its program may have been ended before it
    could acknowledge it.
    """
    *earlier, last = ledger.transactions or ((),)
    lacked, newest = (fill(db, salvage_ledger(some)) for some in (earlier, [last]))
    if not any(lacked.values()):
        return ()
    entries, sessions = (lacked[table] + newest[table] for table in ("entry", "session"))
    words = (
        f"The journal {path} lacked {counted(entries, 'entry', 'entries')} and "
        f"{counted(sessions, 'session', 'sessions')} as they were last written; they were put back "
        "from the copy beside it, line by line."
    )
    return (words,)


def _is_of_another(db: sqlite3.Connection, ledger: Ledger) -> bool:
    """Whether a journal that holds something shares nothing with a ledger that does."""
    ids = {
        row.values["id"] for rows in ledger.transactions for row in rows if row.table != "former"
    }
    there = {
        row[0]
        for table in ("entry", "session")
        for row in db.execute(f"SELECT id FROM {table}")  # noqa: S608
    }
    return bool(ids and there) and ids.isdisjoint(there)


def fill(db: sqlite3.Connection, found: Salvaged) -> dict[str, int]:
    """Put rows into a journal that are not there, or not as new; count them by table."""
    sessions = _put(db, "session", found.session.values())
    there = {row[0] for row in db.execute("SELECT id FROM session")}
    for row in found.entry.values():
        if row["session_id"] not in there:
            there.add(row["session_id"])
            stand_in = session_row(_stand_in(row))
            db.execute(insert_words("session", SESSION_COLUMNS), stand_in)
    entries = _put(db, "entry", found.entry.values())
    return {
        "session": sessions, "entry": entries, "former": _put(db, "former", found.former.values())
    }  # fmt: skip


def _put(db: sqlite3.Connection, table: str, rows: Iterable[Values]) -> int:
    """Put the rows that the tables take; count them."""
    count = 0
    for row in rows:
        with suppress(*_UNFIT):
            words = put_words(table, tuple(row))
            count += db.execute(words, tuple(row.values())).rowcount
    return count


def _stand_in(entry: Values) -> JournalSession:
    at = datetime.fromisoformat(entry["at"])
    if at.year not in YEARS or at.tzinfo is None:
        at = datetime(YEARS.start, 1, 1, 12, tzinfo=UTC)  # damaged too; the look keeps what it has
    return JournalSession(
        id=entry["session_id"],
        evening=at.date(),
        site="unknown",
        timezone="UTC",
        start=at,
        comments=LOST_SESSION,
    )


def counted(count: int, one: str, many: str) -> str:
    """Return a count with its noun."""
    return f"{count} {one if count == 1 else many}"
