"""What was entered by mistake goes out of every answer, stays in the file, and comes back."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.journal.records import JournalEntry, JournalSession, LoggedTarget, new_id
from planner.journal.store.errors import JournalError
from planner.journal.store.history import Former
from planner.journal.store.journal import Journal, open_journal
from planner.journal.store.salvage import salvage

LATER = datetime(2026, 11, 26, 1, 5, tzinfo=UTC)
FILES = Path(__file__).parent / "files"
CROWD = 120
WAIT_S = 0.3


def test_a_removed_entry_is_in_no_answer_but_one(journal: Journal, make_entry: Any) -> None:
    """Neither listed, counted, seen nor an opinion; among what was removed, with the time."""
    right = make_entry(target=LoggedTarget("M45", "M45 Pleiades", "open cluster"))
    wrong = make_entry(rating=1)
    journal.add_all([], [right, wrong])
    assert journal.remove_entry(wrong.id, removed_at=LATER) == wrong
    with open_journal(journal.path) as again:
        assert again.entries() == (right,)
        assert again.entries(target_id=wrong.target.id) == ()
        assert (again.count(), again.count(target_id=wrong.target.id)) == (1, 0)
        assert again.columns("id") == [(right.id,)]
        assert again.opinions(wrong.train.telescope, "rating") == [(4,)]
        assert again.seen_ids() == {"M45"}
        assert again.removed() == (Former(LATER, wrong),)
        assert again.removed(target_id="M45") == again.removed(since=LATER) == ()
        assert again.removed(eyepiece=wrong.train.eyepiece) == (Former(LATER, wrong),)


def test_a_restored_entry_is_as_it_was(journal: Journal, make_entry: Any) -> None:
    """In its old place, with its former states, and corrected as any other."""
    first, wrong, last = make_entry(), make_entry(), make_entry()
    journal.add_all([], [first, wrong, last])
    corrected = journal.amend(wrong.id, changed_at=LATER, note="better")
    journal.remove_entry(wrong.id[:8].upper(), removed_at=LATER)
    assert journal.history(wrong.id) == (Former(LATER, wrong),)
    assert journal.restore_entry(wrong.id[:8]) == corrected
    assert journal.entries() == (first, corrected, last)
    assert journal.removed() == ()
    journal.amend(wrong.id, changed_at=LATER, note="best")
    assert [former.record for former in journal.history(wrong.id)] == [wrong, corrected]
    assert journal.seen_ids() == {wrong.target.id}


def test_what_cannot_be_removed_or_restored_is_told(journal: Journal, make_entry: Any) -> None:
    """Unknown, removed before, never removed, too few digits: a sentence each, and no change."""
    kept, gone, other = (make_entry(id=f"3f2{digit}" + "0" * 28) for digit in "abc")
    journal.add_all([], [kept, gone, other])
    for entry in (gone, other):
        journal.remove_entry(entry.id, removed_at=LATER)
    removed = r'3f2b0000 was removed on 2026-11-26 at 01:05 UT; "journal restore 3f2b0000" brings'
    for work, digits, words in (
        (remove, "9", 'There is no entry in the journal whose id begins with "9"'),
        (remove, "", "There is no entry"),
        (remove, "3f2b", removed),
        (Journal.entry, "3f2b", removed),
        (correct, "3f2b", removed),
        (Journal.restore_entry, "9", 'There is no removed entry whose id begins with "9"'),
        (Journal.restore_entry, "3f2a", "The entry 3f2a0000 is in the journal already"),
        (Journal.restore_entry, "3f2", "More than one id begins with"),
    ):
        with pytest.raises(JournalError, match=words):
            work(journal, digits)
    assert [former.record for former in journal.removed()] == [gone, other]
    assert journal.entry("3f2") == kept  # what was removed is in nobody's way
    with pytest.raises(JournalError, match="has no time zone"):
        journal.remove_entry(kept.id, removed_at=datetime(2026, 1, 1))  # noqa: DTZ001  # the fault
    assert journal.entries() == (kept,)
    assert journal.history(gone.id) == ()


def remove(journal: Journal, digits: str) -> JournalEntry:
    """Remove an entry at some other time."""
    return journal.remove_entry(digits, removed_at=LATER + timedelta(days=1))


def correct(journal: Journal, digits: str) -> JournalEntry:
    """Correct an entry."""
    return journal.amend(digits, changed_at=LATER, note="x")


def test_the_id_of_a_removed_entry_stays_taken(journal: Journal, make_entry: Any) -> None:
    """It could not be restored else."""
    entry = make_entry()
    journal.add(entry)
    journal.remove_entry(entry.id, removed_at=LATER)
    with pytest.raises(JournalError, match="in the journal already, under the same id"):
        journal.add(replace(entry, note="another"))
    assert journal.restore_entry(entry.id) == entry


MOVES = st.lists(
    st.tuples(st.sampled_from(["add", "remove", "restore", "amend"]), st.integers(0, 5)),
    max_size=25,
)


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(moves=MOVES)
def test_whatever_is_done_nothing_is_lost(
    moves: list[tuple[str, int]], tmp_path: Path, session: Any, make_entry: Any
) -> None:
    """After any moves each entry is in one of two places, as it was last written."""
    entries = [make_entry() for _ in range(6)]
    kept: dict[str, JournalEntry] = {}
    gone: dict[str, JournalEntry] = {}
    with open_journal(tmp_path / new_id() / "journal.sqlite") as journal:
        journal.add_session(session)
        for step, (move, number) in enumerate(moves):
            entry = entries[number]
            try:
                if move == "add":
                    journal.add(entry)
                    kept[entry.id] = entry
                elif move == "remove":
                    gone[entry.id] = journal.remove_entry(entry.id, removed_at=LATER)
                    del kept[entry.id]
                elif move == "restore":
                    kept[entry.id] = journal.restore_entry(entry.id)
                    del gone[entry.id]
                else:
                    note = f"step {step}"
                    journal.amend(entry.id, changed_at=LATER, note=note)
                    kept[entry.id] = replace(kept[entry.id], note=note)
            except JournalError:
                refused = {"add": kept.keys() | gone.keys(), "restore": entries_but(entries, gone)}
                assert entry.id in refused.get(move, entries_but(entries, kept))
            assert {one.id: one for one in journal.entries()} == kept
            assert {one.record.id: one.record for one in journal.removed()} == gone


def entries_but(entries: list[JournalEntry], some: dict[str, JournalEntry]) -> set[str]:
    """Return the ids of all entries but some."""
    return {entry.id for entry in entries} - some.keys()


def test_two_who_remove_the_same_entries(journal: Journal, path: Path, make_entry: Any) -> None:
    """Each entry is removed by one of them, and the other is told that it was."""
    entries = [make_entry() for _ in range(CROWD)]
    journal.add_all([], entries)
    ids = [entry.id for entry in entries]
    script = str(Path(__file__).parent / "removing.py")
    command = [sys.executable, script, str(path), *ids]
    both = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    said = [program.communicate() for program in both]
    assert [fault for _, fault in said] == ["", ""]
    assert sorted(line for output, _ in said for line in output.split()) == sorted(ids)
    assert (journal.count(), len(journal.removed())) == (0, CROWD)


def test_who_comes_second_is_told(journal: Journal, path: Path, make_entry: Any) -> None:
    """He waits for the first, finds the entry removed, and leaves the time as it is."""
    entry = make_entry()
    journal.add(entry)
    second = threading.Thread(target=refused_removal, args=(path, entry.id, told := []))
    with closing(sqlite3.connect(path, isolation_level=None)) as first:
        first.execute("BEGIN IMMEDIATE")
        first.execute("UPDATE entry SET removed_at = ?", (LATER.isoformat(),))
        second.start()
        second.join(timeout=WAIT_S)  # by then he has come, and waits
        assert told == []
        first.execute("COMMIT")
    second.join()
    assert "was removed on 2026-11-26 at 01:05 UT" in told[0]
    assert journal.removed() == (Former(LATER, entry),)


def refused_removal(path: Path, entry_id: str, told: list[str]) -> None:
    """Remove an entry as another program does; tell what it is told."""
    with open_journal(path) as journal:
        try:
            remove(journal, entry_id)
            told.append("done")
        except JournalError as error:
            told.append(str(error))


def lose_first_page(path: Path) -> None:
    """Take header and tables from a file."""
    path.write_bytes(bytes(4096) + path.read_bytes()[4096:])


def test_damage_brings_nothing_back(journal: Journal, path: Path, make_entry: Any) -> None:
    """What a rescue recovers is removed if it was, and back if it was restored."""
    kept, gone, back = entries = [make_entry() for _ in range(3)]
    journal.add_all([], entries)
    for entry in (gone, back):
        journal.remove_entry(entry.id, removed_at=LATER)
    journal.restore_entry(back.id)
    journal.close()
    lose_first_page(path)
    with open_journal(path) as rescued:
        assert len(rescued.remarks) == 1
        assert rescued.entries() == (kept, back)
        assert rescued.removed() == (Former(LATER, gone),)
        assert rescued.restore_entry(gone.id) == gone


def test_a_removal_in_the_log_counts_more(journal: Journal, path: Path, make_entry: Any) -> None:
    """Of two copies of an entry the later one tells whether it was removed."""
    entry = make_entry()
    journal.add(entry)
    journal.close()
    journal.remove_entry(entry.id, removed_at=LATER)  # in the log until it is closed
    path.with_name("journal.ledger.jsonl").unlink()
    found = salvage(path).entry[entry.id]["removed_at"]
    assert datetime.fromisoformat(found) == LATER
    path.with_name("journal.sqlite-wal").rename(path.with_name("elsewhere"))
    assert salvage(path).entry[entry.id]["removed_at"] is None


def test_a_removal_that_cannot_be_read_hides_nothing(
    journal: Journal, path: Path, make_entry: Any
) -> None:
    """An entry whose time of removal is damaged is shown once more."""
    entry = make_entry()
    journal.add(entry)
    journal.remove_entry(entry.id, removed_at=LATER)
    journal.close()
    content = path.read_bytes()
    assert b"2026-11-26T01:05" in content
    path.write_bytes(content.replace(b"2026-11-26T01:05", b"2026-11-26T0?:05"))
    path.with_name("journal.backup-1.sqlite").unlink()
    path.with_name("journal.ledger.jsonl").unlink()
    with open_journal(path) as damaged:
        assert damaged.removed() == ()
        assert damaged.entries() == (entry,)
        assert len(damaged.remarks) == 1


@pytest.mark.parametrize("version", [1, 2, 3])
def test_rows_of_older_versions_are_recovered(path: Path, version: int) -> None:
    """They are shorter than those of today, and are whole all the same."""
    path.parent.mkdir()
    shutil.copy(FILES / f"version-{version}.sqlite", path)
    with open_journal(path) as journal:
        before = journal.entries()
    lose_first_page(path)
    with open_journal(path) as journal:
        assert journal.entries() == before
        assert len(before) == 2


def test_a_session_begun_by_mistake_counts_no_more(
    journal: Journal, session: JournalSession, make_entry: Any
) -> None:
    """That of a look on a wrong date; not one with another look, or of which something is noted."""
    start = session.start - timedelta(days=30)
    wrong = JournalSession(new_id(), start.date(), "Garden", "UTC", start)
    entry = make_entry()
    journal.add(entry)
    first = journal.add_to_evening(replace(entry, id=new_id(), at=start), wrong)
    assert journal.counted_sessions() == (wrong, session)
    journal.remove_entry(first.id, removed_at=LATER)
    journal.remove_entry(entry.id, removed_at=LATER)
    assert journal.counted_sessions() == (session,)  # it was noted for itself
    assert journal.sessions() == (wrong, session)
    second = replace(entry, id=new_id(), at=start + timedelta(hours=1))
    second = journal.add_to_evening(second, wrong)
    assert journal.counted_sessions() == (wrong, session)
    journal.remove_entry(second.id, removed_at=LATER)
    assert journal.counted_sessions() == (session,)
    noted = journal.change_session(wrong.id, changed_at=LATER, weather="cloud")
    assert journal.counted_sessions() == (noted, session)


def test_a_program_that_knows_no_removal_does_no_harm(
    journal: Journal, path: Path, make_entry: Any
) -> None:
    """One of the version before, open while the file was brought up to date, writes on."""
    entry = make_entry()
    journal.add(entry)
    journal.remove_entry(entry.id, removed_at=LATER)
    with closing(sqlite3.connect(path)) as old, old:
        old.execute(
            "UPDATE entry SET note = 'x', revision = revision + 1 WHERE id = ?", (entry.id,)
        )
    assert journal.entries() == ()
    assert journal.removed() == (Former(LATER, replace(entry, note="x")),)
