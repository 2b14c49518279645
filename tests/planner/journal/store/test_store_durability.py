"""What was acknowledged stays: through kills, crowds, full disks and closed doors."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from planner.journal.store import connection
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import Journal, open_journal

WRITER = Path(__file__).parent / "writing.py"
WRITES = 250
CROWD = 400
EVENINGS = 100  # as many as beginning.py begins
CORRECTIONS = 150  # as many as amending.py makes
SMALL_FILE_BYTES = 1_000_000
NOBODY = 65534  # the account without rights, by custom


def write(path: Path, session_id: str, count: int, **options: Any) -> subprocess.Popen[str]:
    """Start a program that adds entries."""
    return subprocess.Popen(
        [sys.executable, str(WRITER), str(path), session_id, str(count)],
        stdout=subprocess.PIPE, text=True, **options,
    )  # fmt: skip


def test_a_kill_loses_and_doubles_nothing(journal: Journal, path: Path, session: Any) -> None:
    """Killed at random moments through 250 writes, all that was acknowledged is there, once."""
    chance = random.Random(6)  # noqa: S311  # moments, not secrets
    journal.close()
    acknowledged: list[str] = []
    kills = 0
    while len(acknowledged) < WRITES:
        writer = write(path, session.id, WRITES)
        assert writer.stdout is not None
        wanted = chance.randint(1, 70)
        acknowledged += [writer.stdout.readline().strip() for _ in range(wanted)]
        time.sleep(chance.uniform(0.0, 0.002))
        writer.send_signal(signal.SIGKILL)
        rest = writer.stdout.read().split("\n")[:-1]  # the last line may be cut
        writer.wait()
        writer.stdout.close()
        acknowledged += rest
        kills += 1
        with open_journal(path) as after:
            held = Counter(entry.id for entry in after.entries())
            assert after.remarks == ()
        assert set(acknowledged) <= set(held)
        # One more may have been kept by each writer than it could say.
        assert len(held) <= len(acknowledged) + kills
        assert max(held.values()) == 1
    assert kills > 2


def test_two_writers_at_once(journal: Journal, path: Path, session: Any) -> None:
    """Two programs that write at once lose none of each other's entries."""
    journal.close()
    writers = [write(path, session.id, CROWD) for _ in range(2)]
    outputs = [writer.communicate()[0] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0], outputs
    said = [line for output in outputs for line in output.split()]
    with open_journal(path) as after:
        assert sorted(entry.id for entry in after.entries()) == sorted(said)
    assert len(said) == 2 * CROWD


def test_two_who_correct_one_entry(journal: Journal, path: Path, make_entry: Any) -> None:
    """Each correction finds the one before it: none is refused, and none goes missing."""
    entry = make_entry()
    journal.add(entry)
    script = Path(__file__).parent / "amending.py"
    command = [sys.executable, str(script), str(path), entry.id]
    both = [subprocess.Popen([*command, word], stderr=subprocess.PIPE) for word in ("one", "two")]
    faults = [program.communicate()[1].decode() for program in both]
    assert faults == ["", ""]
    assert len(journal.history(entry.id)) == 2 * CORRECTIONS


def test_two_who_begin_one_evening(path: Path) -> None:
    """They share a session, whoever was first; looks take the session's sky."""
    command = [sys.executable, str(Path(__file__).parent / "beginning.py"), str(path)]
    both = [subprocess.Popen(command, stderr=subprocess.PIPE) for _ in range(2)]
    assert [program.communicate()[1].decode() for program in both] == ["", ""]
    with open_journal(path) as journal:
        sessions, entries = journal.sessions(), journal.entries()
    assert len({session.evening for session in sessions}) == len(sessions) == EVENINGS
    assert Counter(entry.session_id for entry in entries) == {s.id: 2 for s in sessions}
    assert {(entry.seeing, session.seeing) for entry in entries for session in sessions} == {
        (None, "II")
    }


