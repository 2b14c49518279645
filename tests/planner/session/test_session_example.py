"""The evening in ``examples/cloudy_night.py`` plays to its end and tells what it should."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

EXAMPLE = Path(__file__).parents[3] / "examples" / "cloudy_night.py"


def test_the_cloudy_night_plays() -> None:
    """Cloud, clearing, delay, thin cloud and undo, each with its sentences."""
    run = subprocess.run(
        [sys.executable, "-W", "error", str(EXAMPLE)], capture_output=True, text=True, check=True
    )
    for words in (
        "Solid cloud: west half until further notice",
        " lost: cloud, west half until further notice",
        "Best now with what is in:",
        "Cleared",
        "All that waits begins after ",
        "Thin cloud: all sky until further notice",
        "Undone: ",
        "What came of it",
    ):
        assert words in run.stdout
    assert run.stdout.count("  done     ") >= 8
