"""Looks that are chosen because their outcome would tell most about the observer's eye."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.testing import assert_array_equal

from planner.planning.teaching_looks import lesson_rows

ARGV = ("plan", "--date", "2026-12-08", "--format", "json")
WORDS = "tells most about your eye: note whether you see it"
IN_DOUBT = {"hard", "very hard", "unlikely"}


def lessons_in(result: Any) -> list[dict[str, Any]]:
    """Return the looks of a plan that are marked."""
    return [
        look for look in result.json["looks"] if WORDS in [note["text"] for note in look["shows"]]
    ]


def test_lessons_are_given_on_demand_only(run: Any) -> None:
    """One or two looks are marked, at targets whose outcome is open; without the option none is."""
    assert not lessons_in(run(*ARGV))
    lessons = lessons_in(run(*ARGV, "--teach"))
    assert 1 <= len(lessons) <= 2
    assert {look["view"]["grade"] for look in lessons} <= IN_DOUBT
    kinds = {look["target"]["kind"] for look in lessons}
    assert not kinds & {"double star", "planet", "Moon", "emission nebula"}
    assert WORDS in run("plan", "--date", "2026-12-08", "--teach").out


def test_the_most_open_outcome_teaches_most() -> None:
    """Two targets at most, those in most doubt; among equals the one that is wanted more."""
    doubt = np.array([[0.0, 0.2], [0.9, 0.1], [0.6, 0.9], [0.8, 0.7], [0.0, 0.0]])
    assert_array_equal(lesson_rows(doubt, np.array([1.0, 0.3, 0.2, 0.25, 1.0])), [1, 2])
    assert lesson_rows(doubt[[0, 4]], np.ones(2)).size == 0
    assert lesson_rows(np.zeros((3, 0)), np.ones(3)).size == 0
