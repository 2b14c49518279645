"""Twilight against published models and a measured rate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.sky_brightness import twilight_cd_m2

CD_M2_PER_NANOLAMBERT = 1e-5 / np.pi  # by definition: 1 lambert is 1e4/pi cd/m2
HUNDREDTH_MAG = 0.0051
# Patat et al. find low sites some 30 percent (0.3 mag) brighter than theirs at 2600 m, and nights
# differ among themselves.
SITES_DIFFER_MAG = 0.5
# The measured rate is an average over seasons and directions.
RATE_DIFFERS = 0.25
ROUNDING = 1.0 + 1e-12  # of the last digit of a double


def garstang_mag(luminance_nl: float | np.ndarray) -> np.ndarray:
    """Convert as the published tables do: Garstang 1986, PASP 98, 364."""
    return np.asarray((20.7233 - np.log(np.asarray(luminance_nl) / 34.08)) / 0.92104)


def zenith_mag(sun_altitude: float | np.ndarray, k: float = 0.2) -> np.ndarray:
    """Return twilight overhead in the unit of the published tables."""
    luminance = twilight_cd_m2(
        altitude_deg=90.0,
        extinction_mag=k,
        sun_altitude_deg=sun_altitude,
        sun_separation_deg=90.0 - np.asarray(sun_altitude),
    )
    return np.asarray(garstang_mag(np.asarray(luminance) / CD_M2_PER_NANOLAMBERT))


@pytest.mark.parametrize(
    ("sun_altitude", "mag"),
    [(-6, 13.55), (-8, 15.58), (-10, 17.60), (-12, 19.62), (-15, 22.65), (-18, 25.68)],
)
def test_twilight_overhead(sun_altitude: float, mag: float) -> None:
    """Schaefer 1993, Vistas in Astronomy 36, 311: worked from the formula, not printed there.

    Extinction 0.2, and with the same 1.02e-15 for the unit, from memory: this proves the
    arithmetic. What nature does is for the next test.
    """
    assert_allclose(zenith_mag(float(sun_altitude)), mag, atol=HUNDREDTH_MAG)


@pytest.mark.parametrize(
    ("sun_altitude", "mag"), [(-6, 13.30), (-8, 15.88), (-10, 18.00), (-12, 19.67)]
)
def test_twilight_of_another_author(sun_altitude: float, mag: float) -> None:
    """Patat, Ugolnikov & Postylyakov 2006, A&A 455, 385, V at Paranal: its cubic's values."""
    assert_allclose(zenith_mag(float(sun_altitude)), mag, atol=SITES_DIFFER_MAG)


@pytest.mark.parametrize(("k", "slope_per_mag"), [(0.2, 72.0), (0.3, 108.0), (0.05, 36.0)])
def test_twilight_toward_the_horizon(k: float, slope_per_mag: float) -> None:
    """Schaefer 1993: brighter by Z/(360 k) mag (k at least 0.1, ours) and by the scattering air.

    At Z 60 Kasten & Young's air mass is 1.994.
    """
    common = {"extinction_mag": k, "sun_altitude_deg": -14.0, "sun_separation_deg": 90.0}
    low = twilight_cd_m2(altitude_deg=30.0, **common)
    overhead = twilight_cd_m2(altitude_deg=90.0, **common)
    scattering = (1.0 - 10 ** (-0.4 * k * 1.994)) / (1.0 - 10 ** (-0.4 * k))
    worked = 10 ** (0.4 * 60.0 / slope_per_mag) * scattering
    assert_allclose(low / overhead, worked, rtol=1e-3)


def test_twilight_below_the_horizon_is_that_of_the_horizon() -> None:
    """Nothing grows without bound below it."""
    common = {"extinction_mag": 0.2, "sun_altitude_deg": -14.0, "sun_separation_deg": 90.0}
    below, horizon, above = (
        twilight_cd_m2(altitude_deg=altitude, **common) for altitude in (-30.0, 0.0, 0.5)
    )
    assert below == horizon > above


def test_there_is_no_twilight_nearer_than_five_degrees_to_the_sun() -> None:
    """The formula's 100/rho is held there."""
    common = {"altitude_deg": 1.0, "extinction_mag": 0.2, "sun_altitude_deg": -14.0}
    held, at_five, beyond = (
        float(twilight_cd_m2(sun_separation_deg=rho, **common)) for rho in (0.0, 5.0, 5.5)
    )
    assert held == at_five
    assert_allclose(at_five / beyond, 1.1, rtol=1e-3)


def test_twilight_fades_at_the_measured_rate() -> None:
    """Isaac Newton Group, La Palma: the sky's brightness halves every 2.9 min after sunset."""
    degrees_a_minute = 0.25 * np.cos(np.radians(28.76))  # at an equinox, Sun on the equator
    fade_mag = float(zenith_mag(-8.0) - zenith_mag(-4.0)) / 4.0 * degrees_a_minute
    assert_allclose(2.5 * np.log10(2.0) / fade_mag, 2.9, rtol=RATE_DIFFERS)


def test_the_sky_over_the_sun_is_brighter() -> None:
    """Low in the dusk it is brightest above the Sun and brighter low than overhead."""
    common = {"extinction_mag": 0.2, "sun_altitude_deg": -10.0}
    over_sun = twilight_cd_m2(altitude_deg=15.0, sun_separation_deg=25.0, **common)
    away = twilight_cd_m2(altitude_deg=15.0, sun_separation_deg=150.0, **common)
    overhead = twilight_cd_m2(altitude_deg=90.0, sun_separation_deg=100.0, **common)
    assert over_sun > away > overhead


@given(st.floats(-40.0, 89.0), st.floats(0.0, 90.0), st.floats(0.0, 180.0), st.floats(0.0, 1.5))
def test_a_higher_sun_never_darkens_the_sky(
    sun_altitude: float, altitude: float, separation: float, k: float
) -> None:
    """Finite and growing through dusk into day, and never above a blue sky's 8000 cd/m2."""
    lower, higher = (
        float(
            twilight_cd_m2(
                altitude_deg=altitude,
                extinction_mag=k,
                sun_altitude_deg=sun,
                sun_separation_deg=separation,
            )
        )
        for sun in (sun_altitude, sun_altitude + 1.0)
    )
    assert 0.0 <= lower <= higher * ROUNDING
    assert higher <= 8000.0 * ROUNDING


def test_day_is_bright() -> None:
    """With the Sun well up the sky is that of day, which hides all but the brightest."""
    assert float(zenith_mag(30.0)) == pytest.approx(3.3, abs=0.1)
