"""The checks of the house: format, lint and types, so that one command runs everything."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "format", "--check", "--quiet", "."],
        ["ruff", "check", "--quiet", "."],
        ["mypy"],
    ],
    ids=["format", "lint", "types"],
)
def test_check_is_clean(command: list[str]) -> None:
    """Each tool, as configured in ``pyproject.toml``, has nothing to say."""
    run = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr


def test_built_wheel_holds_what_the_program_reads(tmp_path: Path) -> None:
    """The wheel, unpacked elsewhere, plans a night without the checkout."""
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT, capture_output=True, check=True,
    )  # fmt: skip
    (wheel,) = tmp_path.glob("*.whl")
    unpacked = tmp_path / "unpacked"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(unpacked)
        tops = {name.split("/")[0] for name in archive.namelist()}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"planner", "targets", "tui"}
    code = (
        f"import sys; sys.path.insert(0, {str(unpacked)!r})\n"
        "import planner.cli.main, targets\n"
        f"assert planner.__file__.startswith({str(unpacked)!r})\n"
        f"assert targets.__file__.startswith({str(unpacked)!r})\n"
        "sys.argv = ['fieldstop', 'plan', '--date', '2026-12-08', '--count', '3']\n"
        "sys.exit(planner.cli.main.main())"
    )
    # A home of its own: whoever runs the tests may have a configuration.
    home = {"HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path, env=os.environ | home, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert "2026" in run.stdout
