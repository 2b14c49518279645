"""What is one nudge away from a target, and worth it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Run = Callable[..., Any]
NIGHT = ("--date", "2026-12-08", "--format", "json")


def test_m82_is_a_nudge_from_m81(run: Run) -> None:
    """By SIMBAD: 09 55 33.2 +69 03 55 and 09 55 52.4 +69 40 47, 0.615 deg toward 2.6 deg."""
    (near,) = (
        one for one in run("look", "M81", *NIGHT).json["neighbours"] if one["id"] == "NGC3034"
    )
    assert near["separation_deg"] == pytest.approx(0.615, abs=0.005)
    assert near["position_angle_deg"] == pytest.approx(2.6, abs=0.5)
    assert near["name"] == "M82 Cigar Galaxy"
    assert near["kind"] == "galaxy"


def test_neighbours_are_near_and_not_the_target(run: Run) -> None:
    """Within two degrees, six at most; around the Orion Nebula there are several."""
    for name, least in (("M42", 3), ("M31", 2), ("M45", 0)):
        answer = run("look", name, *NIGHT).json
        near = answer["neighbours"]
        assert least <= len(near) <= 6
        assert all(one["separation_deg"] <= 2.0 for one in near)
        assert answer["target"]["id"] not in {one["id"] for one in near}


def test_a_bright_sky_has_fewer(run: Run) -> None:
    """What no eyepiece shows is not worth a nudge."""
    dark = run("look", "M81", *NIGHT, "--sky", "21.5").json["neighbours"]
    bright = run("look", "M81", *NIGHT, "--sky", "16.5").json["neighbours"]
    assert len(bright) < len(dark)


def test_what_is_below_the_horizon_has_none(run: Run) -> None:
    """Nobody looks there."""
    assert run("look", "M6", *NIGHT).json["neighbours"] == []


def test_the_sheet_names_them(run: Run) -> None:
    """With distance and direction; a lonely target has no such line."""
    assert "Near it  M82 Cigar Galaxy 0.6 deg" in run("look", "M81", *NIGHT[:2]).out
    assert "Near it" not in run("look", "M15", *NIGHT[:2]).out
