"""Journals of older versions are brought up to date; those that are not ours are left alone."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.journal.store import connection, schema
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import open_journal
from planner.journal.store.schema import VERSION

FILES = Path(__file__).parent / "files"
LATER = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)


def test_there_is_a_file_of_every_older_version() -> None:
    """The road from each of them is tested on a real one."""
    assert {file.name for file in FILES.iterdir()} == {
        f"version-{version}.sqlite" for version in range(1, VERSION)
    }


@pytest.mark.parametrize("version", range(1, VERSION))
def test_an_older_journal_is_brought_up_to_date(version: int, path: Path) -> None:
    """All it holds is there, what is new is empty and works, and a copy of the old one is kept."""
    path.parent.mkdir()
    shutil.copy(FILES / f"version-{version}.sqlite", path)
    with open_journal(path) as journal:
        (session,) = journal.sessions()
        first, second = journal.entries()
        assert (session.site, session.companions) == ("Hill", ("Ann",))
        assert (first.note, first.sketch) == ("Trapezium: 4 stars", "")
        assert second.note == "green, \U0001f52d wings"
        assert second.rating == (None if version == 1 else 5)
        assert [former.record.rating for former in journal.history(second.id)] == (
            [] if version == 1 else [None]
        )
        journal.amend(first.id, changed_at=LATER, sketch="m42.png")
        assert journal.history(first.id)[0].record == first
        assert journal.removed() == ()
        assert journal.remove_entry(second.id, removed_at=LATER) == second
    copy = path.with_name(f"journal.version-{version}.sqlite")
    assert content(copy) == content(FILES / f"version-{version}.sqlite")
    assert {file.name for file in path.parent.iterdir()} == {
        "journal.sqlite", "journal.sqlite.lock", "journal.backup-1.sqlite", "journal.ledger.jsonl",
        copy.name,
    }  # fmt: skip
    with open_journal(path) as journal:
        assert [(entry.id, entry.sketch) for entry in journal.entries()] == [(first.id, "m42.png")]
        assert journal.restore_entry(second.id) == second


def content(path: Path) -> list[str]:
    """Return all that a file holds, as statements, with its version."""
    with closing(sqlite3.connect(path)) as db:
        return [*db.iterdump(), str(db.execute("PRAGMA user_version").fetchone())]


def test_a_new_journal_is_like_one_brought_up_to_date(path: Path) -> None:
    """Whatever version a journal began with, its tables are the same."""
    path.parent.mkdir()
    new, old = path.with_name("new.sqlite"), path.with_name("old.sqlite")
    shutil.copy(FILES / "version-1.sqlite", old)
    for file in (new, old):
        open_journal(file).close()

    def tables(file: Path) -> list[tuple[str, ...]]:
        with closing(sqlite3.connect(file)) as db:
            return db.execute("SELECT name, sql FROM sqlite_schema ORDER BY name").fetchall()

    assert tables(new) == tables(old)


def test_a_step_that_fails_changes_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A journal is in one version or in the next, never between."""
    path.parent.mkdir()
    shutil.copy(FILES / "version-1.sqlite", path)
    before = content(path)
    broken = (*schema.STEPS[:2], "CREATE TABLE half (a); CREATE TABLE half (a);")
    monkeypatch.setattr(schema, "STEPS", broken)
    with pytest.raises(JournalError, match="took nothing new"):
        open_journal(path)
    assert content(path) == before


def test_a_newer_journal_is_left_alone(path: Path) -> None:
    """Its version is named, and what to do."""
    open_journal(path).close()
    with closing(sqlite3.connect(path)) as db:
        db.execute(f"PRAGMA user_version = {VERSION + 1}")
    before = path.read_bytes()
    with pytest.raises(JournalError, match=rf"newer version .*\(format {VERSION + 1};"):
        open_journal(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("version", [0, 2])
def test_the_database_of_another_program_is_left_alone(path: Path, version: int) -> None:
    """Nobody's tables are mixed with ours."""
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("CREATE TABLE stamps (country TEXT)")
        db.execute(f"PRAGMA user_version = {version}")
    before = path.read_bytes()
    with pytest.raises(JournalError, match="database of another program; nothing in it"):
        open_journal(path)
    assert path.read_bytes() == before


def test_a_system_that_is_too_old_is_named(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """To a SQLite without strict tables a journal looks damaged; it must not come to that."""
    monkeypatch.setattr(connection, "OLDEST_SQLITE", (99, 0))
    with pytest.raises(JournalError, match=r"needs SQLite 3\.37 or newer"):
        open_journal(path)


def test_a_copy_that_is_there_already_is_not_taken_for_this_one(path: Path) -> None:
    """Another file under the copy's name stays; the same one is not kept twice."""
    path.parent.mkdir()
    first = path.with_name("journal.version-1.sqlite")
    first.write_bytes(b"of another journal")
    for _ in range(2):
        shutil.copy(FILES / "version-1.sqlite", path)
        open_journal(path).close()
    assert first.read_bytes() == b"of another journal"
    assert content(path.with_name("journal.version-1-2.sqlite")) == content(
        FILES / "version-1.sqlite"
    )
    assert len(list(path.parent.glob("journal.version-*"))) == 2
