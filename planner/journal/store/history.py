"""What records were before they were corrected or removed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from planner.journal.records import JournalEntry
from planner.journal.store.errors import UnreadableRowError
from planner.journal.store.rows import ENTRY_COLUMNS, Row, entry_of
from targets.frozen import frozen

# What a column that a later version added holds in records from before.
LATER_COLUMNS = {"sketch": ""}


@frozen
class Former:
    """An entry as it was until ``changed_at`` (UTC)."""

    changed_at: datetime
    record: JournalEntry


def keep_former(
    db: sqlite3.Connection, table: str, values: Mapping[str, Any], changed_at: str
) -> None:
    """Keep the values of a row that is about to be changed."""
    query = f"SELECT revision FROM {table} WHERE id = ?"  # noqa: S608  # entry or session
    (revision,) = db.execute(query, (values["id"],)).fetchone()
    db.execute(
        "INSERT INTO former (record_id, revision, changed_at, record) VALUES (?, ?, ?, ?)",
        (values["id"], revision, changed_at, json.dumps(values)),
    )


def former_of(changed_at: str, record: str) -> Former:
    """Make what an entry was of a row of ``former``."""
    values = LATER_COLUMNS | json.loads(record)
    row = [values[name] for name in ENTRY_COLUMNS]
    return Former(datetime.fromisoformat(changed_at), entry_of(row))


def removed_of(row: Row) -> Former:
    """Make the entry of a row at whose end stands when it was removed.

    Raises UnreadableRowError if the row holds what no journal writes.
    """
    try:
        removed_at = datetime.fromisoformat(row[-1])
    except ValueError as error:
        raise UnreadableRowError(str(error)) from None
    return Former(removed_at, entry_of(row[:-1]))
