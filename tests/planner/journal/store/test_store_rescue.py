"""A damaged journal is set aside, and all that can be read goes into a new one."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from planner.journal.records import JournalEntry
from planner.journal.store import recovery as rescue_module
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import Journal, open_journal
from planner.journal.store.salvage import salvage

PAGE = 4096
LATER = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
COUNT = 150


@pytest.fixture
def kept(journal: Journal, make_entry: Any) -> dict[str, JournalEntry]:
    """The entries of a journal of some hundred pages, one of them corrected, by their ids."""
    entries = [make_entry(note=f"note {n}: " + "long " * (n * 8)) for n in range(COUNT)]
    journal.add_all([], entries)
    entries[7] = journal.amend(entries[7].id, changed_at=LATER, note="corrected", rating=1)
    journal.close()
    return {entry.id: entry for entry in entries}


def forget_copies(path: Path) -> None:
    """Take away what was copied by itself, so that only the file itself is left."""
    for copy in path.parent.glob("journal.backup-*.sqlite"):
        copy.unlink()
    path.with_name("journal.ledger.jsonl").unlink()


def damage(path: Path, change: Callable[[bytearray], None]) -> bytes:
    """Change the bytes of a file; give what it holds then."""
    content = bytearray(path.read_bytes())
    change(content)
    path.write_bytes(content)
    return bytes(content)


@pytest.mark.parametrize("has_copy", [True, False])
def test_without_its_first_page_all_is_recovered(
    path: Path, kept: dict[str, JournalEntry], session: Any, has_copy: bool
) -> None:
    """Header and tables gone: SQLite gives up, and every row is still found."""

    def change(content: bytearray) -> None:
        content[:PAGE] = bytes(PAGE)

    damaged = damage(path, change)
    if not has_copy:
        forget_copies(path)
    with open_journal(path) as journal:
        (remark,) = journal.remarks
        assert {entry.id: entry for entry in journal.entries()} == kept
        assert journal.sessions() == (session,)
        corrected = next(entry for entry in kept.values() if entry.note == "corrected")
        assert journal.history(corrected.id)[0].record.note.startswith("note 7")
        journal.add(replace(corrected, id="b" * 32))
    assert f"{COUNT} entries and 1 session could be read" in remark
    assert 'kept as "journal.damaged-1.sqlite"' in remark
    assert path.with_name("journal.damaged-1.sqlite").read_bytes() == damaged
    with open_journal(path) as journal:
        assert journal.remarks == ()
        assert journal.count() == COUNT + 1


@pytest.mark.parametrize("place", ["scattered", "cut", "zeros", "gone", "text"])
def test_with_its_copy_nothing_is_lost(
    path: Path, kept: dict[str, JournalEntry], session: Any, place: str
) -> None:
    """Whatever becomes of the file: the copy that was made on closing has all of it."""
    chance = random.Random(place)  # noqa: S311  # places, not secrets
    content = bytearray(path.read_bytes())
    if place == "scattered":
        for _ in range(60):
            content[chance.randrange(len(content))] = chance.randrange(256)
    elif place == "cut":
        del content[len(content) // 3 :]
    path.write_bytes({"zeros": bytes(len(content)), "text": b"my notes"}.get(place, content))
    if place == "gone":
        path.unlink()
    with open_journal(path) as journal:
        assert {entry.id: entry for entry in journal.entries()} == kept
        assert journal.sessions() == (session,)
        assert "150 entries and 1 session" in journal.remarks[0]
    with open_journal(path) as journal:
        assert journal.remarks == ()


@pytest.mark.parametrize("seed", range(6))
def test_scattered_damage_costs_no_more_than_its_pages(
    path: Path, kept: dict[str, JournalEntry], seed: int
) -> None:
    """With some pages overwritten, entries are as they were or lost with their page."""
    chance = random.Random(seed)  # noqa: S311  # places, not secrets
    forget_copies(path)

    def change(content: bytearray) -> None:
        pages = chance.sample(range(len(content) // PAGE), 8)
        for page in pages:
            content[page * PAGE : (page + 1) * PAGE] = chance.randbytes(PAGE)

    damage(path, change)
    with open_journal(path) as journal:
        found = {entry.id: entry for entry in journal.entries()}
        sessions = {session.id for session in journal.sessions()}
    assert {entry.session_id for entry in found.values()} <= sessions
    for entry_id, entry in found.items():
        # The end of a long row, note and sketch, stands on pages that carry no mark of being whole.
        assert replace(entry, note="", sketch="") == replace(kept[entry_id], note="", sketch="")
        assert entry.note[:50] == kept[entry_id].note[:50]
    # A page holds up to about ten of these; the first ones, short, share their pages.
    assert len(found) >= COUNT - 8 * 10


def test_a_cut_off_file_gives_what_is_left(path: Path, kept: dict[str, JournalEntry]) -> None:
    """Half a file is worth half of the entries."""
    content = path.read_bytes()
    forget_copies(path)
    path.write_bytes(content[: len(content) // 2 + 100])
    with open_journal(path) as journal:
        found = journal.entries()
        assert len(journal.remarks) == 1
    assert len(found) >= COUNT // 3
    assert all(kept[entry.id] == entry for entry in found)


def test_what_is_no_journal_is_kept_beside_a_new_one(path: Path) -> None:
    """A text file under the journal's name is not lost."""
    path.parent.mkdir()
    path.write_text("my notes, years of them\n" * 1000)
    with open_journal(path) as journal:
        assert journal.entries() == ()
        assert "0 entries and 0 sessions could be read" in journal.remarks[0]
    assert path.with_name("journal.damaged-1.sqlite").read_text().startswith("my notes")


