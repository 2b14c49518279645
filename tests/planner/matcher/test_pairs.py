"""The limits of a pair: arithmetic of magnitudes, Lewis's means, and the air."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.double_stars import (
    air_limit_arcsec,
    aperture_limit_arcsec,
    companion_or_half,
    magnitude_difference,
    parting_margin_dex,
)
from targets.catalogue.stars import combined_magnitude

MAGNITUDES = st.floats(-2.0, 14.0)
MM_PER_INCH = 25.4
# Lewis 1914, The Observatory 37, 378: mean separation times aperture in inches of pairs at the
# limit, with the mean magnitudes of their stars (from memory).
LEWIS = [(5.7, 6.4, 4.8), (6.2, 9.5, 16.5), (4.7, 10.4, 36.0)]
A_SEVENTH = 0.14  # a line through three means; single pairs scatter by a factor of two


@given(primary=MAGNITUDES, fainter=st.floats(0.0, 12.0))
def test_the_difference_comes_back_from_the_light_of_both(primary: float, fainter: float) -> None:
    """Total and companion give the difference that made them."""
    total = np.array([combined_magnitude(primary, primary + fainter)])
    difference = magnitude_difference(total, np.array([primary + fainter]))
    assert_allclose(difference, [fainter], atol=1e-6)


def test_an_unknown_companion_is_an_equal_star() -> None:
    """Half of the light, 0.753 mag fainter than both, no difference; no light, no difference."""
    assert_allclose(companion_or_half(np.array([5.0]), np.array([np.nan])), [5.753], atol=0.0006)
    difference = magnitude_difference(np.array([5.0, np.nan]), np.array([np.nan, np.nan]))
    assert_allclose(difference[0], 0.0, atol=1e-12)
    assert np.isnan(difference[1])
    # Two equal stars: Dawes 1867, 116 arcsec over the aperture in mm.
    assert_allclose(aperture_limit_arcsec(116.0, difference), 1.0)


@pytest.mark.parametrize(("first", "second", "arcsec_inch"), LEWIS)
def test_unlike_stars_want_room_as_lewis_found(
    first: float, second: float, arcsec_inch: float
) -> None:
    """For 100, 200 and 400 mm alike: his means over the aperture in inches."""
    for aperture_mm in (100.0, 200.0, 400.0):
        limit = aperture_limit_arcsec(aperture_mm, np.array([second - first]))
        expected = arcsec_inch * MM_PER_INCH / aperture_mm
        assert_allclose(limit, [expected], rtol=A_SEVENTH)


@given(step=st.integers(1, 4), altitude=st.floats(5.0, 89.0), higher=st.floats(0.0, 20.0))
def test_worse_air_and_lower_down_leave_less_apart(
    step: int, altitude: float, higher: float
) -> None:
    """Each step of the scale and each degree lower costs."""
    here = air_limit_arcsec(step, np.array([altitude]))
    assert air_limit_arcsec(step + 1, np.array([altitude])) > here
    assert air_limit_arcsec(step, np.array([min(altitude + higher, 90.0)])) <= here


def test_half_of_the_image_is_left_apart() -> None:
    """Average air, step III, 2 arcsec at the zenith (our assumption): one arcsecond."""
    assert_allclose(air_limit_arcsec(3, np.array([90.0])), [1.0])


def test_at_the_limit_is_at_the_threshold() -> None:
    """Zero at the limit, easy (0.8 dex) at 2.5 times, below the threshold inside of it."""
    margins = parting_margin_dex(np.array([0.5, 1.0, 2.5119]), np.array([1.0]))
    assert_allclose(margins, [-0.602, 0.0, 0.8], atol=0.001)
