"""Copies of the journal beside it, by SQLite's own backup call, each checked before it counts."""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from planner.journal.store.errors import UnreadableRowError
from planner.journal.store.lock import BUSY_S, make_private

# A journal up to this size is looked at and copied whenever it is used: in less than 0.1 s.
SMALL_BYTES = 8_000_000
HOUR_S, DAY_S, WEEK_S = 3600.0, 86_400.0, 604_800.0
# The newest copy, the one before it once that is a day old, and one of a week before.
LEAST_AGES_S = (0.0, DAY_S, WEEK_S)
_DRAFTS = ".fieldstop-copy-"


def backup_paths(path: Path) -> tuple[Path, ...]:
    """Return where the copies of a journal stand, the newest first, whether they are there or not.

    Parameters
    ----------
    path : Path
        Of the journal.
    """
    count = len(LEAST_AGES_S)
    return tuple(path.with_name(f"{path.stem}.backup-{n}.sqlite") for n in range(1, count + 1))


def is_due(path: Path) -> bool:
    """Whether all of a journal is to be looked at or copied: always, or by the hour if large."""
    newest = backup_paths(path)[0]
    if not newest.exists() or path.stat().st_size <= SMALL_BYTES:
        return True
    return path.stat().st_mtime - newest.stat().st_mtime >= HOUR_S


def make_backup(path: Path) -> None:
    """Copy a journal and let the copy take its place in the row.

    Raises
    ------
    OSError, sqlite3.Error
        If there is no room or no right.
    UnreadableRowError
        If the copy, and so the journal, has a fault; the copies before stay as they are.
    """
    with copy_database(path) as draft:
        with closing(sqlite3.connect(draft)) as db:
            ((found,),) = db.execute("PRAGMA integrity_check(1)")
        if found != "ok":
            raise UnreadableRowError(str(found))
        _shift(backup_paths(path), draft)
        draft.replace(backup_paths(path)[0])


def _shift(places: tuple[Path, ...], draft: Path) -> None:
    """Let each copy take the next place if what is there is old enough to give way.

    A copy with more entries than the new one is kept in any case: nothing is ever deleted in a
    journal, so that another file must have come into its place.
    """
    now = draft.stat().st_mtime
    is_less = _entries(draft) < _entries(places[0])
    for place, older, least_s in reversed(
        list(zip(places, places[1:], LEAST_AGES_S[1:], strict=False))
    ):
        is_old = not older.exists() or now - older.stat().st_mtime >= least_s
        if place.exists() and (is_less or is_old):
            place.replace(older)


def _entries(path: Path) -> int:
    """Count the entries of a copy; 0 when it is not there or cannot be read."""
    with (
        suppress(sqlite3.Error),
        closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as db,
    ):
        return int(db.execute("SELECT count(*) FROM entry").fetchone()[0])
    return 0


@contextmanager
def copy_database(path: Path) -> Iterator[Path]:
    """Return a copy of a database as it stands, on the disk for good; whoever wants it moves it.

    What has not been moved in the end is removed.
    """
    with draft_beside(path) as draft:
        with (
            closing(sqlite3.connect(path, timeout=BUSY_S)) as source,
            closing(sqlite3.connect(draft)) as target,
        ):
            target.execute("PRAGMA synchronous = OFF")  # once for all, below
            source.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")  # one file, whole without a log
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        yield draft


@contextmanager
def draft_beside(path: Path) -> Iterator[Path]:
    """Return an empty file beside a journal; if it has not been moved in the end it is removed."""
    draft = path.with_name(f"{_DRAFTS}{secrets.token_hex(8)}")
    make_private(draft)
    _remove_left(draft)
    try:
        yield draft
    finally:
        draft.unlink(missing_ok=True)


def _remove_left(draft: Path) -> None:
    """Remove drafts that programs left which were killed: those that are an hour old."""
    now = draft.stat().st_mtime
    for left in draft.parent.glob(f"{_DRAFTS}*"):
        with suppress(OSError):
            if now - left.stat().st_mtime >= HOUR_S:
                left.unlink()


def free_name(path: Path) -> Path:
    """Return a name like this one that nothing has: with -2, -3 and so on before its ending."""
    number, free = 1, path
    while os.path.lexists(free):
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free
