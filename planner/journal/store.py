"""The journal on disk: one SQLite file, in which what was acknowledged stays.

Every change is a transaction of its own, synchronised in full: it is on disk when the method
returns. Several programs may have the journal open; each writes when its turn comes.
"""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from planner.journal.errors import JournalError
from planner.journal.file import JournalFile
from planner.journal.former import Former, former_records
from planner.journal.place import FILE_NAME
from planner.journal.queries import (
    ENTRIES,
    SESSIONS,
    condition,
    in_session,
    replace_row,
    row_called,
    session_of_evening,
)
from planner.journal.records import JournalEntry, JournalSession, Outcome
from planner.journal.rows import (
    ENTRY_COLUMNS,
    SESSION_COLUMNS,
    entry_of,
    entry_row,
    insert_words,
    session_of,
    session_row,
    sql_names,
)


def journal_path(data: Path) -> Path:
    """Give where the journal is in the folder of what the program keeps."""
    return data / FILE_NAME


def new_id() -> str:
    """Give an id that nothing else has: 32 hexadecimal digits."""
    return uuid.uuid4().hex


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
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise JournalError(
            f'The folder "{path.parent}" for the journal cannot be made: {error.strerror}.'
        ) from None
    return Journal(path)


class Journal(JournalFile):
    """An open journal; `open_journal` gives one, and it is to be closed or used in ``with``.

    Every method raises `JournalError` when the file cannot be read or written, or a record cannot
    be kept; nothing is changed then. Damage that shows up is put right on the way: the damaged file
    is kept under another name, all that can be read goes into a new one, and ``remarks`` says so.
    """

    # Reading

    def sessions(self) -> tuple[JournalSession, ...]:
        """Give all sessions in order of time."""
        return self._repairing(
            lambda db: tuple(map(session_of, db.execute(f"{SESSIONS} ORDER BY start, id")))
        )

    def session(self, session_id: str) -> JournalSession:
        """Give the session of an id, or of digits with which only one id begins."""
        return self._repairing(lambda db: session_of(row_called(db, "session", session_id)))

    def session_of_evening(self, evening: date, site: str) -> JournalSession | None:
        """Give the latest session of an evening at a site, None when there is none."""
        return self._repairing(lambda db: session_of_evening(db, evening, site))

    def entries(
        self,
        *,
        since: datetime | None = None,
        target_id: str | None = None,
        target_name: str | None = None,
        eyepiece: str | None = None,
        session_id: str | None = None,
        limit: int | None = None,
    ) -> tuple[JournalEntry, ...]:
        """Give entries in order of time.

        Parameters
        ----------
        since : datetime, optional
            Aware; none that are earlier.
        target_id, target_name, eyepiece, session_id : str, optional
            Only those of one target, eyepiece (its name) or session.
        limit : int, optional
            Only the latest so many.
        """
        where, values = condition(
            since=since,
            target_id=target_id,
            target_name=target_name,
            eyepiece=eyepiece,
            session_id=session_id,
        )
        query = f"{ENTRIES} {where} ORDER BY at DESC, rowid DESC LIMIT ?"
        most = -1 if limit is None else limit
        return self._repairing(
            lambda db: tuple(map(entry_of, db.execute(query, (*values, most))))[::-1]
        )

    def entry(self, entry_id: str) -> JournalEntry:
        """Give the entry of an id, or of digits with which only one id begins."""
        return self._repairing(lambda db: entry_of(row_called(db, "entry", entry_id)))

    def count(
        self,
        *,
        since: datetime | None = None,
        target_id: str | None = None,
        target_name: str | None = None,
        eyepiece: str | None = None,
        session_id: str | None = None,
    ) -> int:
        """Count what `entries` would give without a limit."""
        where, values = condition(
            since=since,
            target_id=target_id,
            target_name=target_name,
            eyepiece=eyepiece,
            session_id=session_id,
        )
        query = f"SELECT count(*) FROM entry {where}"  # noqa: S608
        return self._repairing(lambda db: int(db.execute(query, values).fetchone()[0]))

    def columns(self, *names: str) -> list[tuple[Any, ...]]:
        """Give some columns of all entries in order of time, as they stand in the file.

        Parameters
        ----------
        *names : str
            Of ``planner.journal.rows.ENTRY_COLUMNS``. Instants are text in ISO 8601, UTC.
        """
        query = f"SELECT {sql_names(names)} FROM entry ORDER BY at, rowid"  # noqa: S608
        return self._repairing(lambda db: db.execute(query).fetchall())

    def opinions(self, telescope: str, *names: str) -> list[tuple[Any, ...]]:
        """Give some columns of the entries that may show what is preferred in one telescope.

        Those in which something was seen or suspected through an eyepiece, and which either are
        rated other than 3 or were planned; see `planner.journal.leaning`.
        """
        query = f"""SELECT {sql_names(names)} FROM entry
            WHERE train_telescope = ? AND train_eyepiece != '' AND outcome IN (?, ?)
            AND (rating != 3 OR planned_train != '')"""  # noqa: S608
        values = (telescope, str(Outcome.SEEN), str(Outcome.SUSPECTED))
        return self._repairing(lambda db: db.execute(query, values).fetchall())

    def eyepieces(self) -> tuple[str, ...]:
        """Give the names of all eyepieces in the journal, those of former kits too."""
        query = "SELECT DISTINCT train_eyepiece FROM entry WHERE train_eyepiece != '' ORDER BY 1"
        return self._repairing(lambda db: tuple(row[0] for row in db.execute(query)))

    def unlisted_names(self) -> tuple[str, ...]:
        """Give the names of all targets that the catalogue did not know."""
        query = "SELECT DISTINCT target_name FROM entry WHERE target_id = '' ORDER BY 1"
        return self._repairing(lambda db: tuple(row[0] for row in db.execute(query)))

    def seen_ids(self) -> frozenset[str]:
        """Give the ids of all targets that were seen at least once."""
        query = "SELECT DISTINCT target_id FROM entry WHERE outcome = ? AND target_id != ''"
        return self._repairing(
            lambda db: frozenset(row[0] for row in db.execute(query, (str(Outcome.SEEN),)))
        )

    def history(self, entry_id: str) -> tuple[Former[JournalEntry], ...]:
        """Give what an entry was before each of its corrections, the oldest first."""
        return self._repairing(lambda db: former_records(db, entry_id, ENTRY_COLUMNS, entry_of))

    def session_history(self, session_id: str) -> tuple[Former[JournalSession], ...]:
        """Give what a session was before each of its corrections, the oldest first."""
        return self._repairing(
            lambda db: former_records(db, session_id, SESSION_COLUMNS, session_of)
        )

    # Writing

    def add_session(self, session: JournalSession) -> None:
        """Keep a new session."""
        self.add_all([session], [])

    def add(self, entry: JournalEntry) -> None:
        """Keep a new entry of a session that is there."""
        self.add_all([], [entry])

    def add_all(self, sessions: Iterable[JournalSession], entries: Iterable[JournalEntry]) -> None:
        """Keep new sessions and entries: all, or none of them."""
        session_rows = [session_row(session) for session in sessions]
        entry_rows = [entry_row(entry) for entry in entries]

        def insert(db: sqlite3.Connection) -> None:
            db.executemany(insert_words("session", SESSION_COLUMNS), session_rows)
            db.executemany(insert_words("entry", ENTRY_COLUMNS), entry_rows)

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
            row = row_called(db, "entry", entry_id)
            new = replace(entry_of(row), **changes)
            replace_row(db, "entry", row, entry_row(new), changed_at)
            return new

        return self._writing(change)

    def change_session(
        self, session_id: str, *, changed_at: datetime, **changes: Any
    ) -> JournalSession:
        """Correct a session, or end it, and keep what it was; see `amend`."""

        def change(db: sqlite3.Connection) -> JournalSession:
            row = row_called(db, "session", session_id)
            new = replace(session_of(row), **changes)
            replace_row(db, "session", row, session_row(new), changed_at)
            return new

        return self._writing(change)
