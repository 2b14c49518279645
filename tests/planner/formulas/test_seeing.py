"""Seeing: the scale, the power that the air bears, the power that shows a disc."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.seeing import least_disc_power, seeing_fwhm_arcsec, seeing_power_cap
from planner.model.antoniadi import antoniadi_step

TENTH = 0.051


@pytest.mark.parametrize(("text", "step"), [("I", 1), ("iii", 3), (" V ", 5), ("2", 2), ("IV", 4)])
def test_antoniadi_step(text: str, step: int) -> None:
    """Roman or Arabic, in any case."""
    assert antoniadi_step(text) == step


@pytest.mark.parametrize("text", ["VII", "0", "6", "", "good", "IIII"])
def test_seeing_off_the_scale_is_refused(text: str) -> None:
    """With what was found and what is allowed."""
    with pytest.raises(ValueError, match=rf'"{text}" is not on the Antoniadi scale; use I .* V'):
        antoniadi_step(text)


@pytest.mark.parametrize(("step", "cap"), [(1, 600), (2, 300), (3, 220), (4, 150), (5, 100)])
def test_power_that_the_air_bears_overhead(step: int, cap: float) -> None:
    """Common practice, for 300 mm; in the steadiest air the aperture alone decides."""
    assert_allclose(seeing_power_cap(step, altitude_deg=90.0, aperture_mm=300.0), cap)


def test_the_steadiest_air_bears_no_less_than_the_next() -> None:
    """A small telescope keeps its limit at 30 deg: 300 * 0.5^0.6 is 198, below 2 * 100."""
    cap = seeing_power_cap(1, altitude_deg=30.0, aperture_mm=100.0)
    assert_allclose(cap, 198.0, rtol=0.001)
    assert cap == seeing_power_cap(2, altitude_deg=30.0, aperture_mm=100.0)


@pytest.mark.parametrize(("step", "fwhm"), [(1, 0.8), (2, 1.3), (3, 2.0), (4, 3.0), (5, 4.5)])
def test_star_image_of_each_step_overhead(step: int, fwhm: float) -> None:
    """Our assumption: no published scale exists."""
    assert seeing_fwhm_arcsec(step, altitude_deg=90.0) == fwhm


def test_the_law_of_seeing_ends_at_five_degrees() -> None:
    """Lower down and below the horizon it stays what it is there: 2 / sin(5)^0.6."""
    low = seeing_fwhm_arcsec(3, altitude_deg=np.array([-10.0, 0.0, 5.0]))
    assert_allclose(low, 2.0 / np.sin(np.radians(5.0)) ** 0.6, rtol=1e-12)


def test_power_is_never_above_twice_the_aperture() -> None:
    """50 times per inch (common practice)."""
    for step in (1, 2, 3, 4):
        assert seeing_power_cap(step, altitude_deg=90.0, aperture_mm=60.0) == 120.0


@pytest.mark.parametrize(("altitude", "worse"), [(30.0, 1.5), (20.0, 1.9)])
def test_seeing_grows_toward_the_horizon(altitude: float, worse: float) -> None:
    """As air mass to the 0.6 (textbook): 1.5 times at 30 deg, 1.9 at 20; power falls alike."""
    ratio = np.asarray(seeing_fwhm_arcsec(3, altitude_deg=altitude)) / np.asarray(
        seeing_fwhm_arcsec(3, altitude_deg=90.0)
    )
    assert_allclose(ratio, worse, atol=TENTH)
    cap = seeing_power_cap(3, altitude_deg=altitude, aperture_mm=300.0)
    assert_allclose(cap, 220.0 / ratio, rtol=1e-12)


@given(st.integers(1, 4), st.floats(-10.0, 90.0), st.floats(40.0, 600.0))
def test_worse_air_bears_less_power(step: int, altitude: float, aperture: float) -> None:
    """And never more at a lower altitude."""
    here = seeing_power_cap(step, altitude_deg=altitude, aperture_mm=aperture)
    worse = seeing_power_cap(step + 1, altitude_deg=altitude, aperture_mm=aperture)
    lower = seeing_power_cap(step, altitude_deg=altitude - 5.0, aperture_mm=aperture)
    assert worse <= here
    assert 0.0 < lower <= here <= 2.0 * aperture
    assert seeing_fwhm_arcsec(step, altitude_deg=altitude) < seeing_fwhm_arcsec(
        step + 1, altitude_deg=altitude
    )


@pytest.mark.parametrize(("diameter", "power"), [(3.7, 81.0), (2.3, 130.0), (25.0, 12.0)])
def test_power_that_shows_a_disc(diameter: float, power: float) -> None:
    """Our choice, 5': some 80 times for Uranus, 130 for Neptune, a dozen for a bright planetary."""
    assert_allclose(least_disc_power(diameter), power, rtol=0.01)


def test_arrays_give_what_floats_give() -> None:
    """Steps, altitudes and apertures broadcast."""
    steps = np.array([[1], [3], [5]])
    altitudes = np.array([10.0, 45.0])
    caps = seeing_power_cap(steps, altitude_deg=altitudes, aperture_mm=200.0)
    assert np.shape(caps) == (3, 2)
    assert_allclose(
        np.asarray(caps)[1, 1], seeing_power_cap(3, altitude_deg=45.0, aperture_mm=200.0)
    )
    assert np.shape(seeing_fwhm_arcsec(steps, altitude_deg=altitudes)) == (3, 2)
