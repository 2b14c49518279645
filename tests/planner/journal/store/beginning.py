"""Adds a look to each of some evenings, which it begins where needed: ``beginning.py FILE``."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
    new_id,
)
from planner.journal.store.journal import open_journal

EVENINGS = 100
START = datetime(2026, 1, 1, 20, tzinfo=UTC)

target = LoggedTarget("M45", "M45 Pleiades", "open cluster")
with open_journal(Path(sys.argv[1])) as journal:
    for number in range(EVENINGS):
        at = START + timedelta(days=number)
        session = JournalSession(new_id(), at.date(), "Garden", "UTC", at, seeing="II")
        entry = JournalEntry(new_id(), "", at, target, LoggedTrain(), Outcome.SEEN, seeing="II")
        journal.add_to_evening(entry, session)
