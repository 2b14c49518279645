"""Air mass and extinction against published formulas and tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.extinction import air_mass, extinction_loss_mag, extinction_mag_at

THIRD_DECIMAL = 6e-4
FORMULAS_AGREE = 0.01  # relative, above 10 deg: how far published air masses differ
SECOND_DECIMAL = 0.0051
# Green's losses rest on Rozenberg's air mass, which is 1 percent from Kasten & Young's at 10 deg.
OTHER_AIR_MASS = 0.01

ALTITUDES = [90, 60, 45, 30, 20, 15, 10]


@pytest.mark.parametrize(
    ("altitude", "expected", "tolerance"),
    [
        (90, 1.000, THIRD_DECIMAL),
        (60, 1.154, THIRD_DECIMAL),
        (45, 1.413, THIRD_DECIMAL),
        (30, 1.994, THIRD_DECIMAL),
        (20, 2.903, THIRD_DECIMAL),
        (15, 3.813, THIRD_DECIMAL),
        (10, 5.586, THIRD_DECIMAL),
        (5, 10.306, THIRD_DECIMAL),
        (2, 19.43, SECOND_DECIMAL),
        (0, 37.92, SECOND_DECIMAL),
    ],
)
def test_air_mass(altitude: float, expected: float, tolerance: float) -> None:
    """Kasten & Young 1989, Appl. Opt. 28, 4735, worked from the formula."""
    assert_allclose(air_mass(float(altitude)), expected, atol=tolerance)


@pytest.mark.parametrize(
    "published",
    [
        # Pickering 2002, DIO 12, 3.
        [1.000, 1.154, 1.412, 1.993, 2.900, 3.808, 5.581],
        # Rozenberg 1966, "Twilight".
        [1.000, 1.155, 1.414, 2.000, 2.919, 3.842, 5.639],
    ],
)
def test_air_mass_of_other_authors(published: list[float]) -> None:
    """Two independent published formulas, above 10 deg."""
    assert_allclose(air_mass(np.array(ALTITUDES, dtype=float)), published, rtol=FORMULAS_AGREE)


@given(st.floats(-90.0, 89.9))
def test_air_mass_falls_with_altitude(altitude: float) -> None:
    """Finite everywhere, never below 1, and less air higher up; the horizon rules below it."""
    here, higher = air_mass(altitude), air_mass(altitude + 0.1)
    assert np.isfinite(here)
    assert here >= higher >= 0.999
    assert air_mass(min(altitude, 0.0)) == air_mass(0.0)


@pytest.mark.parametrize(
    ("elevation_m", "printed"), [(0, 0.28), (500, 0.24), (1000, 0.21), (2000, 0.16), (3000, 0.13)]
)
def test_extinction_by_elevation(elevation_m: float, printed: float) -> None:
    """Green 1992, International Comet Quarterly 14, 55, table of the average."""
    assert_allclose(extinction_mag_at(elevation_m), printed, atol=SECOND_DECIMAL)


def test_extinction_by_elevation_to_three_digits() -> None:
    """Green 1992, worked from the formula."""
    heights_m = np.array([0.0, 500.0, 1000.0, 2000.0, 3000.0])
    assert_allclose(
        extinction_mag_at(heights_m), [0.281, 0.238, 0.206, 0.161, 0.132], atol=THIRD_DECIMAL
    )


@pytest.mark.parametrize(("altitude", "printed"), [(30, 0.56), (10, 1.59), (5, 2.91)])
def test_loss_at_sea_level(altitude: float, printed: float) -> None:
    """Green 1992, table of losses at sea level, average aerosol."""
    loss = extinction_loss_mag(altitude_deg=float(altitude), extinction_mag=extinction_mag_at(0.0))
    assert_allclose(loss, printed, rtol=OTHER_AIR_MASS, atol=SECOND_DECIMAL)


def test_arrays_give_what_floats_give() -> None:
    """Every function broadcasts and keeps floats floats."""
    altitudes = np.linspace(-5.0, 90.0, 20)
    assert_allclose(air_mass(altitudes), [air_mass(float(a)) for a in altitudes], rtol=1e-14)
    assert isinstance(air_mass(30.0), float)
    losses = extinction_loss_mag(
        altitude_deg=altitudes[:, None], extinction_mag=np.array([0.1, 0.3])
    )
    assert np.shape(losses) == (20, 2)
