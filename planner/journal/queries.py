"""Questions to the journal's file, and answers in rows."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from planner.journal.errors import JournalError
from planner.journal.former import keep_former
from planner.journal.records import JournalEntry, JournalSession
from planner.journal.rows import (
    ENTRY_COLUMNS,
    SESSION_COLUMNS,
    instant_text,
    session_of,
    sql_names,
    update_words,
)

# Names of columns are this package's own; what comes from outside is always bound to a "?".
ENTRIES = f"SELECT {sql_names(ENTRY_COLUMNS)} FROM entry"  # noqa: S608
SESSIONS = f"SELECT {sql_names(SESSION_COLUMNS)} FROM session"  # noqa: S608


def condition(
    *,
    since: datetime | None,
    target_id: str | None,
    target_name: str | None,
    eyepiece: str | None,
    session_id: str | None,
) -> tuple[str, tuple[str, ...]]:
    """Give the condition for what is asked, and its values; None asks for nothing."""
    asked = {
        "at >= ?": None if since is None else instant_text(since),
        "target_id = ?": target_id,
        "target_name = ?": target_name,
        "train_eyepiece = ?": eyepiece,
        "session_id = ?": session_id,
    }
    given = {clause: value for clause, value in asked.items() if value is not None}
    return (f"WHERE {' AND '.join(given)}" if given else ""), tuple(given.values())


def row_called(db: sqlite3.Connection, table: str, beginning: str) -> Sequence[Any]:
    """Give the one row of a table whose id begins so; JournalError when it is not one."""
    query = f"{ENTRIES if table == 'entry' else SESSIONS} WHERE id >= ? AND id < ? LIMIT 2"
    word = beginning.strip().lower()
    rows = db.execute(query, (word, f"{word}g")).fetchall() if word else []
    if len(rows) == 1:
        return rows[0]  # type: ignore[no-any-return]
    begins = f'begins with "{beginning}"'
    if rows:
        raise JournalError(f"More than one id {begins}; give more of its digits.")
    raise JournalError(f"There is no {table} in the journal whose id {begins}.")


def session_of_evening(db: sqlite3.Connection, evening: date, site: str) -> JournalSession | None:
    """Give the latest session of an evening at a site, None when there is none."""
    rows = db.execute(
        f"{SESSIONS} WHERE evening = ? ORDER BY start DESC, rowid DESC", (evening.isoformat(),)
    )
    sessions = map(session_of, rows)
    return next((s for s in sessions if s.site.casefold() == site.casefold()), None)


def in_session(entry: JournalEntry, session: JournalSession) -> JournalEntry:
    """Put an entry into a session; of the sky it keeps what is not the session's own."""
    return replace(
        entry,
        session_id=session.id,
        seeing=None if entry.seeing == session.seeing else entry.seeing,
        transparency=(None if entry.transparency == session.transparency else entry.transparency),
    )


def replace_row(
    db: sqlite3.Connection,
    table: str,
    old: Sequence[Any],
    new: Sequence[Any],
    changed_at: datetime,
) -> None:
    """Put new values over a row and keep the old ones; nothing happens when they are the same."""
    if tuple(old) == tuple(new):
        return
    columns = ENTRY_COLUMNS if table == "entry" else SESSION_COLUMNS
    keep_former(db, table, dict(zip(columns, old, strict=True)), instant_text(changed_at))
    db.execute(update_words(table, columns), (*new, old[0]))
