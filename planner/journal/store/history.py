"""What records were before they were corrected or removed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, Generic, TypeVar

from planner.journal.records import JournalEntry, JournalSession
from planner.journal.store.errors import UnreadableRowError
from planner.journal.store.rows import Row, entry_of
from targets.frozen import frozen

Record = TypeVar("Record", JournalEntry, JournalSession)

# What a column that a later version added holds in records from before.
LATER_COLUMNS = {"sketch": ""}


@frozen
class Former(Generic[Record]):
    """A record as it was until ``changed_at`` (UTC)."""

    changed_at: datetime
    record: Record


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


def former_records(
    db: sqlite3.Connection,
    record_id: str,
    columns: Sequence[str],
    make: Callable[[Sequence[Any]], Record],
) -> tuple[Former[Record], ...]:
    """Return what a record was before each correction, the oldest first."""
    rows = db.execute(
        "SELECT changed_at, record FROM former WHERE record_id = ? ORDER BY revision", (record_id,)
    )
    return tuple(
        Former(datetime.fromisoformat(changed_at), make([values[name] for name in columns]))
        for changed_at, values in (
            (changed_at, LATER_COLUMNS | json.loads(record)) for changed_at, record in rows
        )
    )


def removed_of(row: Row) -> Former[JournalEntry]:
    """Make the entry of a row at whose end stands when it was removed.

    Raises UnreadableRowError if the row holds what no journal writes.
    """
    try:
        removed_at = datetime.fromisoformat(row[-1])
    except ValueError as error:
        raise UnreadableRowError(str(error)) from None
    return Former(removed_at, entry_of(row[:-1]))
