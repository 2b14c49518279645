"""Puts a damaged journal aside and makes a new one of all that can still be read."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import struct
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from planner.journal.records import JournalSession
from planner.journal.store.connection import BUSY_S, connect
from planner.journal.store.errors import UnreadableRowError
from planner.journal.store.rows import (
    ENTRY_COLUMNS,
    SESSION_COLUMNS,
    entry_of,
    insert_words,
    session_of,
    session_row,
)

# What SQLite keeps beside a file.
LOG, INDEX = "-wal", "-shm"
LOST_SESSION = "The record of this session itself was damaged."


def rescue(path: Path, *, file_number: int) -> str:
    """Make a new journal of what can be read in a damaged one, which is kept.

    Parameters
    ----------
    path : Path
        Of the damaged file; afterwards, of the new one.
    file_number : int
        Of the damaged file; where another has taken its place meanwhile, nothing is done.

    Returns
    -------
    str
        A sentence that says what was done.

    Raises
    ------
    OSError, sqlite3.Error
        If it cannot be done; the damaged file is still in its place then.
    """
    with _alone(path):
        if path.stat().st_ino != file_number:
            return f"The journal {path} was damaged; another program has put it right."
        aside = _copied_aside(path)
        found = salvage(aside, _with_ending(aside, LOG))
        fresh = _with_ending(path, ".rescuing")
        fresh.unlink(missing_ok=True)
        with closing(connect(fresh)) as db:
            kept = _fill(db, found)
            db.execute("PRAGMA journal_mode = DELETE")  # a file without a log beside it
        fresh.replace(_with_ending(path, ".rescued"))
        _take_over(path)
    return (
        f"The journal {path} was damaged. {kept} could be read, and stand in a new file; the "
        f'damaged one is kept as "{aside.name}" beside it.'
    )


def finish_rescue(path: Path) -> None:
    """Let a rescued journal take its place, where a rescue was cut short just before that."""
    if _with_ending(path, ".rescued").exists():
        with _alone(path):
            _take_over(path)


def _take_over(path: Path) -> None:
    rescued = _with_ending(path, ".rescued")
    if not rescued.exists():
        return
    # The log of the damaged file must not be taken for one of the new file.
    for ending in (LOG, INDEX):
        _with_ending(path, ending).unlink(missing_ok=True)
    rescued.replace(path)


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Keep other programs from doing the same at once; the lock goes when the program does."""
    lock = _with_ending(path, ".lock")
    with closing(sqlite3.connect(lock, timeout=BUSY_S, isolation_level=None)) as db:
        db.execute("BEGIN EXCLUSIVE")
        yield
        db.execute("ROLLBACK")


def _copied_aside(path: Path) -> Path:
    """Copy the file and its log under a name that nothing has, on the disk for good."""
    number = 1
    while (aside := path.with_name(f"{path.stem}.damaged-{number}.sqlite")).exists():
        number += 1
    for ending in (LOG, ""):
        with suppress(FileNotFoundError):
            copy = _with_ending(aside, ending)
            shutil.copyfile(_with_ending(path, ending), copy)
            with copy.open("rb+") as file:
                os.fsync(file.fileno())
    return aside


def _fill(db: sqlite3.Connection, found: Salvaged) -> str:
    """Put what was found into a new file; give a clause that counts it."""
    db.execute("BEGIN IMMEDIATE")
    sessions = _insert(db, "session", found.sessions.values())
    for row in found.entries.values():
        if row["session_id"] not in found.sessions:
            found.sessions[row["session_id"]] = row
            stand_in = session_row(_stand_in(row))
            with suppress(sqlite3.IntegrityError):
                db.execute(insert_words("session", SESSION_COLUMNS), stand_in)
    entries = _insert(db, "entry", found.entries.values())
    _insert(db, "former", found.former.values())
    db.execute("COMMIT")
    return (
        f"{_counted(entries, 'entry', 'entries')} and {_counted(sessions, 'session', 'sessions')}"
    )


def _insert(db: sqlite3.Connection, table: str, rows: Iterable[Values]) -> int:
    count = 0
    for row in rows:
        with suppress(sqlite3.IntegrityError):
            db.execute(insert_words(table, tuple(row)), tuple(row.values()))
            count += 1
    return count


def _stand_in(entry: Values) -> JournalSession:
    at = datetime.fromisoformat(entry["at"])
    return JournalSession(
        id=entry["session_id"],
        evening=at.date(),
        site="unknown",
        timezone="UTC",
        start=at,
        comments=LOST_SESSION,
    )