def test_the_log_of_a_killed_program_is_recovered_too(
    journal: Journal, path: Path, kept: dict[str, JournalEntry], make_entry: Any
) -> None:
    """What stands in the write-ahead log counts, and more than what it has replaced."""
    newest = [make_entry(), make_entry()]
    for entry in newest:
        journal.add(entry)
    first = next(iter(kept.values()))
    journal.amend(first.id, changed_at=LATER, note="corrected in the log")
    path.with_name("journal.ledger.jsonl").unlink()
    found = salvage(path)
    assert set(found.entry) == {*kept, *(entry.id for entry in newest)}
    assert found.entry[first.id]["note"] == "corrected in the log"
    path.with_name("journal.sqlite-wal").rename(path.with_name("elsewhere"))
    assert set(salvage(path).entry) == set(kept)


def test_the_log_of_the_damaged_file_does_not_reach_the_new_one(
    path: Path, kept: dict[str, JournalEntry], make_entry: Any, tmp_path: Path
) -> None:
    """A log that a killed program has left belongs to the file set aside, and goes with it."""
    newest = make_entry()
    copy = tmp_path / "copy" / "journal.sqlite"
    copy.parent.mkdir()
    with open_journal(path) as journal:
        journal.add(newest)
        for ending in ("", "-wal"):  # as they are at a kill
            shutil.copy(f"{path}{ending}", f"{copy}{ending}")
    damage(copy, lambda content: content.__setitem__(slice(0, len(content)), bytes(len(content))))
    copy.with_name("journal.sqlite.rescued").write_bytes(path.read_bytes())
    rescue_module.finish_rescue(copy)
    assert [file.name for file in copy.parent.iterdir() if "lock" not in file.name] == [copy.name]
    with open_journal(copy) as journal:
        assert {entry.id for entry in journal.entries()} == {*kept, newest.id}
        assert journal.remarks == ()


def test_entries_whose_session_is_lost_get_a_stand_in(
    path: Path, kept: dict[str, JournalEntry], session: Any
) -> None:
    """No entry is given up because the record of its evening cannot be read."""
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM session")
    forget_copies(path)
    damage(path, lambda content: content.__setitem__(slice(0, 100), bytes(100)))
    with open_journal(path) as journal:
        (stand_in,) = journal.sessions()
        assert {entry.id: entry for entry in journal.entries()} == kept
    assert (stand_in.id, stand_in.site, stand_in.evening) == (
        session.id,
        "unknown",
        session.evening,
    )
    assert "damaged" in stand_in.comments


