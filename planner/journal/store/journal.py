"""The journal on disk: one SQLite file, in which what was acknowledged stays.

Every change is a transaction of its own, synchronised in full: it is on disk when the method
returns. Several programs may have the journal open; each writes when its turn comes.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from planner.journal.records import JournalEntry, JournalSession
from planner.journal.store import FILE_NAME
from planner.journal.store.errors import JournalError
from planner.journal.store.history import removed_of
from planner.journal.store.queries import (
    entry_called,
    in_session,
    mark_removed,
    removed_called,
    replace_row,
    session_called,
    session_of_evening,
)
from planner.journal.store.reader import JournalReader
from planner.journal.store.rows import (
    ENTRY_COLUMNS,
    SESSION_COLUMNS,
    entry_of,
    entry_row,
    insert_words,
    instant_text,
    session_of,
    session_row,
)
from targets.files import make_folder


def journal_path(data: Path) -> Path:
    """Return where the journal is in the folder of what the program keeps."""
    return data / FILE_NAME


def open_journal(path: Path) -> Journal:
    """Open the journal in a file, which is made, with its folder, when it is not there.

    Parameters
    ----------
    path : Path
        See `journal_path`.

    Returns
    -------
    Journal
        To be closed, or used in a ``with`` statement. Its ``remarks`` say what was put right.

    Raises
    ------
    JournalError
        If the file cannot be used; it is left as it is.
    """
    try:
        make_folder(path.parent)
    except OSError as error:
        raise JournalError(
            f'The folder "{path.parent}" for the journal cannot be made: {error.strerror}.'
        ) from None
    return Journal(path)


class Journal(JournalReader):
    """An open journal; `open_journal` gives one, and it is to be closed or used in ``with``.

    Every method raises `JournalError` when the file cannot be read or written, or a record cannot
    be kept; nothing is changed then. Damage that shows up is put right on the way: the damaged file
    is kept under another name, all that can be read goes into a new one, and ``remarks`` says so.
    """

    def add_session(self, session: JournalSession) -> None:
        """Keep a new session."""
        self.add_all([session], [])

    def add(self, entry: JournalEntry) -> None:
        """Keep a new entry of a session that is there."""
        self.add_all([], [entry])

    def add_all(self, sessions: Iterable[JournalSession], entries: Iterable[JournalEntry]) -> None:
        """Keep new sessions and entries: all, or none of them.

        Parameters
        ----------
        sessions, entries : iterable
            Gone through again where the file has to be put right first.
        """
        session_rows = [session_row(session) for session in sessions]
        some = list(entries) if isinstance(entries, Iterator) else entries

        def insert(db: sqlite3.Connection) -> None:
            db.executemany(insert_words("session", SESSION_COLUMNS), session_rows)
            db.executemany(insert_words("entry", ENTRY_COLUMNS), map(entry_row, some))

        self._writing(insert)

    def add_to_evening(self, entry: JournalEntry, session: JournalSession) -> JournalEntry:
        """Keep an entry in the session that an evening and site have already, or in a new one.

        Parameters
        ----------
        entry : JournalEntry
            Its ``session_id`` does not count.
        session : JournalSession
            Tells evening and site, and is kept when they have none; two programs that begin an
            evening at once share one.

        Returns
        -------
        JournalEntry
            As it is kept.
        """

        def insert(db: sqlite3.Connection) -> JournalEntry:
            home = session_of_evening(db, session.evening, session.site)
            if home is None:
                home = session
                db.execute(insert_words("session", SESSION_COLUMNS), session_row(session))
            kept = in_session(entry, home)
            db.execute(insert_words("entry", ENTRY_COLUMNS), entry_row(kept))
            return kept

        return self._writing(insert)

    def amend(self, entry_id: str, *, changed_at: datetime, **changes: Any) -> JournalEntry:
        """Correct an entry, and keep what it was.

        Parameters
        ----------
        entry_id : str
            Its id, or digits with which only that one begins.
        changed_at : datetime
            When it is corrected, aware; not to be mixed up with ``at``, when one looked.
        **changes
            New values by the names of the fields of `JournalEntry`.

        Returns
        -------
        JournalEntry
            As it stands now.
        """

        def change(db: sqlite3.Connection) -> JournalEntry:
            row = entry_called(db, entry_id)
            new = replace(entry_of(row), **changes)
            replace_row(db, "entry", row, entry_row(new), changed_at)
            return new

        return self._writing(change)

    def remove_entry(self, entry_id: str, *, removed_at: datetime) -> JournalEntry:
        """Take an entry out of all answers but `removed`; it stays in the file.

        Parameters
        ----------
        entry_id : str
            Its id, or digits with which only that one begins.
        removed_at : datetime
            Now, aware.

        Returns
        -------
        JournalEntry
            As it was.

        Raises
        ------
        JournalError
            Also when it was removed before, perhaps by another program.
        """
        instant = instant_text(removed_at)

        def change(db: sqlite3.Connection) -> JournalEntry:
            row = entry_called(db, entry_id)
            mark_removed(db, row[0], instant)
            return entry_of(row)

        return self._writing(change)

    def restore_entry(self, entry_id: str) -> JournalEntry:
        """Bring a removed entry back as it was; see `remove_entry`.

        Raises
        ------
        JournalError
            Also when it is in the journal.
        """

        def change(db: sqlite3.Connection) -> JournalEntry:
            row = removed_called(db, entry_id)
            mark_removed(db, row[0], None)
            return removed_of(row).record

        return self._writing(change)

    def change_session(
        self, session_id: str, *, changed_at: datetime, **changes: Any
    ) -> JournalSession:
        """Correct a session, or end it, and keep what it was; see `amend`."""

        def change(db: sqlite3.Connection) -> JournalSession:
            row = session_called(db, session_id)
            new = replace(session_of(row), **changes)
            replace_row(db, "session", row, session_row(new), changed_at)
            return new

        return self._writing(change)
