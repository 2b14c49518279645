"""Reads the journal: its sessions, its entries, and what was removed from it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from itertools import starmap
from typing import Any, Unpack

from planner.journal.records import JournalEntry, JournalSession, Outcome
from planner.journal.store.file import JournalFile
from planner.journal.store.history import Former, former_of, removed_of
from planner.journal.store.queries import (
    COUNTED_SESSIONS,
    ENTRIES,
    KEPT,
    REMOVED,
    SESSIONS,
    SOUND,
    Asked,
    condition,
    entry_called,
    passed_over,
    session_called,
    session_of_evening,
)
from planner.journal.store.rows import entry_of, session_of, sql_names


class JournalReader(JournalFile):
    """What can be asked of a journal; entries that were removed are in no answer but `removed`.

    Rows with dates that no journal writes are passed over; see `name_passed_over`.
    """

    def sessions(self) -> tuple[JournalSession, ...]:
        """Return all sessions in order of time."""
        return self._repairing(
            lambda db: tuple(map(session_of, db.execute(f"{SESSIONS} ORDER BY start, id")))
        )

    def counted_sessions(self) -> tuple[JournalSession, ...]:
        """Return the sessions in order of time, without those that were begun by mistake.

        These were begun by a look that was removed since, hold no other, and nothing more was
        noted of them.
        """
        query = f"{COUNTED_SESSIONS} ORDER BY start, id"
        return self._repairing(lambda db: tuple(map(session_of, db.execute(query))))

    def name_passed_over(self) -> None:
        """Add a remark for each row that the answers leave out for its dates."""
        named = self._repairing(passed_over)
        self.remarks += tuple(remark for remark in named if remark not in self.remarks)

    def session(self, session_id: str) -> JournalSession:
        """Return the session of an id, or of digits with which only one id begins."""
        return self._repairing(lambda db: session_of(session_called(db, session_id)))

    def session_of_evening(self, evening: date, site: str) -> JournalSession | None:
        """Return the latest session of an evening at a site, None when there is none."""
        return self._repairing(lambda db: session_of_evening(db, evening, site))

    def entries(
        self, *, limit: int | None = None, **asked: Unpack[Asked]
    ) -> tuple[JournalEntry, ...]:
        """Return entries in order of time, the latest ``limit`` of those that are asked for."""
        where, values = condition(asked)
        query = f"{ENTRIES}{where} ORDER BY at DESC, rowid DESC LIMIT ?"
        most = -1 if limit is None else limit
        return self._repairing(
            lambda db: tuple(map(entry_of, db.execute(query, (*values, most))))[::-1]
        )

    def ids(self) -> list[str]:
        """Return the ids of all entries in order of time."""
        return [row[0] for row in self.columns("id")]

    def entries_of(self, ids: Sequence[str]) -> tuple[JournalEntry, ...]:
        """Return the entries of some ids, in their order; what was removed since is left out.

        Parameters
        ----------
        ids : sequence of str
            Whole ones; a few hundred at once.
        """
        query = f"{ENTRIES} AND id IN ({', '.join('?' * len(ids))})"
        found = self._repairing(lambda db: tuple(map(entry_of, db.execute(query, tuple(ids)))))
        by_id = {entry.id: entry for entry in found}
        return tuple(by_id[one] for one in ids if one in by_id)

    def entry(self, entry_id: str) -> JournalEntry:
        """Return the entry of an id, or of digits with which only one id begins."""
        return self._repairing(lambda db: entry_of(entry_called(db, entry_id)))

    def count(self, **asked: Unpack[Asked]) -> int:
        """Count what `entries` would give without a limit."""
        where, values = condition(asked)
        query = f"SELECT count(*) FROM {SOUND}{where}"  # noqa: S608
        return self._repairing(lambda db: int(db.execute(query, values).fetchone()[0]))

    def columns(self, *names: str) -> list[tuple[Any, ...]]:
        """Return some columns of all entries in order of time, as they stand in the file.

        Parameters
        ----------
        *names : str
            Of ``planner.journal.store.rows.ENTRY_COLUMNS``. Instants are text in ISO 8601, UTC.
        """
        query = f"SELECT {sql_names(names)} FROM {SOUND} ORDER BY at, rowid"  # noqa: S608
        return self._repairing(lambda db: db.execute(query).fetchall())

    def opinions(self, telescope: str, *names: str) -> list[tuple[Any, ...]]:
        """Return some columns of the entries that may show what is preferred in one telescope.

        Those in which something was seen or suspected through an eyepiece, and which either are
        rated other than 3 or were planned; see `planner.journal.leaning`.
        """
        query = f"""SELECT {sql_names(names)} FROM {KEPT}
            AND train_telescope = ? AND train_eyepiece != '' AND outcome IN (?, ?)
            AND (rating != 3 OR planned_train != '')"""  # noqa: S608
        values = (telescope, str(Outcome.SEEN), str(Outcome.SUSPECTED))
        return self._repairing(lambda db: db.execute(query, values).fetchall())

    def recent_times(self, most: int) -> list[tuple[str, str]]:
        """Return session and instant (ISO 8601, UTC) of the latest looks, the latest first."""
        query = f"SELECT session_id, at FROM {KEPT} ORDER BY at DESC LIMIT ?"  # noqa: S608
        return self._repairing(lambda db: db.execute(query, (most,)).fetchall())

    def eyepieces(self) -> tuple[str, ...]:
        """Return the names of all eyepieces, those of former kits and of removed entries too."""
        query = "SELECT DISTINCT train_eyepiece FROM entry WHERE train_eyepiece != '' ORDER BY 1"
        return self._repairing(lambda db: tuple(row[0] for row in db.execute(query)))

    def unlisted_names(self) -> tuple[str, ...]:
        """Return the names of all targets that the catalogue did not know, removed ones too."""
        query = "SELECT DISTINCT target_name FROM entry WHERE target_id = '' ORDER BY 1"
        return self._repairing(lambda db: tuple(row[0] for row in db.execute(query)))

    def seen_ids(self) -> frozenset[str]:
        """Return the ids of all targets that were seen at least once."""
        query = f"SELECT DISTINCT target_id FROM {KEPT} AND outcome = ? AND target_id != ''"  # noqa: S608
        return self._repairing(
            lambda db: frozenset(row[0] for row in db.execute(query, (str(Outcome.SEEN),)))
        )

    def last_seen(self) -> dict[str, datetime]:
        """Return when each target that was seen was seen last (UTC), by its id."""
        query = f"""SELECT target_id, MAX(at) FROM {SOUND} AND outcome = ? AND target_id != ''
            GROUP BY target_id"""  # noqa: S608
        rows = self._repairing(lambda db: db.execute(query, (str(Outcome.SEEN),)).fetchall())
        return {target_id: datetime.fromisoformat(at) for target_id, at in rows}

    def removed(self, **asked: Unpack[Asked]) -> tuple[Former, ...]:
        """Removed entries as they were, with the time of removal, in order of their own time."""
        where, values = condition(asked)
        query = f"{REMOVED}{where} ORDER BY at, rowid"
        return self._repairing(lambda db: tuple(map(removed_of, db.execute(query, values))))

    def history(self, entry_id: str) -> tuple[Former, ...]:
        """Return what an entry was before each of its corrections, the oldest first."""
        query = "SELECT changed_at, record FROM former WHERE record_id = ? ORDER BY revision"
        return self._repairing(lambda db: tuple(starmap(former_of, db.execute(query, (entry_id,)))))
