"""Moonlight against the published model's values, and that it rises without a step."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.moonlight import (
    moon_illuminance,
    moon_scattering,
    moonlight_cd_m2,
    scattering_air_mass,
)
from planner.formulas.sky_brightness import glow_over_zenith

CD_M2_PER_NANOLAMBERT = 1e-5 / np.pi  # by definition: 1 lambert is 1e4/pi cd/m2
HUNDREDTH_MAG = 0.0051
TENTH_NANOLAMBERT = 0.06
FOUR_DIGITS = 6e-4  # relative: worked to four digits

MAUNA_KEA_MAG = 0.172  # extinction in the paper, and its dark zenith of 79.0 nL (from memory)
DARK_ZENITH_NL = 79.0


def garstang_mag(luminance_nl: float | np.ndarray) -> np.ndarray:
    """Convert as the published tables do: Garstang 1986, PASP 98, 364."""
    return np.asarray((20.7233 - np.log(np.asarray(luminance_nl) / 34.08)) / 0.92104)


def moonlight_nl(
    zenith_distance: float, moon_zenith_distance: float, separation: float, phase: float, k: float
) -> float:
    """Call the model the way its authors state a case."""
    luminance = moonlight_cd_m2(
        altitude_deg=90.0 - zenith_distance,
        extinction_mag=k,
        moon_altitude_deg=90.0 - moon_zenith_distance,
        moon_separation_deg=separation,
        moon_phase_angle_deg=phase,
    )
    return float(luminance) / CD_M2_PER_NANOLAMBERT


@pytest.mark.parametrize(
    ("separation", "phase", "moon_nl", "total_mag", "change_mag"),
    [
        (30.0, 0.0, 2387.2, 17.85, -3.62),
        (60.0, 0.0, 1236.1, 18.53, -2.94),
        (90.0, 0.0, 899.1, 18.84, -2.62),
        (60.0, 45.0, 414.5, 19.58, -1.89),
        (60.0, 90.0, 112.5, 20.57, -0.89),
        (60.0, 120.0, 32.5, 21.12, -0.34),
    ],
)
def test_moonlight(
    separation: float, phase: float, moon_nl: float, total_mag: float, change_mag: float
) -> None:
    """Krisciunas & Schaefer 1991, PASP 103, 1033, worked from the formulas: Z 30, Moon at 60."""
    moon = moonlight_nl(30.0, 60.0, separation, phase, MAUNA_KEA_MAG)
    dark = DARK_ZENITH_NL * float(glow_over_zenith(altitude_deg=60.0, extinction_mag=MAUNA_KEA_MAG))
    assert_allclose(moon, moon_nl, atol=TENTH_NANOLAMBERT)
    dark_mag = garstang_mag(dark)
    assert_allclose(dark_mag, 21.46, atol=HUNDREDTH_MAG)
    mag = garstang_mag(dark + moon)
    assert_allclose(mag, total_mag, atol=HUNDREDTH_MAG)
    assert_allclose(mag - dark_mag, change_mag, atol=HUNDREDTH_MAG)


def test_glare_close_to_the_moon() -> None:
    """Krisciunas & Schaefer 1991, worked from the formulas: 3 deg from a full Moon 60 deg up.

    f = 10^5.36 (1.06 + cos^2 3) + 6.2e7 / 3^2 = 4.713e5 + 6.889e6 = 7.360e6; the branch for more
    than 10 deg, 10^(6.15 - 3/40) = 1.189e6 in place of the second term, would give a quarter of it.
    I* = 10^(-0.4 * 3.84) = 0.029107; X = (1 - 0.96 * 0.25)^-1/2 = 1.14708 for both, so that with
    k = 0.172 the air passes 0.83385 and scatters 0.16615: 7.360e6 * 0.029107 * 0.83385 * 0.16615.
    """
    assert_allclose(moon_scattering(3.0), 7.360e6, rtol=FOUR_DIGITS)
    assert_allclose(moonlight_nl(30.0, 30.0, 3.0, 0.0, MAUNA_KEA_MAG), 29680.0, rtol=FOUR_DIGITS)


def test_moonlight_of_another_implementation() -> None:
    """Documentation test of specsim, which simulates spectrographs: 19.855 mag/arcsec2.

    Z 20, Moon at 70 and 50 deg away, phase 0.25 of the way from full to new, k 0.15.
    """
    moon = moonlight_nl(20.0, 70.0, 50.0, 45.0, 0.15)
    assert_allclose(garstang_mag(moon), 19.855, atol=5e-4)


def test_the_moon_fades_by_the_published_amount() -> None:
    """Krisciunas & Schaefer 1991, eq. 9: a quarter Moon is 0.026*90 + 0.26 mag below full."""
    ratio = moon_illuminance(90.0) / moon_illuminance(0.0)
    assert_allclose(-2.5 * np.log10(ratio), 2.34 + 4e-9 * 90**4, atol=1e-9)


def test_air_mass_of_the_thin_layer() -> None:
    """Krisciunas & Schaefer 1991, eq. 3: 1 overhead, 0.04^-1/2 = 5 at the horizon and below."""
    assert_allclose(scattering_air_mass(np.array([90.0, 0.0, -20.0])), [1.0, 5.0, 5.0], rtol=1e-12)
    # 1 - 0.96 * 0.75 = 0.28
    assert_allclose(scattering_air_mass(30.0), 0.28**-0.5, rtol=1e-12)


def test_the_published_model_holds_from_ten_degrees_up() -> None:
    """Between two altitudes only the Moon's path through the air counts; lower it is damped."""

    def seen_over_model(moon_altitude: float) -> float:
        path = scattering_air_mass(moon_altitude) - scattering_air_mass(40.0)
        model = 10.0 ** (-0.4 * 0.2 * float(path))
        low = moonlight_nl(30.0, 90.0 - moon_altitude, 60.0, 0.0, 0.2)
        return low / moonlight_nl(30.0, 50.0, 60.0, 0.0, 0.2) / model

    assert_allclose(seen_over_model(10.0), 1.0, rtol=1e-9)
    assert_allclose(seen_over_model(4.5), 0.5, rtol=1e-9)


