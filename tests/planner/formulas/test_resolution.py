"""Limits of resolution against their definitions and against published lists."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from planner.formulas import resolution

TENTH_ARCSEC = 0.05  # half of the last digit printed
FIVE_DIGITS = 1e-5  # to which the two factors are written
# Lewis's figures are means of pairs that scatter by a factor of two; the line runs through them.
LEWIS_SCATTER = 0.15

quick = settings(max_examples=60, derandomize=True, deadline=None, database=None)
apertures_mm = st.floats(20.0, 3000.0)


def bessel_first_order(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Bessel function by its integral; Abramowitz and Stegun 1964, equation 9.1.21."""
    angles = (np.arange(2000) + 0.5) * np.pi / 2000
    return np.mean(np.cos(angles - np.multiply.outer(x, np.sin(angles))), axis=-1)


def airy(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Light of a star at a clear aperture; Born and Wolf, "Principles of Optics", 8.5.2."""
    return (2.0 * bessel_first_order(x) / x) ** 2


def test_rayleigh_is_the_first_dark_ring() -> None:
    """The Airy pattern is dark there, and lit just inside and outside."""
    x = np.pi * resolution.RAYLEIGH_FACTOR * np.array([1.0 - 1e-2, 1.0, 1.0 + 1e-2])
    inside, on, outside = airy(x)
    assert on < 1e-9 < min(inside, outside)


def test_rayleigh_in_arcseconds() -> None:
    """138 arcsec over the aperture in mm, 5.45 over inches: textbook figures for 550 nm."""
    found = resolution.rayleigh_limit_arcsec(np.array([1.0, 25.4]))
    assert_allclose(found, [138.4, 5.45], rtol=1e-3)


@pytest.mark.parametrize(("aperture_mm", "limit_arcsec"), [(100, 1.2), (150, 0.8), (250, 0.5)])
def test_dawes_against_a_published_list(aperture_mm: float, limit_arcsec: float) -> None:
    """Source: Sky & Telescope's list of resolving powers, printed to a tenth of an arcsecond."""
    assert_allclose(resolution.dawes_limit_arcsec(aperture_mm), limit_arcsec, atol=TENTH_ARCSEC)


def test_dawes_at_one_inch() -> None:
    """4.56 arcsec: Dawes 1867, Memoirs of the RAS 35, 137."""
    assert_allclose(resolution.dawes_limit_arcsec(25.4), 4.56, atol=0.01)


@pytest.mark.parametrize(("eye_arcmin", "power"), [(2.0, 120.0), (2.5, 150.0), (4.0, 240.0)])
def test_power_to_split_one_arcsecond(eye_arcmin: float, power: float) -> None:
    """60 * eye limit / separation; the eye needs 2 to 2.5 arcmin.

    Source: chapter "The effect of magnification" of a handbook of double-star observing
    (ed. R. W. Argyle); 4 arcmin is common practice.
    """
    found = resolution.power_to_split(1.0, eye_limit_arcmin=eye_arcmin)
    assert_allclose(found, power, rtol=1e-12)


@quick
@given(apertures_mm)
def test_both_limits_keep_their_order(aperture_mm: float) -> None:
    """Dawes is closer than Rayleigh; both shrink as the aperture grows."""
    limits = (resolution.dawes_limit_arcsec, resolution.rayleigh_limit_arcsec)
    here = [limit(aperture_mm) for limit in limits]
    assert here == sorted(here)
    assert all(limit(1.1 * aperture_mm) < value for limit, value in zip(limits, here, strict=True))


@pytest.mark.parametrize(
    "call",
    [
        lambda: resolution.rayleigh_limit_arcsec(0.0),
        lambda: resolution.dawes_limit_arcsec(-5.0),
        lambda: resolution.power_to_split(0.0),
    ],
)
def test_impossible_apertures_are_refused(call) -> None:
    """A limit of no aperture, or the power for no separation, raises."""
    with pytest.raises(ValueError, match="must be above zero"):
        call()
