"""Writes the journal as a table for spreadsheets (RFC 4180), and reads one.

A row is an entry with its session beside it; a session without entries has a row of its own. Text
that a spreadsheet would run begins with an apostrophe; reading takes it away again.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from planner.journal.exchange.fields import (
    ENTRY_FIELDS,
    SESSION_FIELDS,
    TARGET_FIELDS,
    TRAIN_FIELDS,
    RecordField,
)
from planner.journal.exchange.json_format import entry_line, session_line, session_of
from planner.journal.exchange.lines import MOST_LINES, ExchangeError, Line
from planner.journal.records import JournalEntry, JournalSession
from planner.text import guarded, hint, show, unguarded
from targets.files import watched_items

ID = RecordField("id", absent="")
ENTRY_COLUMNS = (
    ("id", ID),
    *((field.name, field) for field in ENTRY_FIELDS[:1]),
    *((f"target_{field.name}", field) for field in TARGET_FIELDS),
    *((field.name, field) for field in TRAIN_FIELDS),
    *((field.name, field) for field in ENTRY_FIELDS[1:]),
)
SESSION_COLUMNS = (
    ("session_id", ID),
    *((f"session_{field.name}", field) for field in SESSION_FIELDS),
)
FIELD_OF = dict((*ENTRY_COLUMNS, *SESSION_COLUMNS))
NEEDED = ("at", "target_name")
LARGEST_CELL = 1_000_000
_LINES = re.compile("[^\\r\\n]*(?:\\r\\n?|\\n)|[^\\r\\n]+")


def csv_pieces(
    sessions: Sequence[JournalSession], entries: Iterable[JournalEntry]
) -> Iterator[str]:
    """Write entries and their sessions as a table, row by row; times are UT."""
    file = io.StringIO(newline="")
    writer = csv.writer(file, quoting=csv.QUOTE_ALL, lineterminator="\r\n")

    def row(cells: Iterable[str]) -> str:
        file.seek(0)
        file.truncate()
        writer.writerow(cells)
        return file.getvalue()

    yield row(FIELD_OF)
    of_id = {session.id: _session_cells(session) for session in sessions}
    idle = dict.fromkeys(of_id)
    for entry in entries:
        idle.pop(entry.session_id, None)
        yield row(_entry_cells(entry) + of_id[entry.session_id])
    for session_id in idle:
        yield row([""] * len(ENTRY_COLUMNS) + of_id[session_id])


def _entry_cells(entry: JournalEntry) -> list[str]:
    at, *rest = ENTRY_FIELDS
    return [
        entry.id,
        _cell(at, entry),
        *(_cell(field, entry.target) for field in TARGET_FIELDS),
        *(_cell(field, entry.train) for field in TRAIN_FIELDS),
        *(_cell(field, entry) for field in rest),
    ]


def _session_cells(session: JournalSession) -> list[str]:
    return [session.id, *(_cell(field, session) for field in SESSION_FIELDS)]


def _cell(field: RecordField, record: object) -> str:
    value = field.exported(getattr(record, field.name))
    if value is None:
        return ""
    if isinstance(value, list):
        value = json.dumps(value, ensure_ascii=False) if value else ""
    return guarded(str(value)) if field.is_text else str(value)


def read_csv(text: str) -> list[Line]:
    """Read a journal from a table.

    Parameters
    ----------
    text : str
        The names of the columns come first, in any order; ``at`` and ``target_name`` must be
        there. See `csv_pieces`.

    Raises
    ------
    ExchangeError
        If it is no such table.
    """
    count = sum(1 for _ in _rows(text))
    if count > MOST_LINES:
        raise ExchangeError(f"The table has more than {MOST_LINES:,} rows, which no journal has.")
    rows = _rows(text)
    names = _names(next(rows, (0, []))[1])
    sessions: dict[str, JournalSession] = {}
    seen: set[str] = set()
    return [
        _line(f"line {number}", names, cells, sessions, seen)
        for _, (number, cells) in zip(watched_items(range(1, count), "Reading"), rows, strict=False)
        if any(cells) or len(cells) != len(names)  # spreadsheets leave empty rows behind
    ]


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Return the rows with cells, each with the line on which it begins."""
    before = csv.field_size_limit(LARGEST_CELL)
    try:
        reader = csv.reader((line[0] for line in _LINES.finditer(text)), strict=True)
        begin = 1
        for cells in reader:
            if cells:
                yield begin, cells
            begin = reader.line_num + 1
    except csv.Error as error:
        raise ExchangeError(
            f"The table is damaged after line {reader.line_num}: {error}."
        ) from None
    finally:
        csv.field_size_limit(before)


def _names(header: list[str]) -> list[str]:
    """Check the names of the columns."""
    names = [name.strip() for name in header]
    if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
        raise ExchangeError("The cells of the table must be parted by commas; save it so.")
    for name, times in Counter(names).items():
        if name not in FIELD_OF:
            first = ", ".join(f'"{name}"' for name in list(FIELD_OF)[:5])
            meant = hint(name, FIELD_OF, f"the first ones are {first}.")
            raise ExchangeError(f"The table has a column {show(name)}, which is unknown; {meant}")
        if times > 1:
            raise ExchangeError(f"The table has the column {show(name)} twice.")
    missing = [name for name in NEEDED if name not in names]
    if missing:
        raise ExchangeError(f'The table has no column "{missing[0]}".')
    return names


def _line(
    place: str,
    names: Sequence[str],
    cells: Sequence[str],
    sessions: dict[str, JournalSession],
    seen: set[str],
) -> Line:
    try:
        if len(cells) != len(names):
            raise ValueError(f"it has {len(cells)} cells; the header has {len(names)}")  # noqa: TRY301
        row = dict(zip(names, cells, strict=True))
        session = _session(row, sessions)
        if session is not None and not any(row.get(name) for name, _ in ENTRY_COLUMNS):
            return session_line(place, session)
        entry_id = row.get("id", "")
        if entry_id and entry_id in seen:
            raise ValueError(f"the id {show(entry_id)} stands there twice")  # noqa: TRY301
        seen.add(entry_id)
        return entry_line(place, _entry_item(row), session)
    except ValueError as error:
        return Line(place, fault=str(error))


def _session(row: Mapping[str, str], sessions: dict[str, JournalSession]) -> JournalSession | None:
    """Return the session of a row: the first of its id stands for all."""
    if not (row.get("session_start") or row.get("session_id")):
        return None
    raw_id = row.get("session_id", "")
    if raw_id in sessions:
        return sessions[raw_id]
    session = session_of(_values(row, SESSION_COLUMNS, "session_"))
    if raw_id:
        sessions[raw_id] = session
    return session


def _entry_item(row: Mapping[str, str]) -> dict[str, Any]:
    item = _values(row, ENTRY_COLUMNS, "")
    target = {field.name: item.pop(f"target_{field.name}") for field in TARGET_FIELDS}
    return item | {"target": target, "site": unguarded(row.get("session_site", ""))}


def _values(
    row: Mapping[str, str], columns: Iterable[tuple[str, RecordField]], prefix: str
) -> dict[str, Any]:
    """Read the cells of a row into what JSON would hold."""
    values = {}
    for name, field in columns:
        text = row.get(name, "")
        text = unguarded(text) if field.is_text else text
        values[name.removeprefix(prefix)] = field.in_cell(text)
    return values