@contextmanager
def small_disk(folder: Path) -> Iterator[None]:
    """Put a small file system on a folder."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={SMALL_FILE_BYTES}", "tmpfs", str(folder)]
    if os.name != "posix" or subprocess.run(mount, check=False, capture_output=True).returncode:
        pytest.skip("only the administrator can make a small disk")
    try:
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_is_said_and_costs_nothing(tmp_path: Path, session: Any) -> None:
    """Where the disk is full the entry is refused; those before it are there."""
    with small_disk(tmp_path / "disk"):
        path = tmp_path / "disk" / "journal.sqlite"
        with open_journal(path) as journal:
            journal.add_session(session)
        writer = write(path, session.id, 10_000)
        *said, fault = writer.communicate()[0].splitlines()
        assert writer.returncode == 3
        assert fault.startswith("The disk is full: the journal")
        assert "Traceback" not in fault
        assert len(said) > 20
        with open_journal(path) as journal:
            assert [entry.id for entry in journal.entries()] == said
            assert journal.remarks == ()


def test_without_a_free_byte_it_can_be_read(tmp_path: Path, session: Any, make_entry: Any) -> None:
    """A disk filled to the last byte hides no look; an added one is refused for that reason."""
    with small_disk(tmp_path / "disk"):
        path, entry = tmp_path / "disk" / "journal.sqlite", make_entry()
        with open_journal(path) as journal:
            journal.add_all([session], [entry])
        with suppress(OSError), path.with_name("filling").open("wb", buffering=0) as filling:
            while filling.write(bytes(1000)):
                pass
        with open_journal(path) as journal:
            assert journal.entries() == (entry,)
            with pytest.raises(JournalError, match="The disk is full"):
                journal.add(make_entry())


@pytest.mark.skipif(sys.platform == "win32", reason="rights of folders are POSIX")
def test_a_log_in_a_read_only_folder_counts(session: Any, make_entry: Any) -> None:
    """What a killed program has left in the log is shown where nothing may be written."""
    with TemporaryDirectory() as name:
        path, left = Path(name) / "a" / "journal.sqlite", Path(name) / "b" / "journal.sqlite"
        left.parent.mkdir()
        entries = tuple(make_entry() for _ in range(6))
        with open_journal(path) as journal:
            journal.add_session(session)
            for entry in entries:
                journal.add(entry)
            for ending in ("", "-wal"):  # as they are at a kill
                shutil.copy(f"{path}{ending}", f"{left}{ending}")
        for file in left.parent.iterdir():
            file.chmod(0o444)
        Path(name).chmod(0o755)
        left.parent.chmod(0o555)
        with without_rights(), open_journal(left) as journal:
            assert journal.entries() == entries
            with pytest.raises(JournalError, match="cannot be opened for writing"):
                journal.add(make_entry())
        left.parent.chmod(0o755)


def limit_files() -> None:
    """Let the program write no file larger than a megabyte."""
    import resource  # noqa: PLC0415  # not on every system

    resource.setrlimit(resource.RLIMIT_FSIZE, (SMALL_FILE_BYTES, SMALL_FILE_BYTES))


@pytest.mark.skipif(sys.platform == "win32", reason="limits of this kind are POSIX")
def test_a_write_that_fails_costs_nothing(journal: Journal, path: Path, session: Any) -> None:
    """Where the system refuses to write, the entry is refused; those before it are there."""
    journal.close()
    writer = write(path, session.id, 10_000, preexec_fn=limit_files)
    *said, fault = writer.communicate()[0].splitlines()
    assert writer.returncode == 3
    assert fault.startswith(("The journal", "The disk is full"))
    assert "unharmed" in fault
    assert len(said) > 20
    with open_journal(path) as after:
        assert [entry.id for entry in after.entries()] == said


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    """The folder that cannot be made is named."""
    (tmp_path / "data").write_text("a file")
    with pytest.raises(JournalError, match=r'folder ".*data" for the journal cannot be made'):
        open_journal(tmp_path / "data" / "journal.sqlite")
    assert (tmp_path / "data").read_text() == "a file"


def test_a_folder_in_place_of_the_file(path: Path) -> None:
    """A folder is no journal, and stays."""
    path.mkdir(parents=True)
    with pytest.raises(JournalError, match=r"cannot be opened for writing; check the rights"):
        open_journal(path)
    assert path.is_dir()


@contextmanager
def without_rights() -> Iterator[None]:
    """Return up the administrator's rights, to whom no folder is closed."""
    if os.getuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.skipif(sys.platform == "win32", reason="rights of folders are POSIX")
def test_a_read_only_folder_can_be_read(session: Any, make_entry: Any) -> None:
    """Without the right to write, the journal is read, and a change is refused in a sentence."""
    entry = make_entry()
    with TemporaryDirectory() as name:
        path = Path(name) / "journal.sqlite"
        with open_journal(path) as journal:
            journal.add_all([session], [entry])
        path.chmod(0o444)
        path.parent.chmod(0o555)
        with without_rights(), open_journal(path) as journal:
            assert journal.entries() == (entry,)
            with pytest.raises(JournalError, match="cannot be opened for writing; check the rig"):
                journal.add(make_entry())
        path.parent.chmod(0o755)
        with open_journal(path) as journal:
            assert journal.entries() == (entry,)


@pytest.mark.skipif(sys.platform == "win32", reason="rights of folders are POSIX")
def test_a_read_only_folder_gets_no_journal() -> None:
    """Where nothing may be made, the sentence says where."""
    with TemporaryDirectory() as name:
        Path(name).chmod(0o555)
        path = Path(name) / "journal.sqlite"
        with without_rights(), pytest.raises(JournalError, match=f"{path} cannot be opened for w"):
            open_journal(path)
        Path(name).chmod(0o755)
        assert list(Path(name).iterdir()) == []


def test_a_busy_journal_says_so(
    journal: Journal, path: Path, make_entry: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that keeps the file to itself for too long is named as the cause."""
    monkeypatch.setattr(connection, "BUSY_S", 0.05)
    with closing(sqlite3.connect(path, isolation_level=None)) as other, open_journal(path) as late:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(JournalError, match="in use by another program; try again"):
            late.add(make_entry())
        other.execute("ROLLBACK")
        late.add(make_entry())
    assert journal.count() == 1
