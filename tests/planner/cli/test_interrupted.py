"""Ctrl-C during long work: status 130, not a word of Python's, and nothing half done."""

from __future__ import annotations

import ast
import os
import random
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.journal.store.journal import open_journal
from targets.userlists.store import read_list

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
ROWS = 12_000
# While it loads, and while it reads; None is when it has begun to write.
MOMENTS_S = (0.1, 0.7, None)
MANY = 60


def interrupted(folder: Path, after_s: float | None, *words: str) -> tuple[int, str]:
    """Run a command, interrupt it, and return its status and what it said.

    Without a time it is interrupted as soon as there is a file in the folder of the lists.
    """
    names = ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")
    environment = {**os.environ, **dict.fromkeys(names, str(folder / "home"))}
    code = "from planner.__main__ import run\nprint(1, flush=True)\nrun()"
    program = subprocess.Popen(
        [sys.executable, "-c", code, *words],
        env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert program.stdout is not None
    program.stdout.readline()  # Python itself has started, and the program's first lines
    lists = folder / "data" / "lists"
    while after_s is None and program.poll() is None and not any(lists.glob("*")):
        time.sleep(0.001)
    time.sleep(after_s or 0.0)
    program.send_signal(signal.SIGINT)
    _, said = program.communicate(timeout=120)
    return program.returncode, said


def table(path: Path, rows: int) -> Path:
    """Write a table of own targets."""
    lines = (f"Own {n},{n % 3600 / 10},{n % 1500 / 10 - 60},galaxy\n" for n in range(rows))
    path.write_text("name,ra (deg),dec (deg),kind\n" + "".join(lines))
    return path


def whole_or_none(folder: Path, after_s: float | None, file: Path) -> int:
    """Add a list and interrupt that; make sure that all of it or nothing is there."""
    data = folder / "data"
    status, said = interrupted(folder, after_s, "targets", "add", str(file), "--data", str(data))
    assert status in {0, 130}, said
    assert "Traceback" not in said
    lists = data / "lists"
    kept = sorted(path.name for path in lists.iterdir()) if lists.is_dir() else []
    assert kept in ([], [f"{file.stem}.list.jsonl"])
    assert status == 130 or kept
    for name in kept:
        assert len(read_list(lists / name).entries) == ROWS
        (lists / name).unlink()
    return status


def test_an_interrupted_list_is_whole_or_not_there(tmp_path: Path) -> None:
    """At some moments while it is read and kept."""
    file = table(tmp_path / "own.csv", ROWS)
    found = [whole_or_none(tmp_path, moment, file) for moment in MOMENTS_S]
    assert 130 in found


def test_nothing_is_loaded_before_an_interruption_is_heard() -> None:
    """What the program's first lines load, Python could be interrupted in, with a traceback."""
    code = "import sys; had = {*sys.modules}; import planner.__main__; print({*sys.modules} - had)"
    run = [sys.executable, "-c", code]
    told = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert set(ast.literal_eval(told)) <= {"planner", "planner.__main__"}


@pytest.mark.slow
def test_an_interrupted_import_is_whole_or_nothing(tmp_path: Path) -> None:
    """From the first to the last moment; what else is left can be opened."""
    dice = random.Random(8)  # noqa: S311  # moments, not secrets
    first = datetime(2026, 1, 1, 20, tzinfo=UTC)
    looks = [f"{first + timedelta(hours=n)},M {n % 110 + 1}\n" for n in range(3_000)]
    file = tmp_path / "looks.csv"
    file.write_text("at,target_name\n" + "".join(looks))
    found = []
    for number in range(MANY):
        data = tmp_path / f"data{number}"
        words = ("journal", "import", str(file), "--data", str(data))
        status, said = interrupted(tmp_path, dice.uniform(0.0, 2.5), *words)
        assert status in {0, 130}, said
        assert "Traceback" not in said
        assert not data.exists() or not list(data.glob(".*"))
        kept = 0
        if (data / "journal.sqlite").exists():
            with open_journal(data / "journal.sqlite") as journal:
                kept = len(journal.ids())
                assert journal.remarks == ()
        assert kept in {0, len(looks)}
        assert status == 130 or kept
        found.append(status)
    assert 130 in found


@pytest.mark.slow
def test_interrupted_at_many_moments(tmp_path: Path) -> None:
    """From the first to the last moment."""
    dice = random.Random(7)  # noqa: S311  # moments, not secrets
    file = table(tmp_path / "own.csv", ROWS)
    found = [whole_or_none(tmp_path, dice.uniform(0.0, 4.0), file) for _ in range(MANY)]
    assert 130 in found
