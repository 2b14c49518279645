"""The limits of a pair: arithmetic of magnitudes, rings, Lewis's means, glare and the air."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.double_stars import (
    air_limit_arcsec,
    companion_or_half,
    eye_margin_dex,
    glare_limit_arcsec,
    glare_mag,
    magnitude_difference,
    pair_margin_dex,
    parting_margin_dex,
    veil_cd_m2,
)
from targets.catalogue.stars import combined_magnitude

MAGNITUDES = st.floats(-2.0, 14.0)
MM_PER_INCH = 25.4
# Lewis 1914, The Observatory 37, 378: mean separation times aperture in inches of pairs at the
# limit, with the mean magnitudes of their stars (from memory).
LEWIS = [(5.7, 6.4, 4.8), (6.2, 9.5, 16.5), (4.7, 10.4, 36.0)]
# Width of a star's image in the steadiest moments, in air of the steps I, II and III [arcsec].
STEADY, GOOD, AVERAGE = 0.4, 0.65, 1.0
UNLIKELY_BELOW, HARD, FAIR, EASY = -0.2, 0.1, 0.4, 0.8  # where the grades begin [dex]


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
    # Two equal stars in perfect air: Dawes 1867, 116 arcsec over the aperture in mm.
    assert_allclose(glare_limit_arcsec(116.0, difference[:1], np.array([0.01])), 1.0, atol=0.02)


@pytest.mark.parametrize(("airy", "share"), [(5.136, 0.01750), (8.417, 0.00416), (11.62, 0.0016)])
def test_the_rings_of_a_bright_star(airy: float, share: float) -> None:
    """(2 J1(x) / x)^2 at the first three bright rings, which the envelope meets to 15 percent.

    Without air; what optics scatter is within that.
    """
    separation = airy * 550e-6 / (np.pi * 100.0) * 206265.0
    found = float(glare_mag(np.array(separation), 100.0, np.array(1e-6)))
    assert_allclose(10.0 ** (-0.4 * found), share, rtol=0.15)


@pytest.mark.parametrize(("first", "second", "arcsec_inch"), LEWIS[1:])
@pytest.mark.parametrize("aperture_mm", [150.0, 200.0])
def test_a_pair_at_lewis_s_mean_is_hard(
    first: float, second: float, arcsec_inch: float, aperture_mm: float
) -> None:
    """In average air; it is fair at most, and steady air helps."""
    gap = np.array([arcsec_inch * MM_PER_INCH / aperture_mm])
    difference = np.array([second - first])
    average = pair_margin_dex(gap, difference, aperture_mm, np.array([AVERAGE]))
    assert HARD <= average[0] < FAIR + 0.1
    assert pair_margin_dex(gap, difference, aperture_mm, np.array([STEADY])) > average


@pytest.mark.parametrize(
    ("name", "gap_arcsec", "difference", "aperture_mm", "least", "most"),
    [
        # Common practice, in good air: what 75 to 100 mm split regularly, and what they do not.
        ("Rigel", 9.3, 6.6, 100.0, FAIR, EASY),
        ("Rigel", 9.3, 6.6, 75.0, HARD, EASY),
        ("Izar", 2.9, 2.2, 100.0, FAIR, EASY),
        ("Izar", 2.9, 2.2, 75.0, HARD, EASY),
        ("delta Cyg", 2.8, 3.4, 100.0, HARD, EASY),
        ("delta Cyg", 2.8, 3.4, 75.0, HARD, FAIR),
        ("Polaris", 18.4, 7.0, 75.0, FAIR, 1.0),
        ("Sirius", 11.2, 9.9, 100.0, -1.0, HARD),
        ("Sirius", 11.2, 9.9, 250.0, HARD, FAIR),
        ("Castor", 5.6, 1.0, 75.0, EASY, 3.0),
        ("Porrima", 3.4, 0.0, 100.0, EASY, 3.0),
        ("zeta Cnc", 1.15, 0.7, 100.0, -1.0, HARD),
    ],
)
def test_pairs_that_observers_split(
    name: str, gap_arcsec: float, difference: float, aperture_mm: float, least: float, most: float
) -> None:
    """Separations and differences of the middle 2020s, from memory."""
    margin = pair_margin_dex(
        np.array([gap_arcsec]), np.array([difference]), aperture_mm, np.array([GOOD])
    )
    assert least <= margin[0] < most, name


@given(
    gap=st.floats(0.3, 60.0),
    difference=st.floats(0.0, 10.0),
    aperture_mm=st.floats(50.0, 600.0),
    image=st.floats(0.3, 3.0),
    worse=st.floats(1.0, 2.0),
)
def test_a_pair_never_gets_easier_by_what_is_against_it(
    gap: float, difference: float, aperture_mm: float, image: float, worse: float
) -> None:
    """A smaller gap, a fainter companion, less aperture, worse air."""

    def margin(gap: float, difference: float, aperture_mm: float, image: float) -> float:
        return float(
            pair_margin_dex(np.array(gap), np.array(difference), aperture_mm, np.array(image))
        )

    here = margin(gap, difference, aperture_mm, image) + 1e-12
    assert margin(gap / worse, difference, aperture_mm, image) <= here
    assert margin(gap, difference * worse, aperture_mm, image) <= here
    assert margin(gap, difference, aperture_mm / worse, image) <= here
    assert margin(gap, difference, aperture_mm, image * worse) <= here


@given(difference=st.floats(0.0, 9.0), aperture_mm=st.floats(60.0, 400.0))
def test_the_limit_is_where_the_margin_is_nothing(difference: float, aperture_mm: float) -> None:
    """A little inside of it the glare hides the companion, or the aperture does not part them."""
    (limit,) = glare_limit_arcsec(aperture_mm, np.array([difference]), np.array([GOOD]))
    inside, outside = (
        pair_margin_dex(np.array([limit * f]), np.array([difference]), aperture_mm, np.array([0.1]))
        for f in (0.5, 1.1)
    )
    assert inside[0] < 0.2
    assert outside[0] > 0.0


def test_the_eye_s_veil_is_that_of_stiles_and_holladay() -> None:
    """10 cd/m2 for each lux over the square of the degrees (Vos 1984, from memory)."""
    assert_allclose(veil_cd_m2(np.array([1e-3]), np.array([1.0, 2.0])), [1e-2, 2.5e-3])


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


def test_a_gap_is_told_apart_by_the_limits_of_the_aperture() -> None:
    """Common practice for 100 mm: Dawes's limit glimpsed, Rayleigh's fair, twice that easy."""
    dawes, rayleigh = 116.0 / 100.0, 138.0 / 100.0  # handbooks' round figures [arcsec]
    gaps = np.array([0.8 * dawes, dawes, rayleigh, 2.0 * rayleigh])
    margins = parting_margin_dex(gaps, np.array([dawes]))
    assert margins[0] < UNLIKELY_BELOW <= margins[1] < HARD
    assert FAIR <= margins[2] < EASY <= margins[3]


@given(gap=st.floats(0.2, 60.0), wider=st.floats(1.01, 3.0))
def test_a_wider_gap_is_told_apart_more_easily(gap: float, wider: float) -> None:
    """From inside of Dawes's limit out to where nothing is left to win."""
    margins = parting_margin_dex(np.array([gap, gap * wider]), np.array([1.16]))
    assert margins[1] > margins[0] or margins[0] >= parting_margin_dex(23.0, np.array([1.16]))


@pytest.mark.parametrize(
    ("gap_arcsec", "difference", "power", "least", "most"),
    [
        # Common practice: an eye parts equal stars 2 to 2.5 arcmin apart, comfortably 4 to 5.
        (5.5, 0.9, 20.0, -3.0, UNLIKELY_BELOW),  # Castor, at finding power
        (5.5, 0.9, 120.0, EASY, 3.0),
        (2.4, 0.2, 60.0, -1.0, HARD),  # half of the Double Double
        (2.4, 0.2, 120.0, FAIR, EASY),
        (9.5, 6.5, 40.0, -1.0, HARD),  # Rigel, never at low power
        (9.5, 6.5, 150.0, EASY, 3.0),
        (34.5, 2.0, 20.0, EASY, 3.0),  # Albireo, in any telescope
    ],
)
def test_the_eye_parts_a_pair_with_power(
    gap_arcsec: float, difference: float, power: float, least: float, most: float
) -> None:
    """However well the telescope does."""
    margin = eye_margin_dex(np.array(gap_arcsec), np.array(difference), np.array(power))
    assert least <= margin < most
