"""Adds entries to a journal as a program of its own: ``writing.py FILE SESSION COUNT``.

Prints the id of each entry when it has been acknowledged, and the fault when one is not.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

from planner.journal.records import JournalEntry, LoggedTarget, LoggedTrain, Outcome, new_id
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import open_journal

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
NOTE = "it was there, and then it was not; " * 20

path, session_id, count = sys.argv[1:]
target = LoggedTarget("M45", "M45 Pleiades", "open cluster")
try:
    with open_journal(Path(path)) as journal:
        for _ in range(int(count)):
            entry = JournalEntry(
                new_id(), session_id, AT, target, LoggedTrain(), Outcome.SEEN, note=NOTE
            )
            journal.add(entry)
            sys.stdout.write(f"{entry.id}\n")
            sys.stdout.flush()
except JournalError as error:
    sys.stdout.write(f"{error}\n")
    sys.exit(3)
