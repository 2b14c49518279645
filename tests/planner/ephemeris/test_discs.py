"""Formulas of discs against worked examples and published tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.ephemeris.discs import (
    RADII,
    angular_diameter_arcsec,
    lit_fraction,
    moon_magnitude,
    phase_angle_deg,
    ring_axes_arcsec,
    ring_tilt_deg,
    tilted_diameter_arcsec,
)

AU_KM = 149_597_870.7  # IAU 2012, resolution B2
LAST_DIGIT_DEG = 0.001  # of Meeus' worked examples
LAST_DIGIT_ARCSEC = 0.01
ONE_PERCENT = 0.01  # the table is older than the radii used here, and takes cloud tops elsewhere
TWO_TENTHS_MAG = 0.2  # what the approximation claims


@pytest.mark.parametrize(
    ("name", "equatorial", "polar"),
    [
        ("Sun", 959.63, 959.63),
        ("Mercury", 3.36, 3.36),
        ("Venus", 8.34, 8.34),
        ("Mars", 4.68, 4.68),
        ("Jupiter", 98.44, 92.06),
        ("Saturn", 82.73, 73.82),
        ("Uranus", 35.02, 35.02),
        ("Neptune", 33.50, 33.50),
    ],
)
def test_semidiameters_at_one_au(name: str, equatorial: float, polar: float) -> None:
    """Meeus 1998, ch. 55: semidiameters at one au in arcseconds."""
    two_percent = 2.0 * ONE_PERCENT
    radii = RADII[name]
    assert_allclose(
        angular_diameter_arcsec(radii.equatorial_km, 1.0) / 2.0, equatorial, rtol=two_percent
    )
    assert_allclose(angular_diameter_arcsec(radii.polar_km, 1.0) / 2.0, polar, rtol=two_percent)


def test_semidiameter_of_the_moon() -> None:
    """Meeus 1998, ch. 55: 358473400 / 368410 = 973.03 arcsec on 1992 April 12."""
    radius = angular_diameter_arcsec(RADII["Moon"].equatorial_km, 368_410.0 / AU_KM) / 2.0
    half_arcsecond = 0.5  # a radius of 1737.4 or 1737.9 km
    assert_allclose(radius, 973.03, atol=half_arcsecond)


def test_phase_of_the_moon_in_a_worked_example() -> None:
    """Meeus 1998, ex. 48.a, 1992 April 12.0 TD: phase angle 69.0756 degrees, k 0.6786."""

    def place_au(ra_deg: float, dec_deg: float, distance_km: float) -> np.ndarray:
        ra, dec = np.radians(ra_deg), np.radians(dec_deg)
        unit = [np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)]
        return np.array([unit]) * distance_km / AU_KM

    phase_deg = phase_angle_deg(
        place_au(134.6885, 13.7684, 368_410.0), place_au(20.6579, 8.6964, 149_971_520.0)
    )
    assert_allclose(phase_deg, 69.0756, atol=LAST_DIGIT_DEG)
    assert_allclose(lit_fraction(phase_deg), 0.6786, atol=0.0001)


def test_phase_of_venus_in_a_worked_example() -> None:
    """Meeus 1998, ex. 41.a: r 0.724604, R 0.983824, distance 0.910947 au give k 0.647."""
    sun_venus, sun_earth, earth_venus = 0.724604, 0.983824, 0.910947
    # The triangle laid out in a plane, Earth at its origin and Venus on the first axis.
    along = (sun_earth**2 + earth_venus**2 - sun_venus**2) / (2.0 * earth_venus)
    sun = np.array([[along, np.sqrt(sun_earth**2 - along**2), 0.0]])
    k = lit_fraction(phase_angle_deg(np.array([[earth_venus, 0.0, 0.0]]), sun))
    assert_allclose(k, 0.647, atol=0.0005)


def test_tilt_of_the_rings_in_a_worked_example() -> None:
    """Meeus 1998, ex. 45.a, 1992 Dec 16.0 TD: seen from the Sun the tilt B' is 14.679 deg.

    Saturn's heliocentric place (319.191900, -1.075183) and T are from memory.
    """
    two_last_digits = 2.0 * LAST_DIGIT_DEG  # he moves the place by 0.0018 deg of aberration first
    tilt_deg = ring_tilt_deg(319.191900, -1.075183, centuries=-0.070431938)
    assert_allclose(tilt_deg, 14.679, atol=two_last_digits)


def test_axes_of_the_rings_in_a_worked_example() -> None:
    """Meeus 1998, ex. 45.a: B 16.442 deg at 10.464606 au gives 35.87 by 10.15 arcsec."""
    major_arcsec, minor_arcsec = ring_axes_arcsec(10.464606, 16.442)
    assert_allclose(major_arcsec, 35.87, atol=LAST_DIGIT_ARCSEC)
    assert_allclose(minor_arcsec, 10.15, atol=LAST_DIGIT_ARCSEC)


def test_a_ball_seen_from_its_pole_is_round() -> None:
    """The short axis grows from the polar diameter at tilt 0 to the equatorial one at 90."""
    assert_allclose(tilted_diameter_arcsec(20.0, 18.0, tilt_deg=0.0), 18.0)
    assert_allclose(tilted_diameter_arcsec(20.0, 18.0, tilt_deg=-90.0), 20.0)
    shorter, longer = tilted_diameter_arcsec(20.0, 18.0, tilt_deg=np.array([10.0, 26.0]))
    assert 18.0 < shorter < longer < 20.0


@pytest.mark.parametrize(
    ("phase_deg", "magnitude"),
    [
        (0.0, -12.73),  # mean full Moon; NASA's Moon fact sheet: -12.74 (from memory)
        (90.0, -10.0),  # half Moon, Russell 1916, Astrophysical Journal 43, 103 (from memory)
    ],
)
def test_brightness_of_full_and_half_moon(phase_deg: float, magnitude: float) -> None:
    """At mean distances the Moon has the brightness that tables give."""
    ours = moon_magnitude(phase_deg, distance_au=384_400.0 / AU_KM, sun_distance_au=1.0)
    assert_allclose(ours, magnitude, atol=TWO_TENTHS_MAG)


def test_a_near_moon_is_brighter_by_the_square_of_distance() -> None:
    """From 400,000 km to 360,000 km it gains 5 log10(400 / 360) = 0.229 mag."""
    near, far = moon_magnitude(
        20.0, distance_au=np.array([360_000.0, 400_000.0]) / AU_KM, sun_distance_au=1.0
    )
    assert_allclose(far - near, 0.229, atol=0.0005)


@given(st.floats(0.0, 180.0))
def test_one_phase_gives_what_an_array_gives(phase_deg: float) -> None:
    """Floats and arrays go the same way, and a fraction stays one."""
    alone = lit_fraction(phase_deg)
    assert alone == lit_fraction(np.array([phase_deg, 10.0]))[0]
    assert 0.0 <= alone <= 1.0