def test_the_glare_ends_at_the_edge_of_the_moon() -> None:
    """Its mean radius is 15.5': nearer than that the formula is held."""
    assert moon_scattering(0.0) == moon_scattering(0.25)
    assert moon_scattering(0.25) > 1.01 * float(moon_scattering(0.27))


def test_no_moonlight_once_the_moon_has_set() -> None:
    """Exactly nothing from one degree below the horizon."""
    for below in (91.0, 95.0, 180.0):
        assert moonlight_nl(30.0, below, 60.0, 0.0, 0.2) == 0.0


@given(st.floats(0.0, 89.0), st.floats(0.0, 1.0))
def test_a_closer_moon_never_darkens_the_sky(separation: float, step: float) -> None:
    """Within 90 deg; beyond that the air's Rayleigh scattering grows again."""
    assert moon_scattering(separation) >= moon_scattering(separation + step)


@given(st.floats(0.0, 179.0))
def test_a_fuller_moon_never_darkens_the_sky(phase: float) -> None:
    """The phase angle falls toward full Moon."""
    assert moon_illuminance(phase) > moon_illuminance(phase + 0.5)


def test_a_rising_moon_brightens_the_sky_without_a_step() -> None:
    """A tenth of a degree, half a minute of moonrise, changes a dark sky by little."""
    altitudes = np.arange(-3.0, 60.0, 0.1)
    moon = moonlight_cd_m2(
        altitude_deg=45.0,
        extinction_mag=0.25,
        moon_altitude_deg=altitudes,
        moon_separation_deg=60.0,
        moon_phase_angle_deg=0.0,
    )
    dark = 85.6 * CD_M2_PER_NANOLAMBERT  # 21.5 mag/arcsec2 by the same scale
    mag = -2.5 * np.log10(moon + dark)
    assert np.all(np.diff(mag) <= 0.0)
    assert np.max(np.abs(np.diff(mag))) < 0.1


def test_arrays_give_what_floats_give() -> None:
    """The model broadcasts over all its arguments."""
    separations = np.array([0.0, 5.0, 12.0, 60.0, 170.0])
    both = moonlight_cd_m2(
        altitude_deg=40.0,
        extinction_mag=0.2,
        moon_altitude_deg=np.array([[-5.0], [3.0], [50.0]]),
        moon_separation_deg=separations,
        moon_phase_angle_deg=20.0,
    )
    assert np.shape(both) == (3, 5)
    single = [moonlight_nl(50.0, 40.0, float(s), 20.0, 0.2) for s in separations]
    assert_allclose(np.asarray(both)[2] / CD_M2_PER_NANOLAMBERT, single, rtol=1e-12)
    assert np.all(np.isfinite(both))
