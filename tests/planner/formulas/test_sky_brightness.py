"""The sum of glow, moonlight and twilight."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.photometry import luminance_cd_m2, surface_brightness_mag_arcsec2
from planner.formulas.sky_brightness import glow_over_zenith, sky_luminance_cd_m2

HUNDREDTH_MAG = 0.0051
PARANAL_MAG = 0.11  # V extinction at Paranal, from memory
# With all of the light from the layer instead of Patat's 0.6, down to 40 deg: 0.15 by his formula.
ALL_FROM_THE_LAYER_MAG = 0.16

MOONLESS_NIGHT: dict[str, Any] = {
    "zenith_mag_arcsec2": 21.0,
    "extinction_mag": 0.25,
    "altitude_deg": 50.0,
    "sun_altitude_deg": -40.0,
    "sun_separation_deg": 120.0,
    "moon_altitude_deg": -30.0,
    "moon_separation_deg": 100.0,
    "moon_phase_angle_deg": 60.0,
}


def sky_mag(**changes: Any) -> np.ndarray:
    """Return the sky of an ordinary moonless night with some of it changed [mag/arcsec2]."""
    return np.asarray(
        surface_brightness_mag_arcsec2(sky_luminance_cd_m2(**(MOONLESS_NIGHT | changes)))
    )


@pytest.mark.parametrize(
    ("zenith_distance", "layer", "brighter_mag"), [(40.0, 1.29, 0.14), (50.0, 1.51, 0.24)]
)
def test_gradient_of_a_natural_sky(
    zenith_distance: float, layer: float, brighter_mag: float
) -> None:
    """Patat 2003, A&A 400, 1183, appendix C: the layer of air, and what 0.6 of the light does."""
    glow = glow_over_zenith(altitude_deg=90.0 - zenith_distance, extinction_mag=PARANAL_MAG)
    assert brighter_mag < 2.5 * np.log10(glow) < brighter_mag + ALL_FROM_THE_LAYER_MAG
    unabsorbed = glow_over_zenith(altitude_deg=90.0 - zenith_distance, extinction_mag=0.0)
    assert_allclose(unabsorbed, layer, atol=HUNDREDTH_MAG)


def test_gradient_of_the_moonlight_paper() -> None:
    """Krisciunas & Schaefer 1991, eq. 2, worked from the formula: 21.587 overhead, 21.46 at 60."""
    glow = glow_over_zenith(altitude_deg=60.0, extinction_mag=0.172)
    assert_allclose(21.587 - 2.5 * np.log10(glow), 21.46, atol=HUNDREDTH_MAG)


def test_a_moonless_zenith_is_what_the_site_says() -> None:
    """Overhead, in the depth of night, nothing is added."""
    assert_allclose(sky_mag(altitude_deg=90.0), 21.0, atol=1e-6)


def test_the_parts_add_as_light() -> None:
    """Moon and dusk together are the sum of each alone, less the night counted twice."""
    moon = {"moon_altitude_deg": 40.0}
    dusk = {"sun_altitude_deg": -9.0}
    night = sky_luminance_cd_m2(**MOONLESS_NIGHT)
    with_moon = sky_luminance_cd_m2(**(MOONLESS_NIGHT | moon))
    with_dusk = sky_luminance_cd_m2(**(MOONLESS_NIGHT | dusk))
    both = sky_luminance_cd_m2(**(MOONLESS_NIGHT | moon | dusk))
    assert_allclose(both, with_moon + with_dusk - night, rtol=1e-9)
    assert with_moon > 1.5 * night
    assert with_dusk > 1.5 * night


def test_dusk_comes_without_a_step() -> None:
    """A tenth of a degree of Sun changes the sky by at most the model's 1.1 mag a degree."""
    mag = sky_mag(sun_altitude_deg=np.arange(-30.0, 20.0, 0.1))
    assert np.all(np.diff(mag) <= 0.0)
    assert np.max(-np.diff(mag)) < 0.11


def test_altitude_acts_without_a_step() -> None:
    """Down to and below the horizon, under Moon and dusk."""
    mag = sky_mag(
        altitude_deg=np.arange(-20.0, 90.0, 0.1), moon_altitude_deg=35.0, sun_altitude_deg=-11.0
    )
    assert np.max(np.abs(np.diff(mag))) < 0.05
    assert mag[0] == mag[100]


@given(
    st.floats(-90.0, 90.0),
    st.floats(-90.0, 90.0),
    st.floats(0.0, 180.0),
    st.floats(-90.0, 90.0),
    st.floats(0.0, 180.0),
    st.floats(0.0, 180.0),
    st.floats(0.0, 1.5),
)
def test_the_sky_is_finite_everywhere(
    altitude: float,
    sun: float,
    from_sun: float,
    moon: float,
    from_moon: float,
    phase: float,
    k: float,
) -> None:
    """Whatever is above or below the horizon, and never darker than the night alone."""
    luminance = sky_luminance_cd_m2(
        zenith_mag_arcsec2=21.0,
        extinction_mag=k,
        altitude_deg=altitude,
        sun_altitude_deg=sun,
        sun_separation_deg=from_sun,
        moon_altitude_deg=moon,
        moon_separation_deg=from_moon,
        moon_phase_angle_deg=phase,
    )
    glow = glow_over_zenith(altitude_deg=altitude, extinction_mag=k)
    assert np.isfinite(luminance)
    assert luminance >= luminance_cd_m2(21.0) * glow > 0.0


def test_arrays_give_what_floats_give() -> None:
    """A grid of targets and times is the same as one after the other."""
    altitudes = np.array([[-5.0], [20.0], [70.0]])
    suns = np.array([-3.0, -10.0, -20.0, -50.0])
    grid = sky_mag(altitude_deg=altitudes, sun_altitude_deg=suns, moon_altitude_deg=8.0)
    assert grid.shape == (3, 4)
    one = sky_mag(altitude_deg=20.0, sun_altitude_deg=-10.0, moon_altitude_deg=8.0)
    assert_allclose(grid[1, 1], one, rtol=1e-14)
    assert isinstance(sky_luminance_cd_m2(**MOONLESS_NIGHT), float)
