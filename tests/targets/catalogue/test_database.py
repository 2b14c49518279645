"""Another database than the one that the tables fit is named in a sentence."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from targets.catalogue.catalogue import load_catalogue
from targets.catalogue.openngc import check_rows, database_file, read_objects
from targets.errors import DatabaseError
from targets.tables import read_tables


@pytest.fixture
def other_database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a copy of the database for the catalogue to read, which may be changed."""
    path = tmp_path / "other.db"
    path.write_bytes(database_file().read_bytes())
    monkeypatch.setattr("targets.catalogue.openngc.database_file", lambda: path)
    return path


def load_anew() -> None:
    """Read the catalogue past the cache, which the other tests go on using."""
    load_catalogue.__wrapped__()


def change(path: Path, statement: str) -> None:
    """Run a statement of SQL on a database."""
    with closing(sqlite3.connect(path)) as database, database:
        database.execute(statement)


def test_the_installed_database_fits() -> None:
    """Every row that a table names is there."""
    names = read_tables().database_names()
    assert len(names) >= 700
    check_rows(read_objects(), names)


@pytest.mark.parametrize(
    "name",
    ["NGC7089", "NGC4990", "NGC2237"],
    ids=["of the corrections", "of the names", "of the merged rows"],
)
def test_a_renamed_row_is_named(other_database: Path, name: str) -> None:
    """Whichever table applies to it; the sentence says what to install."""
    change(other_database, f"UPDATE objects SET name = '{name} A' WHERE name = '{name}'")  # noqa: S608
    with pytest.raises(DatabaseError, match=rf"has no row {name}\. Install pyongc 1\.2\.2"):
        load_anew()


def test_several_missing_rows_are_counted(other_database: Path) -> None:
    """The first is named, the others are a number."""
    change(other_database, "DELETE FROM objects WHERE name IN ('NGC7089', 'NGC4990', 'NGC2237')")
    with pytest.raises(DatabaseError, match="has no row NGC2237 and 2 more"):
        load_anew()


def test_other_columns_are_told(other_database: Path) -> None:
    """A database of another make is no traceback either."""
    change(other_database, "ALTER TABLE objects RENAME COLUMN majax TO major")
    with pytest.raises(DatabaseError, match="cannot be read: no such column: majax"):
        load_anew()
