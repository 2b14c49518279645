"""What may not be read or written is said in sentences; what is kept is its owner's alone."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest

COMMANDS = Path(__file__).parent / "commands_in_turn.py"
DONE, NOTHING, WRONG_INPUT = 0, 1, 2
TOO_LONG = "n" * 300  # no system takes a name of more than 255 bytes

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="rights of folders are POSIX")


def without_privileges() -> list[str]:
    """Return what to put before a command so that rights count, for the administrator too."""
    if os.getuid() != 0:
        return []
    names = "-dac_override,-dac_read_search"
    words = ["setpriv", f"--bounding-set={names}", f"--inh-caps={names}"]
    if shutil.which("setpriv") is None or subprocess.run([*words, "true"], check=False).returncode:
        pytest.skip("the administrator may read everything here")
    return words


def statuses(file: Path, *folders: Path) -> dict[Path, dict[str, tuple[int, str]]]:
    """Run all commands in each folder; return the status and the talk of each."""
    command = [*without_privileges(), sys.executable, str(COMMANDS), str(file), *map(str, folders)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=300)
    found: dict[Path, dict[str, tuple[int, str]]] = {folder: {} for folder in folders}
    for folder, words, status, talk in map(json.loads, done.stdout.splitlines()):
        found[Path(folder)][words] = status, talk
    return found


def closed(folder: Path) -> Path:
    """Return a folder that nobody may look into, though a journal is there."""
    folder.mkdir()
    (folder / "journal.sqlite").write_bytes(b"")
    folder.chmod(0)
    return folder


def read_only(folder: Path) -> Path:
    """Return an empty folder in which nothing may be made."""
    folder.mkdir()
    folder.chmod(0o500)
    return folder


def below_a_file(folder: Path) -> Path:
    """Return a folder that cannot be: a plain file is above it."""
    folder.write_text("a plain file")
    return folder / "below"


def unreadable_inside(folder: Path) -> Path:
    """Return a folder whose journal and lists may not be read."""
    (folder / "lists").mkdir(parents=True)
    (folder / "lists").chmod(0)
    (folder / "journal.sqlite").write_bytes(b"SQLite format 3\0")
    (folder / "journal.sqlite").chmod(0)
    return folder


def full_of_pipes(folder: Path) -> Path:
    """Return a folder in which pipes stand where files should: reading one would never end."""
    (folder / "lists").mkdir(parents=True)
    for name in ("lists/mine.list.json", "lists/two.orbits.json", "journal.sqlite-wal"):
        os.mkfifo(folder / name)
    return folder


def test_no_command_ends_in_a_fault_of_the_program(tmp_path: Path) -> None:
    """Whatever the folder is, each command is done, or says in words what it may not."""
    file = tmp_path / "mine.txt"
    file.write_text("M31\nM42\n")
    makers = (closed, read_only, below_a_file, unreadable_inside, full_of_pipes)
    folders = {made(tmp_path / made.__name__): made for made in makers}
    try:
        found = statuses(file, *folders)
    finally:
        for path in tmp_path.glob("*/"):
            path.chmod(0o700)
        (tmp_path / unreadable_inside.__name__ / "lists").chmod(0o700)
    for folder, made in folders.items():
        assert len(found[folder]) == 18
        for command, (status, talk) in found[folder].items():
            assert status in {DONE, NOTHING, WRONG_INPUT}, (made, command, talk)
            assert "Traceback" not in talk
            assert status != WRONG_INPUT or talk.startswith("fieldstop: ")
        if made is not below_a_file:
            plan = "plan --date 2026-12-08 --count 1 --list bright-planetaries"
            assert found[folder][plan][0] == DONE


def test_a_name_that_is_too_long_is_a_sentence(tmp_path: Path) -> None:
    """As the folder of the program, and as one that is named."""
    file = tmp_path / "mine.txt"
    file.write_text("M31\n")
    (found,) = statuses(file, tmp_path / TOO_LONG).values()
    for command, (status, talk) in found.items():
        assert status in {DONE, NOTHING, WRONG_INPUT}, (command, talk)
        assert status == DONE or "too long" in talk or "no list of your own" in talk


def test_what_is_kept_is_its_owners_alone(tmp_path: Path) -> None:
    """Journal, its copies and lists tell where home is: 0600 in folders of 0700."""
    file, data = tmp_path / "mine.txt", tmp_path / "above" / "data"
    file.write_text("M31\n")
    mask = os.umask(0)
    try:
        statuses(file, data)
    finally:
        os.umask(mask)
    made = [tmp_path / "above", data, *data.rglob("*")]
    rights = {path.relative_to(tmp_path): stat.S_IMODE(path.stat().st_mode) for path in made}
    assert {rights[path.relative_to(tmp_path)] for path in made if path.is_dir()} == {0o700}
    assert {rights[path.relative_to(tmp_path)] for path in made if path.is_file()} == {0o600}
    assert Path("above/data/journal.backup-1.sqlite") in rights
