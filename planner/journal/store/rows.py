"""Turns the journal's records into rows of its file, and rows into records."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import fields
from datetime import UTC, date, datetime
from operator import attrgetter
from typing import Any

from planner.journal.records import (
    MOST_COMPANIONS,
    RATINGS,
    TRANSPARENCIES,
    YEARS,
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)
from planner.journal.store.errors import JournalError, UnreadableRowError
from planner.model.antoniadi import ANTONIADI

Row = Sequence[Any]

_ID = re.compile(r"[0-9a-f]{32}")

SESSION_COLUMNS = tuple(item.name for item in fields(JournalSession))
_TARGET = tuple(f"target_{item.name}" for item in fields(LoggedTarget))
_TRAIN = tuple(f"train_{item.name}" for item in fields(LoggedTrain))
_target_values = attrgetter(*(item.name for item in fields(LoggedTarget)))
_train_values = attrgetter(*(item.name for item in fields(LoggedTrain)))
_AFTER_TRAIN = ("outcome", "planned_train", "planned_at", "why_skipped", "rating", "seeing")
ENTRY_COLUMNS = (
    "id", "session_id", "at", *_TARGET, *_TRAIN, *_AFTER_TRAIN, "transparency", "note", "sketch",
)  # fmt: skip
_TRAIN_FROM = 3 + len(_TARGET)
_REST_FROM = _TRAIN_FROM + len(_TRAIN)


def entry_row(entry: JournalEntry) -> tuple[Any, ...]:
    """Return the values of an entry in the order of ``ENTRY_COLUMNS``.

    Raises JournalError if a value is none that a journal may hold.
    """
    _check_id(entry.id)
    _check_scales(entry.seeing, entry.transparency)
    if entry.rating is not None and entry.rating not in RATINGS:
        raise JournalError(f"A rating of {entry.rating} is not on the scale; it goes from 1 to 5.")
    values = (
        entry.id, entry.session_id, instant_text(entry.at), *_target_values(entry.target),
        *_train_values(entry.train), str(entry.outcome), entry.planned_train,
        _instant_or_none(entry.planned_at), entry.why_skipped, entry.rating, entry.seeing,
        entry.transparency, entry.note, entry.sketch,
    )  # fmt: skip
    return tuple(map(_storable, values))


def entry_of(row: Row) -> JournalEntry:
    """Make the entry of a row in the order of ``ENTRY_COLUMNS``.

    Raises UnreadableRowError if the row holds what no journal writes.
    """
    outcome, planned_train, planned_at, *rest = row[_REST_FROM:]
    try:
        return JournalEntry(
            row[0],
            row[1],
            datetime.fromisoformat(row[2]),
            LoggedTarget(*row[3:_TRAIN_FROM]),
            LoggedTrain(*row[_TRAIN_FROM:_REST_FROM]),
            Outcome(outcome),
            planned_train,
            None if planned_at is None else datetime.fromisoformat(planned_at),
            *rest,
        )
    except (TypeError, ValueError) as error:
        raise UnreadableRowError(str(error)) from None


def session_row(session: JournalSession) -> tuple[Any, ...]:
    """Return the values of a session in the order of ``SESSION_COLUMNS``.

    Raises JournalError if a value is none that a journal may hold.
    """
    _check_id(session.id)
    _check_scales(session.seeing, session.transparency)
    if session.evening.year not in YEARS:
        raise JournalError(f"The evening {session.evening} is not in the years 1800 to 2200.")
    if len(session.companions) > MOST_COMPANIONS:
        raise JournalError(f"A session has at most {MOST_COMPANIONS} companions.")
    changed = {
        "evening": session.evening.isoformat(),
        "start": instant_text(session.start),
        "end": _instant_or_none(session.end),
        "companions": json.dumps(list(session.companions)),
    }
    return tuple(
        _storable(changed[name] if name in changed else getattr(session, name))
        for name in SESSION_COLUMNS
    )


def session_of(row: Row) -> JournalSession:
    """Make the session of a row in the order of ``SESSION_COLUMNS``.

    Raises UnreadableRowError if the row holds what no journal writes.
    """
    values = dict(zip(SESSION_COLUMNS, row, strict=True))
    try:
        return JournalSession(
            **values
            | {
                "evening": date.fromisoformat(values["evening"]),
                "start": datetime.fromisoformat(values["start"]),
                "end": None if values["end"] is None else datetime.fromisoformat(values["end"]),
                "companions": tuple(map(str, json.loads(values["companions"]))),
            }
        )
    except (TypeError, ValueError) as error:
        raise UnreadableRowError(str(error)) from None


def _check_id(record_id: str) -> None:
    if not _ID.fullmatch(record_id):
        raise JournalError(f'"{record_id}" is not an id; one has 32 digits, 0 to 9 and a to f.')


def _check_scales(seeing: str | None, transparency: int | None) -> None:
    if seeing is not None and seeing not in ANTONIADI:
        raise JournalError(f'Seeing "{seeing}" is not on the scale; it goes from I to V.')
    if transparency is not None and transparency not in TRANSPARENCIES:
        raise JournalError(
            f"Transparency {transparency} is not on the scale; it goes from 1 (haze) to 5 (clear)."
        )


def instant_text(instant: datetime) -> str:
    """Write an instant so that the order of the texts is the order of time; see `schema`."""
    if instant.utcoffset() is None:
        raise JournalError(f"The time {instant.isoformat()} has no time zone.")
    in_utc = instant.astimezone(UTC) if instant.year in YEARS else instant
    if in_utc.year not in YEARS:
        raise JournalError(f"The time {instant.isoformat()} is not in the years 1800 to 2200.")
    return in_utc.isoformat(timespec="microseconds")


def sql_names(columns: Sequence[str]) -> str:
    """Write names of columns for a query; ``end`` is a word of the language."""
    return ", ".join(f'"{name}"' for name in columns)


def insert_words(table: str, columns: Sequence[str]) -> str:
    """Write the statement that puts a row into a table."""
    marks = ", ".join("?" * len(columns))
    return f"INSERT INTO {table} ({sql_names(columns)}) VALUES ({marks})"  # noqa: S608


def put_words(table: str, columns: Sequence[str]) -> str:
    """Write the statement that puts a row into a table unless an as new one is there."""
    insert = insert_words(table, columns)
    if table == "former":
        return f"{insert} ON CONFLICT DO NOTHING"
    values = ", ".join(f'"{name}" = excluded."{name}"' for name in columns)
    newer = f"excluded.revision > {table}.revision"
    return f"{insert} ON CONFLICT (id) DO UPDATE SET {values} WHERE {newer}"


def update_words(table: str, columns: Sequence[str]) -> str:
    """Write the statement that puts new values over the row of an id, and counts it."""
    values = ", ".join(f'"{name}" = ?' for name in columns)
    return f"UPDATE {table} SET {values}, revision = revision + 1 WHERE id = ?"  # noqa: S608


def _instant_or_none(instant: datetime | None) -> str | None:
    return None if instant is None else instant_text(instant)


def _storable(value: Any) -> Any:
    """Return a value that SQLite can keep; halves of characters, which are no text, become "?"."""
    if not isinstance(value, str) or value.isascii():
        return value
    return value.encode("utf-8", "replace").decode()