def test_a_second_damage_gets_a_second_name(path: Path, kept: dict[str, JournalEntry]) -> None:
    """What was set aside is never written over."""
    for number in (1, 2):
        damage(path, lambda content: content.__setitem__(slice(0, 20), bytes(20)))
        with open_journal(path) as journal:
            assert f"journal.damaged-{number}.sqlite" in journal.remarks[0]
            assert journal.count() == len(kept)


def test_an_open_journal_finds_the_new_file(path: Path, kept: dict[str, JournalEntry]) -> None:
    """Whoever had the damaged file open writes into the new one, not into the one set aside."""
    with open_journal(path) as early:
        shutil.copy(path, path.with_name("journal.sqlite.rescued"))
        rescue_module.finish_rescue(path)  # as another program does at the end of a rescue
        entry = replace(next(iter(kept.values())), id="c" * 32)
        early.add(entry)
    with open_journal(path) as late:
        assert late.entry(entry.id) == entry


def test_a_rescue_that_is_cut_short_is_finished_or_begun_again(
    path: Path, kept: dict[str, JournalEntry], monkeypatch: pytest.MonkeyPatch
) -> None:
    """At no moment does a power cut during a rescue lose what had been readable."""
    damage(path, lambda content: content.__setitem__(slice(0, 100), bytes(100)))
    with monkeypatch.context() as patch:
        patch.setattr(rescue_module, "fill", fail)
        with pytest.raises(JournalError, match="The disk is full"):
            open_journal(path)
    with monkeypatch.context() as patch:
        patch.setattr(rescue_module, "_take_over", fail)
        with pytest.raises(JournalError, match="The disk is full"):
            open_journal(path)
    with open_journal(path) as journal:
        assert {entry.id: entry for entry in journal.entries()} == kept


def fail(*_: object) -> None:
    """Fail as a full disk does."""
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize(
    ("place", "byte"),
    [
        (60, 0x7F),  # the version, sqlite.org "Database File Format" 1.3
        (68, 0x00),  # the mark of the program, the same
        (18, 0x09),  # the version that a writer needs, the same
    ],
)
def test_one_wrong_byte_in_the_header(
    path: Path, kept: dict[str, JournalEntry], place: int, byte: int
) -> None:
    """It makes no file of another program or of a newer version, and hides no entry."""
    damage(path, lambda content: content.__setitem__(place, byte))
    with open_journal(path) as journal:
        assert {entry.id: entry for entry in journal.entries()} == kept
    with open_journal(path) as journal:
        assert journal.remarks == ()


def test_a_quoted_byte_that_is_no_text(path: Path, kept: dict[str, JournalEntry]) -> None:
    """What SQLite says of a broken table may itself be unreadable, and is damage all the same."""
    definition = path.read_bytes().index(b"target_constellation TEXT")
    damage(path, lambda content: content.__setitem__(definition + 20, 0xF9))
    with open_journal(path) as journal:
        assert {entry.id: entry for entry in journal.entries()} == kept
        assert len(journal.remarks) == 1


def test_an_entry_that_does_not_tell_its_session_is_kept(
    path: Path, kept: dict[str, JournalEntry], session: Any
) -> None:
    """It goes to a stand-in, with the others of that fate."""
    content = path.read_bytes()
    first = next(iter(kept.values()))
    place = content.index(f"{first.id}{first.session_id}".encode()) + 32
    damage(path, lambda content: content.__setitem__(place, ord("?")))
    forget_copies(path)
    damage(path, lambda content: content.__setitem__(slice(0, 100), bytes(100)))
    with open_journal(path) as journal:
        assert set(kept) == {entry.id for entry in journal.entries()}
        assert {s.site for s in journal.sessions()} == {session.site, "unknown"}


