"""The journal's file under the store: transactions, and repair where damage shows up."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from planner.journal.store.connection import connect
from planner.journal.store.errors import FAULTS_OF_THE_FILE, is_damage, journal_fault
from planner.journal.store.recovery import finish_rescue, rescue

Result = TypeVar("Result")


class JournalFile:
    """An open file; ``remarks`` holds a sentence for each time that it was put right."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.remarks: tuple[str, ...] = ()
        self._connection: sqlite3.Connection | None = None
        self._file = 0
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
        """Let go of the file; closing twice does nothing."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def _writing(self, work: Callable[[sqlite3.Connection], Result]) -> Result:
        """Do work in a transaction of its own."""

        def transaction(db: sqlite3.Connection) -> Result:
            db.execute("BEGIN IMMEDIATE")
            try:
                result = work(db)
                db.execute("COMMIT")
            except BaseException:
                if db.in_transaction:
                    db.execute("ROLLBACK")
                raise
            return result

        return self._repairing(transaction)

    def _repairing(self, work: Callable[[sqlite3.Connection], Result]) -> Result:
        """Do work; where the file turns out to be damaged, put it right and do the work again."""
        try:
            return work(self._current())
        except (*FAULTS_OF_THE_FILE, OSError) as error:
            if not is_damage(error):
                raise journal_fault(error, self.path) from None
        self.close()
        try:
            self.remarks += (rescue(self.path, file_number=self._file),)
            return work(self._current())
        except (*FAULTS_OF_THE_FILE, OSError) as error:
            raise journal_fault(error, self.path) from None

    def _current(self) -> sqlite3.Connection:
        """The connection; a new one where another program has put the file right meanwhile."""
        if self._connection is None or self._file != _file_number(self.path):
            self.close()
            finish_rescue(self.path)
            self._file = _file_number(self.path)
            self._connection = connect(self.path)
            self._file = _file_number(self.path)
        return self._connection


def _file_number(path: Path) -> int:
    try:
        return path.stat().st_ino
    except OSError:
        return -1
