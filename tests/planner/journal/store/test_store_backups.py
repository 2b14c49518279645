"""Copies of the journal: made on closing, checked, kept for a day and a week, never of less."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.journal.records import new_id
from planner.journal.store.copies import backup as backup_module
from planner.journal.store.journal import Journal, open_journal

DAY_S, WEEK_S = 86_400.0, 604_800.0


def copy_of(path: Path, number: int) -> Path:
    """Return where a copy is."""
    return path.with_name(f"journal.backup-{number}.sqlite")


def held(path: Path) -> int:
    """Count the entries of a file with nothing but SQLite."""
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return int(db.execute("SELECT count(*) FROM entry").fetchone()[0])


def write_one(path: Path, make_entry: Any) -> None:
    """Add a look, and close the journal."""
    with open_journal(path) as journal:
        journal.add(make_entry())


def age(path: Path, seconds: float) -> None:
    """Make a file look older."""
    then = path.stat().st_mtime - seconds
    os.utime(path, (then, then))


def test_a_journal_that_was_written_is_copied(
    journal: Journal, path: Path, make_entry: Any
) -> None:
    """The newest copy has all of it, in one file; reading makes none."""
    journal.add(make_entry())
    journal.close()
    assert held(copy_of(path, 1)) == 1
    write_one(path, make_entry)
    assert held(copy_of(path, 1)) == 2
    before = copy_of(path, 1).stat()
    with open_journal(path) as reading:
        reading.entries()
    assert copy_of(path, 1).stat() == before
    assert not list(path.parent.glob(".fieldstop-*"))


def test_an_older_journal_is_copied_when_it_is_first_read(
    journal: Journal, path: Path, make_entry: Any
) -> None:
    """It comes from a version that made no copies, and is readable by others until then."""
    journal.add(make_entry())
    journal.close()
    copy_of(path, 1).unlink()
    path.chmod(0o644)
    with open_journal(path) as reading:
        assert reading.count() == 1
    assert held(copy_of(path, 1)) == 1
    assert path.stat().st_mode & 0o777 == 0o600


def test_copies_of_a_day_and_a_week_are_kept(journal: Journal, path: Path, make_entry: Any) -> None:
    """However often it is written: the one before is kept when the next older has its age."""
    journal.close()
    for _ in range(3):
        write_one(path, make_entry)
    assert [held(copy_of(path, n)) for n in (1, 2, 3)] == [3, 1, 0]
    age(copy_of(path, 2), 0.9 * DAY_S)
    write_one(path, make_entry)
    assert held(copy_of(path, 2)) == 1
    age(copy_of(path, 2), 0.2 * DAY_S)
    write_one(path, make_entry)
    assert [held(copy_of(path, n)) for n in (1, 2, 3)] == [5, 4, 0]
    age(copy_of(path, 2), 1.1 * DAY_S)
    age(copy_of(path, 3), 0.9 * WEEK_S)
    write_one(path, make_entry)
    assert [held(copy_of(path, n)) for n in (1, 2, 3)] == [6, 5, 0]
    age(copy_of(path, 2), 1.1 * DAY_S)
    age(copy_of(path, 3), 0.2 * WEEK_S)
    write_one(path, make_entry)
    assert [held(copy_of(path, n)) for n in (1, 2, 3)] == [7, 6, 5]


def test_a_copy_of_less_does_not_take_the_place_of_more(
    journal: Journal, path: Path, make_entry: Any, session: Any
) -> None:
    """Somebody has put another file in the journal's place: the copies of the full one stay."""
    journal.add_all([], [make_entry() for _ in range(5)])
    journal.close()
    write_one(path, make_entry)
    path.unlink()
    other = path.with_name("other.sqlite")
    new = replace(session, id=new_id())
    with open_journal(other) as begun:
        begun.add_session(new)
    other.replace(path)
    with open_journal(path) as one:
        assert "belongs to another one" in one.remarks[0]
        one.add(make_entry(session_id=new.id))
    assert [held(copy_of(path, n)) for n in (1, 2)] == [1, 6]
    assert path.with_name("journal.damaged.ledger.jsonl").read_bytes().count(b'"entry"') == 6


def test_a_large_journal_is_copied_by_the_hour(
    journal: Journal, path: Path, make_entry: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It would take longer than anybody waits for one look."""
    journal.add(make_entry())
    journal.close()
    monkeypatch.setattr(backup_module, "SMALL_BYTES", 1)
    write_one(path, make_entry)
    assert held(copy_of(path, 1)) == 1
    age(copy_of(path, 1), 3700.0)
    write_one(path, make_entry)
    assert held(copy_of(path, 1)) == 3


def test_what_is_damaged_is_not_copied(
    journal: Journal, path: Path, make_entry: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a large journal a fault shows up within the hour; what was sound is still the copy."""
    journal.add_all([], [make_entry(note="x" * 900) for _ in range(60)])
    journal.close()
    before = copy_of(path, 1).read_bytes()
    content = bytearray(path.read_bytes())
    middle = len(content) // 8192 * 4096
    content[middle : middle + 2048] = bytes(2048)
    path.write_bytes(content)
    monkeypatch.setattr(backup_module, "SMALL_BYTES", 1)
    with open_journal(path) as writing:
        writing.change_session(writing.sessions()[0].id, changed_at=make_entry().at, weather="dew")
        assert writing.remarks == ()
    assert copy_of(path, 1).read_bytes() == before
    age(copy_of(path, 1), 3700.0)
    with open_journal(path) as writing:
        assert "was damaged. 60 entries" in writing.remarks[0]
        assert writing.sessions()[0].weather == "dew"
    assert held(copy_of(path, 1)) == 60


def test_drafts_of_killed_programs_go(journal: Journal, path: Path, make_entry: Any) -> None:
    """After an hour nobody works on them any more."""
    old, new = path.with_name(".fieldstop-copy-old"), path.with_name(".fieldstop-copy-new")
    for draft in (old, new):
        draft.write_bytes(b"half")
    age(old, 4000.0)
    journal.add(make_entry())
    journal.close()
    assert not old.exists()
    assert new.exists()


def test_a_copy_that_cannot_be_made_ends_nothing(
    journal: Journal, path: Path, make_entry: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The look is in the journal; the next closing tries again."""

    def fail(_: Path) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("planner.journal.store.file.make_backup", fail)
        journal.add(make_entry())
        journal.close()
    assert not copy_of(path, 1).exists()
    write_one(path, make_entry)
    assert held(copy_of(path, 1)) == 2
