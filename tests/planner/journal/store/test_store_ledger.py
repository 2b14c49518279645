"""The ledger beside a journal: it and the database make each other good."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zlib import crc32

import pytest

from planner.journal.store import file as file_module
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import Journal, open_journal

LATER = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)


@pytest.fixture
def ledger(path: Path) -> Path:
    """Return where the ledger is."""
    return path.with_name("journal.ledger.jsonl")


def rows(ledger: Path) -> list[dict[str, Any]]:
    """Return what the lines say, each held against its checksum."""
    found = []
    for line in ledger.read_bytes().splitlines():
        text, told = line.split(b"\t")
        assert int(told, 16) == crc32(text)  # of zlib: RFC 1952, section 8
        found.append(json.loads(text))
    return found


def test_every_change_is_a_line_before_it_is_acknowledged(
    journal: Journal, ledger: Path, make_entry: Any
) -> None:
    """Added, corrected, removed and restored: what is there after each is in the ledger at once."""
    entry = make_entry()
    steps = (
        lambda: journal.add(entry),
        lambda: journal.amend(entry.id, changed_at=LATER, note="two stars"),
        lambda: journal.remove_entry(entry.id, removed_at=LATER),
        lambda: journal.restore_entry(entry.id),
    )
    told = []
    for step in steps:
        step()
        told.append([line["row"] for line in rows(ledger) if line.get("table") == "entry"][-1])
    assert [row["note"] for row in told] == [entry.note, *["two stars"] * 3]
    assert [row["revision"] for row in told] == [0, 1, 2, 3]
    assert ["removed_at" in row for row in told] == [False, False, True, False]
    assert rows(ledger)[-1] == {"after": [1, 1, 1]}


def test_a_change_that_is_refused_leaves_no_line(
    journal: Journal, ledger: Path, make_entry: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither one that the tables refuse, nor one that the disk refuses behind the line."""
    entry = make_entry()
    journal.add(entry)
    before = ledger.read_bytes()
    with pytest.raises(JournalError, match="already"):
        journal.add(entry)
    with monkeypatch.context() as patch:
        patch.setattr(file_module, "append", failing_behind(file_module.append))
        with pytest.raises(JournalError, match="The disk is full"):
            journal.add(make_entry())
    assert ledger.read_bytes() == before
    assert journal.count() == 1


def failing_behind(work: Any) -> Any:
    """Return what does the work, and then finds the disk full."""

    def fail(*given: Any) -> None:
        work(*given)
        raise OSError(28, "No space left on device")

    return fail


def test_a_program_killed_before_the_database_has_it(
    journal: Journal, path: Path, ledger: Path, make_entry: Any
) -> None:
    """The finished line counts, without a word; lines of an unfinished import do not."""
    first, second = make_entry(), make_entry()
    journal.add(first)
    before, file = ledger.read_bytes(), path.read_bytes()
    log = path.with_name("journal.sqlite-wal").read_bytes()
    journal.add(second)
    journal.close()
    lines = ledger.read_bytes()[len(before) :].splitlines(keepends=True)
    for cut, held in ((1, [first]), (2, [first, second])):
        path.write_bytes(file)
        path.with_name("journal.sqlite-wal").write_bytes(log)
        ledger.write_bytes(before + b"".join(lines[:cut]))
        with open_journal(path) as after:
            assert list(after.entries()) == held
            assert after.remarks == ()
            third = make_entry()
            after.add(third)
            assert list(after.entries()) == [*held, third]
        assert all("after" in line or "row" in line for line in rows(ledger))


def test_what_the_database_lacks_is_put_back_and_said(
    journal: Journal, path: Path, make_entry: Any
) -> None:
    """Its log went, or an older copy of the file came: looks, corrections and removals return."""
    entries = [make_entry() for _ in range(3)]
    journal.add_all([], entries)
    journal.close()
    old = path.read_bytes()
    journal.amend(entries[0].id, changed_at=LATER, note="two stars")
    journal.remove_entry(entries[1].id, removed_at=LATER)
    newest = make_entry()
    journal.add(newest)
    journal.close()
    path.write_bytes(old)
    with open_journal(path) as after:
        (said,) = after.remarks
        assert "lacked 3 entries and 0 sessions" in said
        assert after.entry(entries[0].id).note == "two stars"
        assert [one.record for one in after.history(entries[0].id)] == [entries[0]]
        assert [one.record.id for one in after.removed()] == [entries[1].id]
        assert after.entries()[-1] == newest
    with open_journal(path) as again:
        assert again.remarks == ()
        assert again.count() == 3


