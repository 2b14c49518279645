"""The journal's file under the store: the one door to it.

What stands between a record and its file, all of it used from here alone:

- opening (`connection`): whose file it is, older versions, a look at every page;
- locking (`lock`): SQLite's own lock for writing, and one beside it against replacing;
- the log (`write_ahead`): SQLite drops what stands in it behind damage, so it is looked at first;
- the ledger (`copies.ledger`): every row as a line of text, on the disk before it is acknowledged;
- copies (`copies.backup`): made when a journal that was written is closed;
- damage (`salvage`, `recovery`): the file is kept aside; all that can be read goes into a new one,
  and what a file lacks of its ledger is put back (`filling`);
- rights: the file tells where home is; only its owner may read it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from planner.journal.store.connection import check_writer_version, connect, connect_to_copy
from planner.journal.store.copies.backup import backup_paths, is_due, make_backup
from planner.journal.store.copies.ledger import (
    agreed_end,
    append,
    cut_back,
    has_rows,
    note_changes,
    read_ledger,
)
from planner.journal.store.errors import (
    FAULTS_OF_THE_FILE,
    SuspectError,
    is_closed,
    is_damage,
    journal_fault,
)
from planner.journal.store.filling import Agreed, agree, put_back
from planner.journal.store.lock import shared
from planner.journal.store.recovery import finish_rescue, rescue
from planner.journal.store.write_ahead import is_log_broken, read_log
from targets.files import FOR_THE_OWNER

Result = TypeVar("Result")


class JournalFile:
    """An open file; ``remarks`` holds a sentence for each time that it was put right."""

    def __init__(self, path: Path) -> None:
        self.path = Path(os.path.realpath(path))  # a link stays one, whatever replaces the file
        self.remarks: tuple[str, ...] = ()
        self._connection: sqlite3.Connection | None = None
        self._file = 0
        self._is_written = False
        self._refused: Exception | None = None  # why only a copy in memory could be opened
        try:
            self._repairing(lambda db: db.execute("SELECT 1 FROM entry LIMIT 1").fetchone())
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Self:
        """Return the journal itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Let go of the file, and copy it if it was written; closing twice does nothing."""
        if self._connection is None:
            return
        if self._is_written:
            # What was acknowledged is on disk; the next one who closes tries again.
            with suppress(OSError, *FAULTS_OF_THE_FILE), shared(self.path):
                if is_due(self.path):
                    make_backup(self.path)
        self._let_go()

    def _let_go(self) -> None:
        if self._connection is not None:
            self._connection.close()
        self._connection, self._is_written = None, False

    def _writing(self, work: Callable[[sqlite3.Connection], Result]) -> Result:
        """Do work in a transaction of its own."""

        def transaction(db: sqlite3.Connection) -> Result:
            if self._refused is not None:
                raise self._refused
            note_changes(db)
            result, agreed = self._transaction(db, work)
            self._is_written = True
            self.remarks += agreed.said
            return result

        return self._repairing(transaction, writes=True)

    def _transaction(
        self, db: sqlite3.Connection, work: Callable[[sqlite3.Connection], Result]
    ) -> tuple[Result, Agreed]:
        """Do work, and have it in the ledger before the database has it."""
        agreed = None
        db.execute("BEGIN IMMEDIATE")
        try:
            agreed = agree(db, self.path, looks_at_all=not self._is_written and is_due(self.path))
            result = work(db)
            append(db, self.path, agreed.end)
            db.execute("COMMIT")
        except BaseException as error:
            if db.in_transaction:
                db.execute("ROLLBACK")
            if agreed is not None:
                cut_back(self.path, agreed.end)
            if is_closed(error):
                check_writer_version(self.path)
            raise
        return result, agreed

    def _repairing(
        self, work: Callable[[sqlite3.Connection], Result], *, writes: bool = False
    ) -> Result:
        """Do work; where the file turns out to be damaged, put it right and do the work again."""
        try:
            return self._working(work, writes=writes)
        except (*FAULTS_OF_THE_FILE, OSError) as error:
            if not is_damage(error):
                raise journal_fault(error, self.path) from None
            found = error
        self._let_go()
        try:
            said = rescue(self.path, lambda: self._is_still_damaged(found))
            result = self._working(work, writes=writes)
        except (*FAULTS_OF_THE_FILE, OSError) as error:
            raise journal_fault(error, self.path) from None
        if said is not None:
            self.remarks += (said,)
            self._is_written = True  # so that what was put right is copied
        return result

    def _working(self, work: Callable[[sqlite3.Connection], Result], *, writes: bool) -> Result:
        if not writes and self._connection is not None and self._is_present():
            return work(self._connection)
        finish_rescue(self.path)
        # Nobody replaces the file between the look at it and the end of a transaction.
        with shared(self.path):
            if self._connection is None or not self._is_present():
                self._let_go()
                self._connection = self._opened()
                self._file = _file_number(self.path)
            return work(self._connection)

    def _is_present(self) -> bool:
        """Whether the file that is open is the one in its place."""
        return self._file == _file_number(self.path)

    def _opened(self) -> sqlite3.Connection:
        """Open the file, or a copy in memory where it can only be read."""
        self._file = _file_number(self.path)
        if _is_suspect(self.path):
            raise SuspectError("the file or its log is cut off or damaged")
        self._refused = None
        try:
            connection = self._agreeing(connect(self.path))
        except (sqlite3.OperationalError, OSError) as error:
            if not (is_closed(error) or isinstance(error, OSError)) or not self.path.is_file():
                raise
            self._refused = error
            connection = connect_to_copy(self.path)
            with suppress(OSError):
                self.remarks += put_back(connection, self.path, read_ledger(self.path))
            return connection
        if not backup_paths(self.path)[0].exists():  # new, or of a version that made none
            with suppress(OSError):
                self.path.chmod(FOR_THE_OWNER)
            self._is_written = connection.execute("SELECT 1 FROM entry").fetchone() is not None
        return connection

    def _agreeing(self, connection: sqlite3.Connection) -> sqlite3.Connection:
        """Make an open file and its ledger hold the same."""
        try:
            if agreed_end(connection, self.path) is None:
                connection.execute("BEGIN IMMEDIATE")
                said = agree(connection, self.path).said
                connection.execute("COMMIT")
                self.remarks += said
        except BaseException:
            connection.close()
            raise
        return connection

    def _is_still_damaged(self, error: Exception) -> bool:
        """Whether a fault that was found stands when nobody else writes any more."""
        if not self._is_present():
            return False  # another program has put it right
        return not isinstance(error, SuspectError) or _is_suspect(self.path)


def _is_suspect(path: Path) -> bool:
    """Whether a file must not be opened as it is: SQLite would drop what its log holds."""
    if _size(path) == 0 and (read_log(path) or backup_paths(path)[0].exists() or has_rows(path)):
        return True
    return is_log_broken(path)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def _file_number(path: Path) -> int:
    try:
        return path.stat().st_ino
    except OSError:
        return -1
