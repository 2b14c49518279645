"""Refraction against Meeus, Bennett's formula and a model of the air."""

from __future__ import annotations

import numpy as np
import pytest
from erfa import refco
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from skyfield.earthlib import refract

from planner.formulas.refraction import apparent_altitude_deg, refraction_deg, standard_pressure_hpa

LAST_PRINTED_DIGIT_ARCMIN = 0.001
FOUR_ARCSECONDS_DEG = 4.0 / 3600.0  # the two formulas agree so far, says Meeus 1998, p. 106
# Bennett's formula is good to 0.07' (Bennett 1982), and ours follows it to 4".
STATED_ACCURACY_DEG = 0.07 / 60.0 + FOUR_ARCSECONDS_DEG
HALF_PERCENT = 0.005  # the table's own rounding and that of the power law's constants


def test_worked_example_of_a_setting_limb() -> None:
    """Meeus 1998, ex. 16.a: upper limb 33.246' above the true horizon is lifted by 24.618'."""
    assert_allclose(refraction_deg(33.246 / 60.0) * 60.0, 24.618, atol=LAST_PRINTED_DIGIT_ARCMIN)


def test_agrees_with_bennett_from_horizon_to_zenith() -> None:
    """Bennett 1982, solved for the true altitude by skyfield, gives the same lift."""
    true_deg = np.linspace(-0.5, 89.5, 181)
    ours = true_deg + refraction_deg(true_deg, pressure_hpa=1010.0, temperature_c=10.0)
    assert_allclose(ours, refract(true_deg, 10.0, 1010.0), atol=FOUR_ARCSECONDS_DEG)


@pytest.mark.parametrize(("pressure", "temperature"), [(1010.0, 10.0), (780.0, -5.0)])
def test_agrees_with_a_model_of_the_air(pressure: float, temperature: float) -> None:
    """ERFA's refraction (refco, dry air, 0.55 micrometres) gives the same from 15 degrees up."""
    apparent_deg = np.linspace(15.0, 89.0, 75)
    zenith = np.radians(90.0 - apparent_deg)
    a, b = refco(pressure, temperature, 0.0, 0.55)
    lift_deg = np.degrees(a * np.tan(zenith) + b * np.tan(zenith) ** 3)
    ours = refraction_deg(apparent_deg - lift_deg, pressure_hpa=pressure, temperature_c=temperature)
    assert_allclose(ours, lift_deg, atol=STATED_ACCURACY_DEG)


def test_cold_and_dense_air_bends_more() -> None:
    """The lift grows in proportion to P / 1010 x 283 / (273 + T) (Meeus 1998, ch. 16)."""
    standard = refraction_deg(10.0)
    assert_allclose(refraction_deg(10.0, pressure_hpa=505.0), standard / 2.0)
    assert_allclose(refraction_deg(10.0, temperature_c=-17.0), standard * 283.0 / 256.0)


def test_pressure_falls_as_in_the_standard_atmosphere() -> None:
    """Pressures at 0, 2000 and 5000 m: U.S. Standard Atmosphere 1976, table I, from memory."""
    ratio = standard_pressure_hpa(np.array([2000.0, 5000.0])) / standard_pressure_hpa(0.0)
    assert_allclose(ratio, [795.0 / 1013.25, 540.2 / 1013.25], rtol=HALF_PERCENT)


def test_nothing_is_lifted_overhead_or_far_below() -> None:
    """At the zenith and from 2 degrees below the horizon down the lift is zero."""
    assert_allclose(refraction_deg(np.array([90.0, -2.0, -5.11, -30.0, -90.0])), 0.0, atol=1e-9)


def test_what_is_higher_is_seen_higher() -> None:
    """Apparent altitude never jumps or turns back, through the horizon and down to the nadir."""
    true_deg = np.linspace(-90.0, 90.0, 18_001)
    steps = np.diff(apparent_altitude_deg(true_deg, elevation_m=0.0))
    assert steps.min() > 0.0
    assert steps.max() < 0.02


@given(st.floats(-90.0, 90.0), st.floats(0.0, 5000.0))
def test_one_altitude_gives_what_an_array_gives(true_deg: float, elevation_m: float) -> None:
    """Floats and arrays go the same way."""
    alone = apparent_altitude_deg(true_deg, elevation_m=elevation_m)
    together = apparent_altitude_deg(np.array([true_deg, 45.0]), elevation_m=elevation_m)
    assert alone == together[0]
    assert alone >= true_deg