@pytest.mark.parametrize("kind", ["missing", "folder", "link", "flipped"])
def test_a_ledger_that_is_none_is_made_anew(
    journal: Journal, path: Path, ledger: Path, make_entry: Any, kind: str
) -> None:
    """What stood in its place is kept; the database had everything."""
    for _ in range(3):
        journal.add(make_entry())
    journal.close()
    whole = rows(ledger)
    content, notes = bytearray(ledger.read_bytes()), path.with_name("notes.txt")
    ledger.unlink()
    if kind == "folder":
        ledger.mkdir()
    elif kind == "link":
        notes.write_text("my own")
        ledger.symlink_to(notes)
    elif kind == "flipped":
        content[len(content) // 2] ^= 1
        ledger.write_bytes(content)
    with open_journal(path) as after:
        entry = make_entry()
        after.add(entry)
    tables = [line for line in rows(ledger) if line.get("table") == "entry"]
    assert tables[:3] == [line for line in whole if line.get("table") == "entry"]
    assert tables[-1]["row"]["id"] == entry.id
    if kind == "link":
        assert notes.read_text() == "my own"
    if kind == "flipped":
        assert path.with_name("journal.damaged.ledger.jsonl").read_bytes() == content


def test_a_version_that_kept_no_ledger_has_written_since(
    journal: Journal, path: Path, ledger: Path, make_entry: Any
) -> None:
    """The ledger then lacks a look, and gets it."""
    first, second = make_entry(), make_entry()
    journal.add(first)
    old = ledger.read_bytes()
    journal.add(second)
    journal.close()
    ledger.write_bytes(old)
    with open_journal(path) as after:
        assert after.entries() == (first, second)
        assert after.remarks == ()
    names = [line["row"]["id"] for line in rows(ledger) if line.get("table") == "entry"]
    assert names == [first.id, second.id]


def test_a_ledger_alone_makes_a_journal(
    journal: Journal, path: Path, ledger: Path, make_entry: Any
) -> None:
    """The database and its copies are gone: everything comes back, and it is said."""
    entry = make_entry()
    journal.add(entry)
    journal.close()
    for file in path.parent.iterdir():
        if file != ledger:
            file.unlink()
    with open_journal(path) as after:
        assert after.entries() == (entry,)
        assert "was missing. 1 entry and 1 session" in after.remarks[0]
        assert "Nothing that was written is missing." in after.remarks[0]
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


HOSTILE = (
    "[" * 5000,
    "5",
    '{"after": "never"}',
    '{"table": "sqlite_schema", "number": 1, "row": {"id": "x", "revision": 9}}',
    '{"table": "entry", "number": 1, "row": {"id": {}, "revision": 9}}',
    '{"table": "entry", "number": 1, "row": {"id": "ID", "revision": 9}}',
    '{"table": "entry", "number": 1e99, "row": []}',
    '{"table": "former", "number": 1, "row": {"record_id": "x", "revision": 1, "record": []}}',
    '{"table": "former", "number": 1, "row": {"record_id": "x", "revision": 1%s}}' % ("0" * 400),
)


@pytest.mark.parametrize("text", HOSTILE)
def test_a_line_with_a_right_checksum_that_is_no_row(
    journal: Journal, path: Path, ledger: Path, make_entry: Any, text: str
) -> None:
    """It changes nothing, and the journal can be read and written."""
    entry, more = make_entry(), make_entry()
    journal.add(entry)
    journal.close()
    raw = text.replace("ID", entry.id).encode()
    lines = ledger.read_bytes().splitlines(keepends=True)
    for place in (1, len(lines) - 1, len(lines)):
        odd = b"%s\t%08x\n" % (raw, crc32(raw))
        ledger.write_bytes(b"".join([*lines[:place], odd, *lines[place:]]))
        with open_journal(path) as after:
            assert after.entries() == (entry,)
    with open_journal(path) as after:
        after.add(more)
        assert after.entries() == (entry, more)
