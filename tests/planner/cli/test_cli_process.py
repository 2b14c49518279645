"""The program as the shell sees it: pipes, full disks, plain terminals, what it loads."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

PROGRAM = [sys.executable, "-m", "planner"]
FULL = Path("/dev/full")
HEAVY = ("pandas", "astropy", "textual", "rich", "tzfpy", "matplotlib")


@pytest.fixture
def shell_environment(tmp_path: Path) -> dict[str, str]:
    """Return an environment whose home holds no configuration, with output buffered as usual."""
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    return usual | {"HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}


def _run(*argv: str, env: dict[str, str], **more: Any) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([*PROGRAM, *argv], env=env, stderr=subprocess.PIPE, check=False, **more)


def test_a_reader_that_has_had_enough_ends_it_quietly(shell_environment: dict[str, str]) -> None:
    """As in ``fieldstop targets list | head -1``: no traceback, no complaint on the way out."""
    read, write = os.pipe()
    os.close(read)
    done = _run("targets", "list", env=shell_environment, stdout=write)
    os.close(write)
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr
    assert b"BrokenPipe" not in done.stderr
    assert b"Exception ignored" not in done.stderr


@pytest.mark.skipif(not FULL.exists(), reason="needs /dev/full")
def test_a_full_disk_is_a_sentence(shell_environment: dict[str, str]) -> None:
    """The shell has opened the file; all that is left is to say that it did not work."""
    with FULL.open("wb") as full:
        done = _run("targets", "list", env=shell_environment, stdout=full)
    assert done.returncode == 2
    last = done.stderr.decode().splitlines()[-1]
    assert last == "fieldstop: Standard output cannot be written: No space left on device."


def test_a_terminal_that_knows_only_ascii_gets_question_marks(
    shell_environment: dict[str, str], example_text: str, tmp_path: Path
) -> None:
    """A site's name is not worth a crash."""
    path = tmp_path / "named.toml"
    path.write_text(example_text.replace('"Garden"', '"H\u00fctte"'), "utf-8")
    plain = shell_environment | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"}
    done = _run(
        "plan", "--count", "1", "--date", "2026-11-25", "--config", str(path), env=plain,
        stdout=subprocess.PIPE,
    )  # fmt: skip
    assert done.returncode == 0
    assert b"Site     H?tte, 51.20 N" in done.stdout
    assert b"\x1b" not in done.stdout


def test_plan_loads_nothing_that_it_does_not_use(shell_environment: dict[str, str]) -> None:
    """Each of these would cost a good part of a second, in the cold, on a laptop's battery."""
    code = (
        "import sys; from planner.cli.main import main; status = main(['plan', '--count', '1',"
        f" '--date', '2026-11-25']); print([m for m in {HEAVY} if m in sys.modules], status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env=shell_environment, capture_output=True, check=True
    )
    assert done.stdout.decode().splitlines()[-1] == "[] 0"


def test_help_loads_neither_catalogue_nor_ephemeris(shell_environment: dict[str, str]) -> None:
    """What the slow modules are imported late for."""
    code = (
        "import sys; from planner.cli.main import main; main(['plan', '--help']);"
        " print([m for m in ('skyfield', 'targets.catalogue.catalogue') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env=shell_environment, capture_output=True, check=True
    )
    assert done.stdout.decode().splitlines()[-1] == "[]"
