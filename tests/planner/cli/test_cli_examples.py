"""The files under ``examples`` work as their comments say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

EXAMPLES = Path(__file__).parents[3] / "examples"


def test_the_southern_example_plans_and_looks(run: Any) -> None:
    """A zoom, a driven mount, the pupil from the age, a site without a zone of its own."""
    config = ("--config", str(EXAMPLES / "southern.toml"))
    plan = run("plan", *config, "--date", "2026-07-14")
    assert (plan.status, plan.err) == (0, "")
    assert "Zoom at " in plan.out
    assert "equatorial, driven" in " ".join(plan.out.split())
    assert "6.4 mm (from age 42)" in " ".join(plan.out.split())
    look = run("look", "Carina Nebula", *config, "--date", "2026-04-14", "--site", "town")
    assert look.status == 0
    assert "Africa/Johannesburg" in look.out


def test_the_list_is_read_whole(run: Any) -> None:
    """Each of its eight lines names a target, and each is planned or explained."""
    path = str(EXAMPLES / "winter.txt")
    plan = run("plan", "--list", path, "--date", "2027-01-08", "--format", "json").json
    assert len(plan["looks"]) + len(plan["left_out"]) == 8
    assert len(plan["looks"]) >= 5
