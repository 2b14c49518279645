"""What the journal has of one entry, and what was removed from it, as JSON.

The entries themselves, and the journal as a whole, are `planner.journal.exchange.json_format`'s, so
that what is listed can be imported.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from planner.journal.exchange.json_format import entry_json
from planner.journal.records import JournalEntry, JournalSession, session_zone
from planner.journal.store.history import Former

REMOVED_SCHEMA = "fieldstop.removed/1"  # another one, so that no import takes them for looks
ENTRY_SCHEMA = "fieldstop.entry/1"

Json = dict[str, Any]
Pairs = Iterable[tuple[JournalEntry, JournalSession]]


def removed_json(pairs: Pairs, removed_at: Mapping[str, datetime]) -> Json:
    """Return removed entries, each with the time of its removal, by the site's clock."""
    entries = [
        entry_json(entry, session) | {"removed_at": _time(removed_at[entry.id], session)}
        for entry, session in pairs
    ]
    return {"schema": REMOVED_SCHEMA, "entries": entries}


def entry_history_json(
    entry: JournalEntry, session: JournalSession, history: Sequence[Former]
) -> Json:
    """Return an entry, and what it was before each correction."""
    former = [
        {
            "changed_at": _time(former.changed_at, session),
            "entry": entry_json(former.record, session),
        }
        for former in history
    ]
    return {"schema": ENTRY_SCHEMA, "entry": entry_json(entry, session), "history": former}


def _time(instant: datetime, session: JournalSession) -> str:
    return instant.astimezone(session_zone(session)).isoformat(timespec="seconds")
