"""Units of brightness against published figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.photometry import (
    CD_M2_PER_NANOLAMBERT,
    light_ratio,
    luminance_cd_m2,
    star_mag,
    surface_brightness_mag_arcsec2,
)

# Three authors' zero points of the same conversion differ by this much (0.01 mag).
AUTHORS_DIFFER = 0.01
FOUR_DIGITS = 5e-4  # relative: figures printed or worked to four digits
HUNDREDTH_MAG = 0.0051
TENTH_MAG = 0.051

SKIES = st.floats(15.0, 25.0)


def garstang_nl(mag: float) -> float:
    """Return the luminance of a sky [nL] by Garstang 1986, PASP 98, 364."""
    return float(34.08 * np.exp(20.7233 - 0.92104 * mag))


def test_a_star_of_magnitude_zero_gives_its_published_light() -> None:
    """Crumey 2014 (MNRAS 442, 2600): V = 0 is 2.54e-6 lux."""
    assert_allclose(star_mag(2.54e-6), 0.0, atol=HUNDREDTH_MAG)


def test_a_nanolambert_follows_from_the_unit() -> None:
    """1 lambert is 1e4/pi cd/m2: 3.1831e-6 cd/m2 in a nanolambert."""
    assert_allclose(CD_M2_PER_NANOLAMBERT, 3.1831e-6, rtol=FOUR_DIGITS)


@pytest.mark.parametrize(("mag", "cd_m2"), [(22.0, 1.706e-4), (20.0, 1.0765e-3), (18.0, 6.792e-3)])
def test_luminance_of_a_sky(mag: float, cd_m2: float) -> None:
    """Worked from the formula of Crumey 2014."""
    assert_allclose(luminance_cd_m2(mag), cd_m2, rtol=FOUR_DIGITS)


def test_luminance_of_a_metered_sky() -> None:
    """Worked example in the description of a sky quality meter: 16.6 is 2.474e-2 cd/m2."""
    assert_allclose(luminance_cd_m2(16.6), 2.474e-2, rtol=AUTHORS_DIFFER)


@given(SKIES)
def test_two_authors_agree_on_luminance(mag: float) -> None:
    """Crumey's zero point and Garstang's, which other papers use, are 0.01 mag apart at most."""
    other = garstang_nl(mag) * CD_M2_PER_NANOLAMBERT
    assert_allclose(luminance_cd_m2(mag), other, rtol=AUTHORS_DIFFER)


def test_the_dark_zenith_of_the_moonlight_paper() -> None:
    """Krisciunas & Schaefer 1991: a dark zenith of 79.0 nL (from memory) is 21.587."""
    dark_cd_m2 = 79.0 * CD_M2_PER_NANOLAMBERT
    found = surface_brightness_mag_arcsec2(dark_cd_m2)
    assert_allclose(found, 21.587, atol=2.0 * HUNDREDTH_MAG)


@given(SKIES)
def test_luminance_turns_back(mag: float) -> None:
    """Each conversion undoes the other."""
    assert_allclose(surface_brightness_mag_arcsec2(luminance_cd_m2(mag)), mag, rtol=1e-12)


def test_five_magnitudes_are_a_factor_of_a_hundred() -> None:
    """Pogson's definition."""
    assert_allclose(light_ratio(np.array([-5.0, 0.0, 5.0])), [100.0, 1.0, 0.01], rtol=1e-12)
