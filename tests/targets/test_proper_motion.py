"""Stars where they are tonight: by Gaia's places of 2016, and by numbers worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from targets.catalogue.catalogue import load_catalogue
from targets.double_stars.doubles import star_at
from targets.field_stars import load_field_stars
from targets.model import Kind
from targets.proper_motion import moved
from targets.sphere import angle_deg, separation_deg, unit_vectors

# Hipparcos' motions of stars with close companions hold some of the orbit.
FIVE_ARCSEC_DEG = 5.0 / 3600.0


def test_a_year_of_motion_by_hand() -> None:
    """On the equator at RA 0: 3600 mas/yr east and 7200 north are 3.6 and 7.2 arcsec."""
    there = moved(unit_vectors(0.0, 0.0), ra_mas_yr=3600.0, dec_mas_yr=7200.0, years=1.0)
    assert_allclose(np.degrees(there[1:]) * 3600.0, [3.6, 7.2], atol=1e-6)


@given(st.floats(-89.0, 89.0), st.floats(-5000.0, 5000.0), st.floats(-60.0, 60.0))
def test_a_star_moves_by_its_motion_at_any_declination(
    dec_deg: float, motion_mas_yr: float, years: float
) -> None:
    """Toward the east as far as toward the north."""
    start = unit_vectors(120.0, dec_deg)
    for east, north in ((motion_mas_yr, 0.0), (0.0, motion_mas_yr)):
        there = moved(start, ra_mas_yr=east, dec_mas_yr=north, years=years)
        expected = abs(motion_mas_yr * years) / 3.6e6
        assert_allclose(float(angle_deg(start, there)), expected, atol=1e-7)


def test_fast_stars_of_the_catalogue_stand_where_gaia_saw_them_in_2016() -> None:
    """Each that moves by 0.4 arcsec a year, within 5 arcsec of a star of Gaia's, or Hipparcos'."""
    catalogue, field = load_catalogue(), load_field_stars()
    count = 0
    for row in np.flatnonzero(catalogue.of_kind(Kind.STAR, Kind.DOUBLE_STAR)):
        target = catalogue.target(int(row))
        motion = target.proper_motion
        if motion is None or np.hypot(motion.ra_mas_yr, motion.dec_mas_yr) < 400.0:
            continue
        then = star_at(target, 2016.0)
        near = field.within(then.ra_deg or 0.0, then.dec_deg or 0.0, 0.05)
        apart = separation_deg(near.ra_deg, near.dec_deg, then.ra_deg or 0.0, then.dec_deg or 0.0)
        assert apart.min() < FIVE_ARCSEC_DEG, (target.name, apart.min() * 3600.0)
        count += 1
    assert count > 10


@pytest.mark.parametrize("name", ["61 Cyg", "omicron2 Eri", "alpha Cen"])
def test_by_way_of_another_year_is_the_same(name: str) -> None:
    """A star that was moved once is moved on from there, not again from 2000."""
    target = load_catalogue().find(name)
    at_once, by_way = star_at(target, 2026.9), star_at(star_at(target, 2010.0), 2026.9)
    apart = separation_deg(
        at_once.ra_deg or 0, at_once.dec_deg or 0, by_way.ra_deg or 0, by_way.dec_deg or 0
    )
    assert float(apart) < 1e-5
    assert (
        float(
            separation_deg(
                at_once.ra_deg or 0, at_once.dec_deg or 0, target.ra_deg or 0, target.dec_deg or 0
            )
        )
        > 0.02
    )