@pytest.mark.parametrize("seed", range(16))
def test_any_damage_gets_an_answer(path: Path, kept: dict[str, JournalEntry], seed: int) -> None:
    """Bytes changed, cut off or overwritten anywhere: never a fault of the program."""
    chance = random.Random(seed)  # noqa: S311  # places, not secrets
    content = bytearray(path.read_bytes())
    if seed % 4 == 0:
        for _ in range(chance.randint(1, 200)):
            content[chance.randrange(len(content))] = chance.randrange(256)
    elif seed % 4 == 1:
        del content[chance.randrange(len(content)) :]
    elif seed % 4 == 2:
        for _ in range(chance.randint(1, 30)):
            content[chance.randrange(200)] = chance.randrange(256)
    else:
        start = chance.randrange(len(content))
        content[start : start + 20_000] = chance.randbytes(len(content[start : start + 20_000]))
    path.write_bytes(content)
    with open_journal(path) as journal:
        count = len(journal.entries())
        assert all(entry.id in kept for entry in journal.entries()) or journal.remarks
    with open_journal(path) as journal:
        assert len(journal.entries()) == count


@pytest.mark.parametrize("word", [b"sketch", b"target_name", b"revision", b"evening"])
def test_a_changed_name_of_a_column(
    path: Path, kept: dict[str, JournalEntry], word: bytes, make_entry: Any
) -> None:
    """A table that is not as it was made is damage, also where reading would still work."""
    place = path.read_bytes().index(word)
    damage(path, lambda content: content.__setitem__(place, ord("x")))
    with open_journal(path) as journal:
        journal.add(make_entry())
        assert journal.count() == len(kept) + 1
        assert len(journal.remarks) == 1


@pytest.mark.parametrize("has_copy", [True, False])
def test_a_changed_id_of_a_session(
    path: Path, kept: dict[str, JournalEntry], session: Any, has_copy: bool
) -> None:
    """With the copy it is as it was; without, its looks get a stand-in."""
    place = path.read_bytes().rindex(session.id.encode() + b"2026-11-25Garden")
    other = ord("f" if session.id[0] != "f" else "e")
    damage(path, lambda content: content.__setitem__(place, other))
    if not has_copy:
        forget_copies(path)
    with open_journal(path) as journal:
        assert {entry.id: entry for entry in journal.entries()} == kept
        sessions = {one.id: one for one in journal.sessions()}
        assert session.id in sessions
        assert not has_copy or list(sessions.values()) == [session]


def test_a_link_stays_a_link(path: Path, kept: dict[str, JournalEntry]) -> None:
    """A journal that is kept elsewhere is made anew there, not in the place of the link."""
    real = path.with_name("elsewhere.sqlite")
    path.rename(real)
    forget_copies(path)
    path.symlink_to(real)
    damage(real, lambda content: content.__setitem__(slice(0, 100), bytes(100)))
    with open_journal(path) as journal:
        assert journal.count() == len(kept)
    assert path.is_symlink()
    assert real.with_name("elsewhere.damaged-1.sqlite").exists()


def test_a_stand_in_for_a_look_with_a_date_out_of_bounds(
    path: Path, kept: dict[str, JournalEntry]
) -> None:
    """Two faults at once do not close the journal: the look is kept, named and passed over."""
    odd = next(iter(kept))
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM session")
        db.execute("UPDATE entry SET at = '0001-01-01T00:00:00+00:00' WHERE id = ?", (odd,))
        db.execute("UPDATE entry SET session_id = ? WHERE id = ?", ("d" * 32, odd))
    forget_copies(path)
    damage(path, lambda content: content.__setitem__(slice(0, 100), bytes(100)))
    with open_journal(path) as journal:
        assert journal.count() == len(kept) - 1
        journal.name_passed_over()
        assert any(odd[:8] in remark for remark in journal.remarks)
