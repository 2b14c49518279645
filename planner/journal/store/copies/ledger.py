"""The ledger beside the journal: every row that was written, as a line of text.

A line is on the disk before the change is acknowledged. So the ledger holds all that the database
should hold, whatever becomes of that, and its last line tells whether the database holds it.

Each line is an object of JSON, a tab, and the checksum (CRC-32) of what stands before. A row is
followed by the others of its transaction and by a line ``{"after": [...]}``: how many rows each
table has had then. Rows without such a line behind them were never finished.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from zlib import crc32

from planner.journal.store.copies.backup import draft_beside, free_name
from planner.journal.store.lock import make_private
from targets.frozen import frozen

TABLES = ("session", "entry", "former")
TAIL_BYTES = 100_000  # in which the last transaction ends, unless a row is longer
_AFTER = b'{"after": '
_SUM_BYTES = len("\t01234567")
_AS_JSON = json.JSONEncoder(check_circular=False)


@frozen
class LedgerRow:
    """A row as it was written: its table, its number there and its values by column."""

    table: str
    number: int
    values: dict[str, Any]


@frozen
class Ledger:
    """What a ledger holds: its finished transactions, and whether every line is as it was made."""

    transactions: tuple[tuple[LedgerRow, ...], ...]
    is_whole: bool


@frozen
class Tail:
    """The end of the last finished transaction: the row before it, its line, its place."""

    row: LedgerRow | None
    marks: bytes
    end: int


def ledger_path(path: Path) -> Path:
    """Return where the ledger of a journal is."""
    return path.with_name(f"{path.stem}.ledger.jsonl")


def has_rows(path: Path) -> bool:
    """Whether there is a ledger of a journal, with something in it."""
    return len(_read(ledger_path(path), 0)) > len(_line({"after": [0, 0, 0]}))


def read_ledger(path: Path) -> Ledger:
    """Return what can be read of the ledger of a journal."""
    *lines, _ = _read(ledger_path(path), 0).split(b"\n")  # what has no end of line was cut off
    checked = [_checked(line) for line in lines]
    transactions: list[tuple[LedgerRow, ...]] = []
    rows: list[LedgerRow] = []
    is_whole = bool(checked) and checked[0] == _AFTER + b"[0, 0, 0]}"
    for text in checked:
        if text is not None and text.startswith(_AFTER):
            transactions.append(tuple(rows))
            rows = []
            continue
        row = None if text is None else _row(text)
        if row is None:
            is_whole = False
        else:
            rows.append(row)
    return Ledger(tuple(transactions), is_whole)


def agreed_end(db: sqlite3.Connection, path: Path, *, looks_at_all: bool = False) -> int | None:
    """Return where the ledger ends if the database holds what it tells, and no more; else None.

    Parameters
    ----------
    path : Path
        Of the journal.
    looks_at_all : bool
        Whether every line is to be as it was made; else only the last ones are looked at.
    """
    tail = _tail(ledger_path(path), looks_at_all=looks_at_all)
    if tail is None or tail.marks != _text({"after": _marks(db)}) or not _holds(db, tail.row):
        return None
    return tail.end


def note_changes(db: sqlite3.Connection) -> None:
    """Have a connection note which rows it writes, for `append`; outside of a transaction."""
    if db.execute("SELECT 1 FROM temp.sqlite_schema LIMIT 1").fetchone():
        return
    db.execute("PRAGMA temp_store = MEMORY")
    db.execute("CREATE TEMP TABLE changed (name TEXT, number INTEGER)")
    for table in TABLES:
        for change in ("INSERT", "UPDATE"):
            note = f"INSERT INTO changed VALUES ('{table}', NEW.rowid)"  # noqa: S608  # one of ours
            when = f"AFTER {change} ON main.{table}"
            db.execute(f"CREATE TEMP TRIGGER {table}_{change} {when} BEGIN {note}; END")


def append(db: sqlite3.Connection, path: Path, end: int) -> None:
    """Put what a connection has written behind the end of the ledger, on the disk for good.

    Parameters
    ----------
    db : sqlite3.Connection
        In the transaction, before it is finished.
    path : Path
        Of the journal.
    end : int
        Of `agreed_end`: what stands behind it was never finished.

    Raises
    ------
    OSError
        If it cannot be written; the ledger ends where it did.
    """
    if not db.execute("SELECT 1 FROM temp.changed LIMIT 1").fetchone():
        return
    try:
        with ledger_path(path).open("rb+") as file:
            file.truncate(end)
            file.seek(end)
            file.writelines(_lines(db, "rowid IN (SELECT number FROM temp.changed WHERE name = ?)"))
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        cut_back(path, end)
        raise
    db.execute("DELETE FROM temp.changed")


def cut_back(path: Path, end: int) -> None:
    """Take away what stands behind the end: a transaction that was not finished."""
    with suppress(OSError):
        os.truncate(ledger_path(path), end)


def write_anew(db: sqlite3.Connection, path: Path) -> int:
    """Write the ledger of all that a database holds, and return where it ends.

    Raises OSError if it cannot be written; the ledger that was there is there still.
    """
    place = ledger_path(path)
    with draft_beside(path) as draft:
        with draft.open("rb+") as file:
            file.write(_line({"after": [0, 0, 0]}))
            file.writelines(_lines(db, "?1 = ?1"))
            file.flush()
            os.fsync(file.fileno())
            end = file.tell()
        if os.path.lexists(place) and (place.is_symlink() or not place.is_file()):
            place.rename(free_name(place))  # nothing of ours
        draft.replace(place)
    _sync_folder(place.parent)
    return end


def set_aside(path: Path) -> Path:
    """Give a ledger that is not to be used a name of its own, which is returned."""
    place = ledger_path(path)
    aside = free_name(path.with_name(f"{path.stem}.damaged.ledger.jsonl"))
    make_private(aside)
    aside.write_bytes(_read(place, 0))
    return aside


def _lines(db: sqlite3.Connection, condition: str) -> Iterator[bytes]:
    for table in TABLES:
        query = f"SELECT rowid AS number, * FROM {table} WHERE {condition} ORDER BY rowid"  # noqa: S608
        cursor = db.execute(query, (table,))
        names = [column[0] for column in cursor.description][1:]
        for number, *row in cursor:
            pairs = zip(names, row, strict=True)
            values = {name: value for name, value in pairs if value is not None}
            yield _line({"table": table, "number": number, "row": values})
    yield _line({"after": _marks(db)})


def _text(content: dict[str, Any]) -> bytes:
    return _AS_JSON.encode(content).encode()


def _line(content: dict[str, Any]) -> bytes:
    text = _text(content)
    return b"%s\t%08x\n" % (text, crc32(text))


def _checked(line: bytes) -> bytes | None:
    """Return the text of a line, None where it is not as it was made."""
    text = line[:-_SUM_BYTES]
    return text if line[-_SUM_BYTES:] == b"\t%08x" % crc32(text) else None


def _row(text: bytes) -> LedgerRow | None:
    """Return the row of a line, None if none was ever written so, whatever its checksum says."""
    try:
        content = json.loads(text)
        row = LedgerRow(content["table"], content["number"], content["row"])
        kinds = (type(row.number), type(row.values["revision"]), type(row.values[_id_of(row)]))
    except (ValueError, LookupError, TypeError, RecursionError):
        return None
    return row if row.table in TABLES and kinds == (int, int, str) else None


def _id_of(row: LedgerRow) -> str:
    return "record_id" if row.table == "former" else "id"


def _marks(db: sqlite3.Connection) -> list[int]:
    return [
        db.execute(f"SELECT coalesce(max(rowid), 0) FROM {table}").fetchone()[0]  # noqa: S608
        for table in TABLES
    ]


def _holds(db: sqlite3.Connection, row: LedgerRow | None) -> bool:
    """Whether a database holds a row, or the same with later changes."""
    if row is None:
        return True
    name = _id_of(row)
    query = f"SELECT max(revision) FROM {row.table} WHERE {name} = ?"  # noqa: S608  # one of ours
    (revision,) = db.execute(query, (row.values[name],)).fetchone()
    return revision is not None and revision >= row.values["revision"]


def _tail(place: Path, *, looks_at_all: bool) -> Tail | None:
    """Return the end of the last finished transaction; None where it cannot be told."""
    content = _read(place, 0 if looks_at_all else TAIL_BYTES)
    *lines, rest = content.split(b"\n")
    if looks_at_all and not (lines and all(map(_checked, lines))):
        return None
    end = _size(place) - len(rest)
    for number, line in reversed(list(enumerate(lines))):
        text = _checked(line)
        if text is not None and text.startswith(_AFTER):
            before = _checked(lines[number - 1]) if number else None
            row = None if before is None or before.startswith(_AFTER) else _row(before)
            return Tail(row, text, end)
        end -= len(line) + 1
    return None if looks_at_all else _tail(place, looks_at_all=True)


def _size(place: Path) -> int:
    try:
        return place.stat().st_size
    except OSError:
        return 0


def _read(place: Path, most: int) -> bytes:
    """Return the last bytes of a file, 0 for all; nothing where there is none to be read."""
    if place.is_symlink() or not place.is_file():  # reading a pipe would never end
        return b""
    with place.open("rb") as file:
        if most:
            file.seek(max(os.fstat(file.fileno()).st_size - most, 0))
        return file.read()


def _sync_folder(folder: Path) -> None:
    """Make a new name last through a power cut, where the system can do that."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