def _counted(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def _with_ending(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


USUAL_PAGE_BYTES = 4096
LEAF = 0x0D  # first byte of a page that holds rows of a table
LONGEST_ROW_BYTES = 4_000_000
LOST_ID = "0" * 32  # of the session of entries that do not tell theirs any more
ID = re.compile(r"[0-9a-f]{32}")

Values = dict[str, Any]

# Columns in the order in which the file has them; see `planner.journal.store.connection`.
STORED_SESSION = (*SESSION_COLUMNS, "revision")
LATER_ENTRY: Values = {"sketch": "", "removed_at": None}  # rows from before are shorter
STORED_ENTRY = (
    *(name for name in ENTRY_COLUMNS if name not in LATER_ENTRY), "revision", *LATER_ENTRY,
)  # fmt: skip
STORED_FORMER = ("record_id", "revision", "changed_at", "record")


@dataclass(slots=True)
class Salvaged:
    """What could be read, each row by its id as values by column."""

    sessions: dict[str, Values] = field(default_factory=dict)
    entries: dict[str, Values] = field(default_factory=dict)
    former: dict[str, Values] = field(default_factory=dict)

    def take(self, values: list[Any]) -> None:
        """Keep a row if it is one of the journal's."""
        if not (values and isinstance(values[0], str) and ID.fullmatch(values[0])):
            return
        if 0 <= len(STORED_ENTRY) - len(values) <= len(LATER_ENTRY):
            _keep_newest(self.entries, values[0], _entry_values(values))
        elif len(values) == len(STORED_SESSION):
            row = dict(zip(STORED_SESSION, values, strict=True))
            session_of([row[name] for name in SESSION_COLUMNS])
            _keep_newest(self.sessions, values[0], row)
        elif len(values) == len(STORED_FORMER):
            row = dict(zip(STORED_FORMER, values, strict=True))
            self.former[f"{values[0]} {values[1]}"] = row


def _entry_values(values: list[Any]) -> Values:
    """Return the values of an entry by column; what it cannot be without is not mended."""
    row = LATER_ENTRY | dict(zip(STORED_ENTRY, values, strict=False))
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


def _keep_newest(rows: dict[str, Values], record_id: str, row: Values) -> None:
    if record_id not in rows or row["revision"] > rows[record_id]["revision"]:
        rows[record_id] = row


def salvage(path: Path, log: Path) -> Salvaged:
    """Read all rows that a damaged file and its write-ahead log hold.

    Parameters
    ----------
    path, log : Path
        The file and its log, which may be missing.
    """
    content = path.read_bytes()
    size = _page_bytes(content)
    pages = {
        number: content[start : start + size]
        for number, start in enumerate(range(0, len(content), size), start=1)
    }
    found = Salvaged()
    for image in (pages, pages | _logged_pages(log, size)):
        for row in _rows(image, size):
            try:
                found.take(row)
            except (UnreadableRowError, TypeError):
                continue
    return found


def _page_bytes(content: bytes) -> int:
    size = int.from_bytes(content[16:18], "big")
    size = 65536 if size == 1 else size
    return size if size >= 512 and size & (size - 1) == 0 else USUAL_PAGE_BYTES


def _logged_pages(log: Path, size: int) -> dict[int, bytes]:
    """Return the newest pages of all transactions in a log that were finished."""
    content = log.read_bytes() if log.exists() else b""
    salts = content[16:24]
    finished: dict[int, bytes] = {}
    waiting: dict[int, bytes] = {}
    for start in range(32, len(content) - size - 23, size + 24):
        number, pages_after = struct.unpack_from(">II", content, start)
        if content[start + 8 : start + 16] != salts:
            break
        waiting[number] = content[start + 24 : start + 24 + size]
        if pages_after:
            finished |= waiting
            waiting = {}
    return finished


def _rows(pages: Mapping[int, bytes], size: int) -> Iterator[list[Any]]:
    for number, page in pages.items():
        head = 100 if number == 1 else 0
        if len(page) < head + 8 or page[head] != LEAF:
            continue
        count = int.from_bytes(page[head + 3 : head + 5], "big")
        for place in range(head + 8, min(head + 8 + 2 * count, len(page) - 1), 2):
            start = int.from_bytes(page[place : place + 2], "big")
            try:
                yield _record(_payload(pages, page, start, size))
            except (IndexError, KeyError, ValueError, struct.error):
                continue


def _payload(pages: Mapping[int, bytes], page: bytes, start: int, size: int) -> bytes:
    """Put the bytes of a row together, those on overflow pages too."""
    length, start = _varint(page, start)
    _, start = _varint(page, start)  # the row's number
    if length > LONGEST_ROW_BYTES:
        raise ValueError("no row is so long")
    local = _local_bytes(length, size)
    content = page[start : start + local]
    following = int.from_bytes(page[start + local : start + local + 4], "big")
    while len(content) < length:
        overflow = pages[following]
        if len(overflow) < size:
            raise ValueError("the page is cut off")
        following = int.from_bytes(overflow[:4], "big")
        content += overflow[4:size]
    return content[:length]


def _local_bytes(length: int, size: int) -> int:
    """Count the bytes of a row that stand on its own page; file format, section 1.6."""
    most = size - 35
    if length <= most:
        return length
    least = (size - 12) * 32 // 255 - 23
    local = least + (length - least) % (size - 4)
    return local if local <= most else least


def _record(payload: bytes) -> list[Any]:
    """Read the values of a row; file format, section 2.1."""
    head_end, place = _varint(payload, 0)
    types = []
    while place < head_end:
        kind, place = _varint(payload, place)
        types.append(kind)
    values = []
    start = head_end
    for kind in types:
        value, start = _value(payload, kind, start)
        values.append(value)
    return values


_INTEGER_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}


def _value(payload: bytes, kind: int, start: int) -> tuple[Any, int]:
    if kind in _INTEGER_BYTES:
        end = start + _INTEGER_BYTES[kind]
        return int.from_bytes(payload[start:end], "big", signed=True), end
    if kind == 7:
        return struct.unpack_from(">d", payload, start)[0], start + 8
    if kind in {0, 8, 9}:
        return {0: None, 8: 0, 9: 1}[kind], start
    end = start + (kind - 12) // 2
    if kind < 12 or kind % 2 == 0 or end > len(payload):
        raise ValueError("no journal writes such a value")
    return payload[start:end].decode("utf-8", "replace"), end


def _varint(content: bytes, start: int) -> tuple[int, int]:
    """Read a whole number of one to nine bytes, and give where it ends."""
    value = 0
    for place in range(start, start + 8):
        value = value << 7 | content[place] & 0x7F
        if content[place] < 0x80:
            return value, place + 1
    return value << 8 | content[start + 8], start + 9
