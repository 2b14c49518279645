"""Questions to the journal's file, and answers in rows."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any, TypedDict

from planner.journal.records import ID_SHOWN, YEARS, JournalEntry, JournalSession
from planner.journal.store.errors import JournalError
from planner.journal.store.history import keep_former
from planner.journal.store.rows import (
    ENTRY_COLUMNS,
    SESSION_COLUMNS,
    Row,
    instant_text,
    session_of,
    sql_names,
    update_words,
)
from planner.text import plain_line

# Names of columns are this package's own; what comes from outside is always bound to a "?".
KEPT = "entry WHERE removed_at IS NULL"


def _in_years(*columns: str) -> str:
    """Return the condition that dates as text are in the years of a journal, or not there."""
    span = f"BETWEEN '{YEARS.start}' AND '{YEARS.stop}'"
    return " AND ".join(f"coalesce(\"{name}\", '{YEARS.start}') {span}" for name in columns)


# Whatever the file holds: dates that no zone can be worked out for would end every list. The plus
# keeps SQLite from walking through the sessions where an entry is asked for by its id or time.
_SOUND_SESSION = _in_years("evening", "start", "end")
_SOUND_ENTRY = f"""{_in_years("at", "planned_at")}
    AND +session_id IN (SELECT id FROM session WHERE {_SOUND_SESSION})"""  # noqa: S608
SOUND = f"{KEPT} AND {_SOUND_ENTRY}"
UNSOUND_ENTRIES = f"SELECT id, at, target_name FROM entry WHERE NOT ({_SOUND_ENTRY})"  # noqa: S608
UNSOUND_SESSIONS = f"SELECT id, start, site FROM session WHERE NOT ({_SOUND_SESSION})"  # noqa: S608
ENTRIES = f"SELECT {sql_names(ENTRY_COLUMNS)} FROM {SOUND}"  # noqa: S608
REMOVED = f"""SELECT {sql_names(ENTRY_COLUMNS)}, removed_at FROM entry
    WHERE removed_at NOTNULL AND {_SOUND_ENTRY}"""  # noqa: S608
SESSIONS = f"""SELECT {sql_names(SESSION_COLUMNS)}
    FROM (SELECT rowid, * FROM session WHERE {_SOUND_SESSION}) AS session"""  # noqa: S608
# All but those that a look began which was removed since, where nothing else tells of an evening.
COUNTED_SESSIONS = f"""{SESSIONS} WHERE revision > 0
    OR NOT EXISTS (SELECT 1 FROM entry
        WHERE session_id = session.id AND at = session.start AND removed_at NOTNULL)
    OR EXISTS (SELECT 1 FROM {KEPT} AND session_id = session.id)"""  # noqa: S608


class Asked(TypedDict, total=False):
    """Which entries are asked for; what is left out, or None, asks for nothing.

    Parameters
    ----------
    since : datetime
        Aware; none that are earlier.
    target_id, target_name, eyepiece, session_id : str
        Only those of one target, eyepiece (its name) or session.
    """

    since: datetime | None
    target_id: str | None
    target_name: str | None
    eyepiece: str | None
    session_id: str | None


def condition(asked: Asked) -> tuple[str, tuple[str, ...]]:
    """Return further conditions for what is asked, and their values."""
    since = asked.get("since")
    clauses = {
        "at >= ?": None if since is None else instant_text(since),
        "target_id = ?": asked.get("target_id"),
        "target_name = ?": asked.get("target_name"),
        "train_eyepiece = ?": asked.get("eyepiece"),
        "session_id = ?": asked.get("session_id"),
    }
    given = {clause: value for clause, value in clauses.items() if value is not None}
    return "".join(f" AND {clause}" for clause in given), tuple(given.values())


def session_called(db: sqlite3.Connection, beginning: str) -> Row:
    """Return the one session whose id begins so; JournalError when it is not one."""
    return _only(_called(db, f"{SESSIONS} WHERE", beginning), "session in the journal", beginning)


def entry_called(db: sqlite3.Connection, beginning: str) -> Row:
    """Return the one entry whose id begins so; JournalError when it is not one, or is removed."""
    rows = _called(db, f"{ENTRIES} AND", beginning)
    gone = [] if rows else _called(db, f"{REMOVED} AND", beginning)
    if len(gone) == 1:
        raise JournalError(_removed_words(gone[0][0], gone[0][-1]))
    unsound = [] if rows or gone else _called(db, f"{UNSOUND_ENTRIES} AND", beginning)
    if len(unsound) == 1:
        raise JournalError(f"{_unsound_words('entry', unsound[0])} cannot be used. {_UNSOUND}")
    return _only(rows or gone, "entry in the journal", beginning)


def removed_called(db: sqlite3.Connection, beginning: str) -> Row:
    """Return the one removed entry whose id begins so; JournalError when it is not one."""
    rows = _called(db, f"{REMOVED} AND", beginning)
    kept = [] if rows else _called(db, f"{ENTRIES} AND", beginning)
    if len(kept) == 1:
        raise JournalError(f"The entry {kept[0][0][:ID_SHOWN]} is in the journal already.")
    return _only(rows or kept, "removed entry", beginning)


def _called(db: sqlite3.Connection, query: str, beginning: str) -> list[Row]:
    word = beginning.strip().lower()
    values = (word, f"{word}g")  # digits go up to f
    return db.execute(f"{query} id >= ? AND id < ? LIMIT 2", values).fetchall() if word else []


def _only(rows: Sequence[Row], what: str, beginning: str) -> Row:
    if len(rows) == 1:
        return rows[0]
    begins = f'begins with "{beginning}"'
    if rows:
        raise JournalError(f"More than one id {begins}; give more of its digits.")
    raise JournalError(f"There is no {what} whose id {begins}.")


def _removed_words(entry_id: str, removed_at: str) -> str:
    digits, day, clock = entry_id[:ID_SHOWN], removed_at[:10], removed_at[11:16]
    return (
        f"The entry {digits} was removed on {day} at {clock} UT; "
        f'"journal restore {digits}" brings it back.'
    )


_UNSOUND = (
    f"Its dates or its session's are not in the years {YEARS.start} to {YEARS.stop - 1}, or its "
    "session is missing."
)


def passed_over(db: sqlite3.Connection) -> tuple[str, ...]:
    """Name the rows that are in no answer, a sentence each; they stay in the file as they are."""
    found = [("entry", row) for row in db.execute(UNSOUND_ENTRIES)]
    found += [("session", row) for row in db.execute(UNSOUND_SESSIONS)]
    return tuple(f"{_unsound_words(kind, row)} is passed over. {_UNSOUND}" for kind, row in found)


def _unsound_words(kind: str, row: Row) -> str:
    row_id, instant, name = (plain_line(str(value)) for value in row)
    return f"The {kind} {row_id[:ID_SHOWN]} ({name}, dated {instant[:16]})"


def mark_removed(db: sqlite3.Connection, entry_id: str, removed_at: str | None) -> None:
    """Note when an entry was removed; None when it is back."""
    # The count of changes tells the newest copy of a row in a damaged file.
    query = "UPDATE entry SET removed_at = ?, revision = revision + 1 WHERE id = ?"
    db.execute(query, (removed_at, entry_id))


def session_of_evening(db: sqlite3.Connection, evening: date, site: str) -> JournalSession | None:
    """Return the latest session of an evening at a site, None when there is none."""
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
