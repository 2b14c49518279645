"""Keeps a damaged journal aside, and makes a new one of all that `salvage` finds."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from planner.journal.store.connection import connect
from planner.journal.store.filling import PERHAPS, counted, fill
from planner.journal.store.lock import alone, make_private
from planner.journal.store.salvage import salvage
from planner.journal.store.write_ahead import log_path

ALL = "Nothing that was written is missing."


def rescue(path: Path, is_needed: Callable[[], bool]) -> str | None:
    """Make a new journal of what can be read in a damaged one, which is kept.

    Parameters
    ----------
    path : Path
        Of the damaged file, which may be missing; afterwards, of the new one.
    is_needed : callable
        Asked when nobody writes any more: another program may have put the file right.

    Returns
    -------
    str or None
        A sentence that says what was done; None when there was nothing to do.

    Raises
    ------
    OSError, sqlite3.Error
        If it cannot be done; the damaged file is still in its place then.
    """
    with alone(path):
        if not is_needed():
            return None
        aside = _copied_aside(path)
        found = salvage(path)
        fresh = _with_ending(path, ".rescuing")
        fresh.unlink(missing_ok=True)
        with closing(connect(fresh)) as db:
            db.execute("BEGIN IMMEDIATE")
            counts = fill(db, found)
            db.execute("COMMIT")
            db.execute("PRAGMA journal_mode = DELETE")  # a file without a log beside it
        fresh.replace(_with_ending(path, ".rescued"))
        _take_over(path)
    kept = (
        f"{counted(counts['entry'], 'entry', 'entries')} and "
        f"{counted(counts['session'], 'session', 'sessions')}"
    )
    surely = ALL if found.is_whole else PERHAPS
    if not aside:
        return f"The journal {path} was missing. {kept} were read from the copy beside it. {surely}"
    names = " and ".join(f'"{name}"' for name in aside)
    return (
        f"The journal {path} was damaged. {kept} could be read, and stand in a new file; the "
        f"damaged one is kept as {names} beside it. {surely}"
    )


def finish_rescue(path: Path) -> None:
    """Let a rescued journal take its place, where a rescue was cut short just before that."""
    if _with_ending(path, ".rescued").exists():
        with alone(path):
            _take_over(path)


def _take_over(path: Path) -> None:
    rescued = _with_ending(path, ".rescued")
    if not rescued.exists():
        return
    # The log of the damaged file must not be taken for one of the new file.
    for beside in (log_path(path), _with_ending(path, "-shm")):
        beside.unlink(missing_ok=True)
    rescued.replace(path)


def _with_ending(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


def _copied_aside(path: Path) -> tuple[str, ...]:
    """Copy the file and its log under names that nothing has, on the disk for good; name them."""
    number = 1
    while (aside := path.with_name(f"{path.stem}.damaged-{number}.sqlite")).exists() or (
        log_path(aside).exists()
    ):
        number += 1
    pairs = ((path, aside), (log_path(path), log_path(aside)))
    return tuple(copy.name for source, copy in pairs if _is_copied(source, copy))


def _is_copied(source: Path, copy: Path) -> bool:
    if not source.exists():
        return False
    make_private(copy)
    shutil.copyfile(source, copy)
    with copy.open("rb+") as file:
        os.fsync(file.fileno())
    return True
