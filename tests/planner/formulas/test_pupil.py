"""The pupil by age against the study that it comes from."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.pupil import dark_pupil_mm

# Bradley et al. 2011, J. Refract. Surg. 27, 202, abstract: middle of the age group, mean, range.
GROUPS = [
    (18.5, 6.85, 5.6, 7.5),
    (25.0, 7.33, 5.7, 8.8),
    (35.0, 6.64, 5.3, 8.7),
    (45.0, 6.15, 4.5, 8.2),
    (55.0, 5.77, 4.4, 7.2),
    (65.0, 5.58, 3.5, 7.5),
    (75.0, 5.17, 4.6, 6.0),
    (80.0, 4.85, 4.1, 5.3),
]
# A fifth of the spread between people of one age, 1.2 mm: what a straight line may leave.
LINE_MM = 0.25


@pytest.mark.parametrize(("age", "mean_mm", "low_mm", "high_mm"), GROUPS)
def test_line_stays_within_the_published_ranges(
    age: float, mean_mm: float, low_mm: float, high_mm: float
) -> None:
    """Within the range everywhere, and near the mean but for the few people under 20."""
    assert low_mm <= dark_pupil_mm(age) <= high_mm
    if age > 20:
        assert_allclose(dark_pupil_mm(age), mean_mm, atol=LINE_MM)


@settings(max_examples=60, derandomize=True, deadline=None, database=None)
@given(st.floats(0, 120), st.floats(0, 10))
def test_pupil_never_grows_with_age(age: float, more: float) -> None:
    """Older is never wider."""
    assert dark_pupil_mm(age + more) <= dark_pupil_mm(age)


def test_ages_outside_the_study_take_its_ends() -> None:
    """A child counts as 18, somebody of 95 as 80; arrays agree with single numbers."""
    found = dark_pupil_mm(np.array([8.0, 18.0, 80.0, 95.0]))
    assert_allclose(found, [dark_pupil_mm(age) for age in (18.0, 18.0, 80.0, 80.0)], rtol=1e-12)


@pytest.mark.parametrize("age", [-1.0, 200.0, np.nan])
def test_impossible_ages_are_refused(age: float) -> None:
    """No one is that old, or not born."""
    with pytest.raises(ValueError, match="from 0 to 130"):
        dark_pupil_mm(age)
