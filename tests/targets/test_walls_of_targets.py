"""The catalogue stands alone: no planner, no screen, nothing slow."""

from __future__ import annotations

import subprocess
import sys

PROGRAM = """
import sys
from targets.catalogue.catalogue import load_catalogue
load_catalogue().find("M31")
print(*sorted({name.partition(".")[0] for name in sys.modules}))
"""


def test_loading_needs_neither_planner_nor_screen_nor_slow_packages() -> None:
    """In a fresh interpreter the catalogue works and none of these has been imported."""
    run = subprocess.run(
        [sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True
    )
    loaded = set(run.stdout.split())
    assert "targets" in loaded
    forbidden = {"planner", "tui", "textual", "pandas", "astropy", "skyfield", "click", "typer"}
    assert loaded & forbidden == set()
