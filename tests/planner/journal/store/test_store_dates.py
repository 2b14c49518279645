"""Dates that no journal writes, in a file all the same: named and passed over."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from planner.cli.main import main
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import journal_path, open_journal
from planner.request.options import Surroundings

GOOD, ODD = "1" * 32, "2" * 32
AT = datetime(2026, 3, 14, 21, 0, tzinfo=UTC)
COMMANDS = (
    ("list",), ("list", "--format", "json"), ("list", "--removed"), ("show", GOOD), ("report",),
    ("export", "--format", "json"), ("export", "--format", "csv"), ("export", "--format", "oal"),
)  # fmt: skip


@pytest.fixture
def around(tmp_path: Path) -> Surroundings:
    """Return where a journal is with two looks, each of an evening of its own."""
    around = Surroundings(AT, tmp_path / "none", tmp_path / "data")
    with open_journal(journal_path(tmp_path / "data")) as journal:
        for entry_id, site in ((GOOD, "Garden"), (ODD, "Hill")):
            session = JournalSession(entry_id, date(2026, 3, 14), site, "Asia/Tokyo", AT)
            target = LoggedTarget("", f"star of {site}", "star")
            entry = JournalEntry(entry_id, session.id, AT, target, LoggedTrain(), Outcome.SEEN)
            journal.add_all([session], [entry])
    return around


def spoil(around: Surroundings, table: str, column: str, value: str) -> None:
    """Write a value over one of the second look or its session, behind the journal's back."""
    with closing(sqlite3.connect(journal_path(around.data))) as db, db:
        db.execute(f'UPDATE {table} SET "{column}" = ? WHERE id = ?', (value, ODD))  # noqa: S608


@pytest.mark.parametrize("instant", ["0001-01-01T00:00:00+00:00", "9999-12-31T23:59:59+00:00"])
@pytest.mark.parametrize(
    ("table", "column"),
    [("entry", "at"), ("entry", "planned_at"), ("session", "start"), ("session", "end"),
     ("session", "evening")],
)  # fmt: skip
def test_a_date_out_of_bounds_costs_its_row_alone(
    around: Surroundings,
    table: str,
    column: str,
    instant: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Every command that reads goes on with the rest, and those that read all name the row."""
    spoil(around, table, column, instant[:10] if column == "evening" else instant)
    for command in COMMANDS:
        assert main(["journal", *command], surroundings=around) == 0
        out, err = capsys.readouterr()
        assert "star of Hill" not in out
        assert ("star of Garden" in out) == (command not in {("list", "--removed"), ("report",)})
        assert ("The entry 22222222 (star of Hill, " in err) == (command[0] != "show")
        assert ("The session 22222222 (Hill, " in err) == (
            table == "session" and command[0] != "show"
        )
    assert main(["journal", "show", ODD[:8]], surroundings=around) == 2
    assert "cannot be used. Its dates or its session" in capsys.readouterr().err
    with closing(sqlite3.connect(journal_path(around.data))) as db:
        assert db.execute("SELECT count(*) FROM entry").fetchone() == (2,)


def test_an_entry_without_its_session_costs_no_list(
    around: Surroundings, capsys: pytest.CaptureFixture[str]
) -> None:
    """A session whose id is another one now leaves its look to be named, not an end in 70."""
    with closing(sqlite3.connect(journal_path(around.data))) as db, db:
        db.execute("UPDATE session SET id = ? WHERE id = ?", ("3" * 32, ODD))
    assert main(["journal", "list", "--format", "json"], surroundings=around) == 0
    out, err = capsys.readouterr()
    assert [entry["id"] for entry in json.loads(out)["entries"]] == [GOOD]
    assert "The entry 22222222 (star of Hill, " in err


def test_what_is_written_at_the_bounds_is_read(around: Surroundings) -> None:
    """The last minute of 2200 counts in UT, as the file has it; an evening has bounds too."""
    path = journal_path(around.data)
    last = datetime.fromisoformat("2200-12-31T23:59:00+00:00")
    target = LoggedTarget("", "late", "star")
    entry = JournalEntry("4" * 32, GOOD, last, target, LoggedTrain(), Outcome.SEEN)
    beyond = datetime.fromisoformat("2200-12-31T23:59:00-05:00")
    evening = JournalSession("5" * 32, date(9999, 12, 31), "Hill", "UTC", AT)
    with open_journal(path) as journal:
        journal.add(entry)
        assert journal.entry(entry.id) == entry
        with pytest.raises(JournalError, match="is not in the years 1800 to 2200"):
            journal.add(JournalEntry("6" * 32, GOOD, beyond, target, LoggedTrain(), Outcome.SEEN))
        with pytest.raises(JournalError, match="evening 9999-12-31 is not in the years"):
            journal.add_session(evening)


@pytest.mark.parametrize("angle_deg", [1e308, float("inf")])
def test_a_number_that_no_format_holds_costs_that_number(
    around: Surroundings, angle_deg: float, capsys: pytest.CaptureFixture[str]
) -> None:
    """A field beyond all numbers, also one that is so in arcminutes only, is unknown in exports."""
    with closing(sqlite3.connect(journal_path(around.data))) as db, db:
        db.execute("UPDATE entry SET train_true_field_deg = ?", (angle_deg,))
    assert main(["journal", "export", "--format", "json"], surroundings=around) == 0
    (first, _) = json.loads(capsys.readouterr().out)["entries"]
    assert first["true_field_arcmin"] is None
