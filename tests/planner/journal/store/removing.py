"""Removes every entry as a program of its own: ``removing.py FILE``.

Prints the ids of those that it removed; those that another has removed meanwhile are passed over.
"""

from __future__ import annotations

import sys
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from planner.journal.store.errors import JournalError
from planner.journal.store.journal import open_journal

NOW = datetime(2026, 11, 26, tzinfo=UTC)

path, *ids = sys.argv[1:]
with open_journal(Path(path)) as journal:
    for entry_id in ids:
        with suppress(JournalError):
            sys.stdout.write(f"{journal.remove_entry(entry_id, removed_at=NOW).id}\n")
