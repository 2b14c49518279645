"""The parts of a score: what they are at the ends of their ranges, and which way they run."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.matcher.scoring import (
    comfort_part,
    exit_pupil_part,
    framing_part,
    power_part,
    seen_well,
    visibility_part,
)
from planner.matcher.sight import sight_part

CLUSTER = {
    "ideal_low": np.array([0.35]),
    "ideal_high": np.array([0.55]),
    "largest": np.array([0.75]),
    "small_in_field": np.array([0.4]),
}
GALAXY_MM = {"ideal_low": 1.7, "ideal_high": 2.8, "ok_low": 1.0, "ok_high": 4.0}


def framing(*fill: float) -> Any:
    """Rate shares of the field for a large cluster."""
    return framing_part(np.array(fill), **CLUSTER)


def test_framing_at_the_ends_of_its_ranges() -> None:
    """A speck, the ideal range, the largest that fits, a full field, twice the field."""
    assert_allclose(
        framing(0.0, 0.35, 0.55, 0.75, 1.0, 2.0), [0.4, 1.0, 1.0, 0.5, 0.15, 0.15 / 4.0]
    )


def test_framing_of_what_has_no_size_or_needs_none() -> None:
    """Rates 1."""
    assert framing(np.nan) == 1.0
    nothing = np.array([np.nan])
    part = framing_part(
        np.array([0.001, 0.9]),
        ideal_low=nothing,
        ideal_high=nothing,
        largest=nothing,
        small_in_field=np.array([1.0]),
    )
    assert_allclose(part, 1.0)


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_framing_runs_up_to_the_ideal_and_down_from_it(first: float, second: float) -> None:
    """On each side more of the wrong is never better."""
    low, high = sorted((first, second))
    before, after = framing(low, high)
    if high <= 0.55:
        assert before <= after
    if low >= 0.35:
        assert before >= after


def exit_pupil(*size_mm: float, wanted_mm: float = 2.2) -> Any:
    """Rate exit pupils for a galaxy."""
    return exit_pupil_part(np.array(size_mm), **GALAXY_MM, wanted_mm=wanted_mm)  # type: ignore[arg-type]


def test_exit_pupils_at_the_ends_of_their_ranges() -> None:
    """Full at the one wanted, half at what is still acceptable, less what it leans away."""
    lean = 1.0 - 0.08 * np.abs(np.log2(np.array([2.2, 1.0, 4.0]) / 2.2))
    assert_allclose(exit_pupil(2.2, 1.0, 4.0), np.array([1.0, 0.5, 0.5]) * lean)
    # An octave beyond, a quarter of that is left.
    assert_allclose(exit_pupil(0.5), 0.125 * (1.0 - 0.08 * np.log2(2.2 / 0.5)))


@given(st.floats(0.1, 20.0), st.floats(0.1, 20.0))
def test_exit_pupils_are_best_where_wanted(first: float, second: float) -> None:
    """On each side of it, nearer is never worse."""
    low, high = sorted((first, second))
    before, after = exit_pupil(low, high)
    if high <= 2.2:
        assert before <= after
    if low >= 2.2:
        assert before >= after


def test_power_between_its_limits() -> None:
    """1 between them, a quarter at half of the least, an eighth at twice the most."""
    part = power_part(np.array([40.0, 80.0, 200.0, 400.0]), least=80.0, most=200.0)  # type: ignore[arg-type]
    assert_allclose(part, [0.25, 1.0, 1.0, 0.125])
    assert power_part(np.array([5.0]), least=np.array([0.0]), most=np.array([np.inf])) == 1.0


def test_the_chance_to_see_it_well() -> None:
    """Rises from next to nothing to certain, and is one in three where nothing is known."""
    margin = np.linspace(-1.0, 2.0, 200)
    chance = seen_well(margin)
    assert np.all(np.diff(chance) >= 0.0)
    assert_allclose(chance[[0, -1]], [0.02, 1.0])
    assert 0.3 <= seen_well(np.array([np.nan])) <= 0.4


def test_what_may_be_given_up_costs_nothing() -> None:
    """0.2 dex below the best is free, 0.5 dex costs half; above ample nothing counts."""
    part = visibility_part(
        np.array([0.6, 0.4, 0.1, np.nan]), best_dex=np.array([0.6]), given_up_dex=0.2
    )
    whole = seen_well(np.array([0.6]))
    assert_allclose(part, whole * np.array([1.0, 1.0, 10.0**-0.3, 1.0]))
    ample = visibility_part(np.array([0.9, 3.0]), best_dex=np.array([3.0]), given_up_dex=0.2)
    assert_allclose(ample, 1.0)


def comfort(**changes: Any) -> float:
    """Rate a train with nothing to complain of but for the changes."""
    good: dict[str, Any] = {
        "eye_relief_mm": 20.0,
        "exit_pupil_mm": 3.0,
        "spectacles": False,
        "apparent_field_deg": 60.0,
        "wide_field_pays": False,
        "amplified": False,
        "drift_s": np.inf,
    }
    return float(comfort_part(**(good | changes)))


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, 1.0),
        ({"eye_relief_mm": np.nan}, 1.0),
        ({"eye_relief_mm": 3.0}, 0.85),
        ({"eye_relief_mm": 10.0}, 1.0),
        ({"spectacles": True}, 1.0),
        ({"spectacles": True, "eye_relief_mm": 15.0}, 0.85),
        ({"spectacles": True, "eye_relief_mm": 8.0}, 0.4),
        ({"spectacles": True, "eye_relief_mm": 10.0, "exit_pupil_mm": 1.0}, 1.0),
        ({"wide_field_pays": True, "apparent_field_deg": 40.0}, 0.9),
        ({"wide_field_pays": True, "apparent_field_deg": 100.0}, 1.0),
        ({"amplified": True}, 0.97),
        ({"drift_s": 90.0}, 1.0),
        ({"drift_s": 20.0}, 0.7),
    ],
)
def test_comfort_by_what_disturbs_it(changes: dict[str, Any], expected: float) -> None:
    """Each complaint alone."""
    assert_allclose(comfort(**changes), expected)


TRAINS = st.lists(
    st.tuples(st.floats(0.01, 1.0), st.floats(-0.6, 1.2), st.booleans()), min_size=1, max_size=8
)


def winners_grade(score: Any, margin: Any, serves: Any) -> int:
    """Return the grade of the train that comes first, 0 (unlikely) .. 4 (easy)."""
    part = sight_part(score[None, :], margin[None, :], serves=serves[None, :])
    first = int(np.argmax(part[0] * score))
    return int(np.searchsorted([-0.2, 0.1, 0.4, 0.8], margin[first], side="right"))


@given(TRAINS, st.lists(st.floats(0.0, 0.5), min_size=8, max_size=8), st.randoms())
def test_the_winner_is_as_good_as_any_that_serves(trains: Any, lost: Any, chance: Any) -> None:
    """Whatever the scores are: so what takes from the margins never betters its grade."""
    score, margin, serves = (np.array(column) for column in zip(*trains, strict=True))
    serves[0] = True
    grade = winners_grade(score, margin, serves)
    assert grade == np.searchsorted([-0.2, 0.1, 0.4, 0.8], margin[serves].max(), side="right")
    other_score = np.array([chance.uniform(0.01, 1.0) for _ in score])
    assert winners_grade(other_score, margin - np.array(lost[: len(score)]), serves) <= grade


@given(TRAINS)
def test_within_a_grade_the_score_decides(trains: Any) -> None:
    """Of the trains that serve."""
    score, _, serves = (np.array(column) for column in zip(*trains, strict=True))
    part = sight_part(score[None, :], np.full((1, len(score)), 0.5), serves=serves[None, :])
    assert_allclose(part, 1.0)


def test_what_does_not_serve_holds_no_other_train_down() -> None:
    """A train with next to no score, as easy as the best, leaves a fair one where it stands."""
    part = sight_part(
        np.array([[0.9, 0.01, 0.5]]),
        np.array([[1.0, 1.0, 0.5]]),
        serves=np.array([[True, False, True]]),
    )
    assert_allclose(part, 1.0)
