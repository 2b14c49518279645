"""Reads all rows that a damaged journal, its log and its copies still hold.

From its ledger; and by SQLite from images in memory of the file as SQLite sees it, with what stands
in the log behind a damaged place, and without the log; where its first page is broken, that of a
sound journal is laid over it.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from planner.journal.store.copies.backup import backup_paths
from planner.journal.store.copies.ledger import LedgerRow, read_ledger
from planner.journal.store.errors import UnreadableRowError
from planner.journal.store.rows import ENTRY_COLUMNS, SESSION_COLUMNS, entry_of, session_of
from planner.journal.store.schema import make_tables
from planner.journal.store.write_ahead import (
    frames_of,
    image,
    page_bytes,
    read_log,
    without_log,
)

LOST_ID = "0" * 32  # of the session of entries that do not tell theirs any more
ID = re.compile(r"[0-9a-f]{32}")
LEAST_ROW_BYTES = 80  # no row of a journal is shorter
HEADER_BYTES = 100
# SQLite's own complaint may quote bytes that are no text.
UNREADABLE = (sqlite3.Error, UnicodeDecodeError)
UNUSABLE = (KeyError, TypeError, UnreadableRowError)

Values = dict[str, Any]

TABLES = {
    "session": (*SESSION_COLUMNS, "revision"),
    "entry": (*ENTRY_COLUMNS, "revision", "removed_at"),
    "former": ("record_id", "revision", "changed_at", "record"),
}
LATER: Values = {"sketch": "", "removed_at": None}  # what an entry of an older version lacks


@dataclass(slots=True)
class Salvaged:
    """What could be read, each row by its id as values by column.

    ``is_whole`` tells whether all that was ever acknowledged is sure to be there.
    """

    session: dict[str, Values] = field(default_factory=dict)
    entry: dict[str, Values] = field(default_factory=dict)
    former: dict[str, Values] = field(default_factory=dict)
    # The id of the record in each place of a table: a damaged id must not make two of one record.
    places: dict[tuple[str, int, str], str] = field(default_factory=dict)
    is_whole: bool = False

    def take(self, table: str, number: int, row: Values) -> None:
        """Keep a row, by its place in the table, if it is newer than what there is under its id.

        Raises KeyError, TypeError or UnreadableRowError if no journal writes such a row.
        """
        if table == "former":
            self.former.setdefault(f"{row['record_id']} {row['revision']}", row)
            return
        rows: dict[str, Values] = getattr(self, table)
        known = rows.get(row["id"])
        if ID.fullmatch(row["id"]) and (known is None or row["revision"] > known["revision"]):
            values = _entry_values(row) if table == "entry" else _session_values(row)
            place = (table, number, row["at" if table == "entry" else "start"])
            if self.places.setdefault(place, row["id"]) == row["id"]:
                rows[row["id"]] = values


def _session_values(row: Values) -> Values:
    session_of([row[name] for name in SESSION_COLUMNS])
    return row


def _entry_values(row: Values) -> Values:
    """Return the values of an entry by column; what it cannot be without is not mended."""
    entry_of([row[name] for name in ENTRY_COLUMNS])
    if not ID.fullmatch(row["session_id"]):
        row["session_id"] = LOST_ID
    if not _is_instant(row["removed_at"]):
        row["removed_at"] = None  # rather shown once more than hidden by damage
    return row


def _is_instant(value: Any) -> bool:
    try:
        datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return False
    return True


def salvage(path: Path) -> Salvaged:
    """Return all rows that a damaged journal, its log and its copies hold.

    Parameters
    ----------
    path : Path
        Of the journal, which may be missing.
    """
    ledger = read_ledger(path)
    # First what tells itself that it is sound: of equal rows that one is kept.
    found = salvage_ledger(ledger.transactions)
    found.is_whole = ledger.is_whole
    copies = [copy.read_bytes() for copy in backup_paths(path) if copy.exists()]
    sound = next((copy for copy in copies if copy and _is_sound(copy)), None)
    if sound is not None:
        _read(sound, found)
    heads = [*([sound] if sound is not None else []), _empty_journal()]
    for view in (*_views(path), *(() if sound is not None else copies)):
        if not _read(view, found):
            for head in heads:
                for size in (HEADER_BYTES, page_bytes(head)):
                    _read(head[:size] + view[size:], found)
    return found


def salvage_ledger(transactions: Iterable[Iterable[LedgerRow]]) -> Salvaged:
    """Return the newest rows of some transactions of a ledger."""
    found = Salvaged()
    for rows in transactions:
        for row in rows:
            with suppress(*UNUSABLE):
                values = dict.fromkeys(TABLES[row.table]) | row.values
                found.take(row.table, row.number, _of_table(row.table, values))
    return found


def _views(path: Path) -> Iterable[bytes]:
    """Return the file as SQLite sees it, with all of its log that is sound, with all, without."""
    content = path.read_bytes() if path.exists() else b""
    frames = frames_of(read_log(path))
    stop = next((n for n, frame in enumerate(frames) if not frame.is_sound), len(frames))
    sound = [frame for frame in frames if frame.is_sound]
    return dict.fromkeys(image(content, some) for some in (frames[:stop], sound, frames, ()))


def _is_sound(content: bytes) -> bool:
    with suppress(*UNREADABLE), closing(_opened_copy(content)) as db:
        return bool(db.execute("PRAGMA integrity_check(1)").fetchone() == ("ok",))
    return False


def _empty_journal() -> bytes:
    with closing(sqlite3.connect(":memory:")) as db:
        make_tables(db, since=0)
        db.commit()
        return db.serialize()


def _opened_copy(content: bytes) -> sqlite3.Connection:
    db = sqlite3.connect(":memory:")
    db.deserialize(without_log(content))
    db.text_factory = lambda raw: raw.decode("utf-8", "replace")
    return db


def _read(content: bytes, found: Salvaged) -> bool:
    """Take all rows of a file that can be read; tell whether that was all of them."""
    if not content:
        return True
    is_whole = True
    with closing(_opened_copy(content)) as db:
        for table in TABLES:
            for row in _rows(db, table, len(content) // LEAST_ROW_BYTES):
                try:
                    if row is not None:
                        found.take(table, row["number"], _of_table(table, row))
                        continue
                except UNUSABLE:
                    pass
                is_whole = False
    return is_whole


def _of_table(table: str, row: Values) -> Values:
    known = LATER | row
    return {name: known[name] for name in TABLES[table]}


def _rows(db: sqlite3.Connection, table: str, most: int) -> Iterator[Values | None]:
    """Return the rows of a table one after the other, and None for each place that is damaged."""
    query = f"SELECT rowid AS number, * FROM {table} NOT INDEXED WHERE rowid"  # noqa: S608
    if not _has_table(db, table):
        yield None
        return
    number = 0
    while True:
        try:
            for row in _named(db.execute(f"{query} > ? ORDER BY rowid", (number,))):
                number = max(number, row["number"])
                yield row
        except UNREADABLE:
            yield None
        else:
            return
        # One by one behind the damaged place, until there is one that can be read.
        following = (_row_at(db, query, n) for n in range(number + 1, most))
        near = next((row for row in following if row is not None), None)
        if near is None:
            return
        number = near["number"]
        yield near


def _has_table(db: sqlite3.Connection, table: str) -> bool:
    """Whether the file's tables can be read at all; else each row would be sought in vain."""
    with suppress(*UNREADABLE):
        db.execute(f"SELECT 1 FROM {table} LIMIT 0")  # noqa: S608  # one of ours
        return True
    return False


def _row_at(db: sqlite3.Connection, query: str, number: int) -> Values | None:
    with suppress(*UNREADABLE):
        return next(_named(db.execute(f"{query} = ?", (number,))), None)
    return None


def _named(cursor: sqlite3.Cursor) -> Iterator[Values]:
    names = [column[0] for column in cursor.description]
    return (dict(zip(names, row, strict=True)) for row in cursor)
