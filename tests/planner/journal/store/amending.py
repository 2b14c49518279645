"""Corrects one entry again and again as a program of its own: ``amending.py FILE ENTRY WORD``."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

from planner.journal.store.journal import open_journal

TIMES = 150

path, entry_id, word = sys.argv[1:]
with open_journal(Path(path)) as journal:
    for number in range(TIMES):
        changed_at = datetime(2026, 11, 26, tzinfo=UTC)
        journal.amend(entry_id, changed_at=changed_at, note=f"{word} {number}")
