"""The inner parts of globulars and galaxies against measured half-light sizes and a bare disc."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.formulas.concentration import CORES, core_mag
from planner.formulas.visibility_limit import (
    ellipse_area_arcmin2,
    mean_surface_brightness_mag_arcsec2,
)
from targets.model import Kind

HALF_LIGHT, GLOBULAR_CORE, GALAXY_HALF, BULGE, *_ = CORES
# The model knows a globular by its mean alone; about that, half-light radii scatter by two fifths,
# which is 5 log10(1.4) = 0.73 mag.
TYPICAL_MAG = 0.73
HUNDREDTH = 0.01


def within(core: object, mean: float) -> float:
    """Return the surface brightness of a core from that of the whole [mag/arcsec2]."""
    area_share, light_share = core.shares(np.array([mean]))  # type: ignore[attr-defined]
    return float(mean - 2.5 * np.log10(light_share[0] / area_share[0]))


@pytest.mark.parametrize(
    ("magnitude", "size_arcmin", "half_light_radius_arcmin"),
    [
        (5.8, 20.0, 1.69),  # M13
        (5.1, 32.0, 3.36),  # M22
        (9.0, 9.0, 2.30),  # NGC 5466
    ],
)
def test_half_of_a_globular_s_light(
    magnitude: float, size_arcmin: float, half_light_radius_arcmin: float
) -> None:
    """Harris 1996 (2010 edition), half-light radii, magnitudes and handbook sizes: from memory."""
    whole = ellipse_area_arcmin2(major_arcmin=size_arcmin, minor_arcmin=size_arcmin)
    mean = float(mean_surface_brightness_mag_arcsec2(magnitude=magnitude, area_arcmin2=whole))
    half = mean_surface_brightness_mag_arcsec2(
        magnitude=magnitude + 2.5 * np.log10(2.0),
        area_arcmin2=np.pi * half_light_radius_arcmin**2,
    )
    assert_allclose(within(HALF_LIGHT, mean), half, atol=TYPICAL_MAG)
    assert_allclose(HALF_LIGHT.shares(np.array([mean]))[1], 0.5, atol=HUNDREDTH)


def test_the_core_of_m13() -> None:
    """Harris 1996: 16.6 mag/arcsec2 in the middle, half as bright at the core radius of 0.6'.

    The mean over the core lies between the two, 0.4 to 0.5 mag below the middle (King's profile).
    """
    area = ellipse_area_arcmin2(major_arcmin=20.0, minor_arcmin=20.0)
    mean = float(mean_surface_brightness_mag_arcsec2(magnitude=5.8, area_arcmin2=area))
    assert 16.6 <= within(GLOBULAR_CORE, mean) <= 17.4


@pytest.mark.parametrize(("core", "more_mag"), [(GALAXY_HALF, 0.4), (BULGE, 0.5)])
def test_the_inner_part_of_a_flat_galaxy_is_little_more_than_a_disc_s(
    core: object, more_mag: float
) -> None:
    """Freeman 1970: a disc holds 1 - (1 + 3.1 x) exp(-3.1 x) of its light within x of its radius.

    At 0.4 that is 0.35, at 0.2 it is 0.13.
    """
    area_share, light_share = core.shares(np.array([23.0]))  # type: ignore[attr-defined]
    reach = 3.1 * np.sqrt(area_share[0])
    disc = 1.0 - (1.0 + reach) * np.exp(-reach)
    assert 0.0 <= 2.5 * np.log10(light_share[0] / disc) <= more_mag


def test_a_rating_above_the_middle_tells_a_bright_core() -> None:
    """Half a magnitude a step, of galaxies only, and nothing where nobody rated."""
    kinds = np.array([str(Kind.GALAXY)] * 5 + [str(Kind.GLOBULAR_CLUSTER)])
    found = core_mag(kinds, np.array([1.0, 3.0, 4.0, 5.0, np.nan, 5.0]))
    assert_allclose(found, [0.0, 0.0, 0.5, 1.0, 0.0, 0.0])
