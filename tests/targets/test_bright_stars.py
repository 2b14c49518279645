"""The bright stars: where they are by other catalogues, how they move, what they are called."""

from __future__ import annotations

import ephem
import ephem.stars
import numpy as np
import pytest
from numpy.testing import assert_allclose

from targets.bright_stars import BrightStars, load_bright_stars
from targets.field_stars import load_field_stars
from targets.sphere import angle_deg, separation_deg, unit_vectors

TEN_ARCSEC = 10.0 / 3600.0
# The star file of the drawings holds places of 2016.0.
GAIA_EPOCH_YR = 2016.0


@pytest.fixture(scope="module")
def stars() -> BrightStars:
    """The stars of the table."""
    return load_bright_stars()


def row_called(stars: BrightStars, label: str) -> int:
    """The row of a star by its letter or number."""
    return stars.labels.index(label)


def test_every_named_star_stands_where_gaia_and_hipparcos_have_it(stars: BrightStars) -> None:
    """Moved to 2016.0, each is within 10 arcsec of a star of the drawings' file."""
    field = load_field_stars()
    bright = unit_vectors(field.ra_deg, field.dec_deg)
    own = stars.directions(GAIA_EPOCH_YR)
    named = [row for row in range(len(stars)) if stars.labels[row]]
    # The nearest star of the file is among those at nearly the same height above the equator.
    bright = bright[np.argsort(bright[:, 2])]
    reach = 2.0 * np.radians(TEN_ARCSEC)
    begin = np.searchsorted(bright[:, 2], own[named, 2] - reach)
    end = np.searchsorted(bright[:, 2], own[named, 2] + reach)
    apart_deg = np.array(
        [
            np.min(angle_deg(bright[i:j], own[row]), initial=180.0)
            for row, i, j in zip(named, begin, end, strict=True)
        ]
    )
    missing = {
        stars.labels[row] for row, far in zip(named, apart_deg > TEN_ARCSEC, strict=True) if far
    }
    assert not missing


def test_the_best_known_stars_stand_where_another_library_has_them(stars: BrightStars) -> None:
    """Each star that PyEphem brings along is within 10 arcsec at epoch 2000."""
    own = stars.directions(2000.0)
    for name in ephem.stars.stars:
        other = ephem.star(name, "2000/1/1.5", epoch="2000")
        place = unit_vectors(np.degrees(float(other.a_ra)), np.degrees(float(other.a_dec)))
        apart_deg = angle_deg(own, place)
        row = int(np.argmin(np.where(stars.magnitude < 4.5, apart_deg, 180.0)))
        assert apart_deg[row] < TEN_ARCSEC, (name, stars.name(row), apart_deg[row] * 3600.0)


def test_proper_motion_carries_arcturus(stars: BrightStars) -> None:
    """Arcturus moves by 2.279 arcsec a year toward 208.7 deg (SIMBAD, from memory)."""
    row = row_called(stars, "alpha Boo")
    then, now = stars.directions(2000.0)[row], stars.directions(2100.0)[row]
    assert_allclose(float(angle_deg(then, now)) * 3600.0, 227.9, atol=0.3)
    assert now[2] < then[2]
    assert np.arctan2(now[1], now[0]) < np.arctan2(then[1], then[0])


def test_61_cygni_stands_where_it_is_in_2026(stars: BrightStars) -> None:
    """It moves by 5.28 arcsec a year (Hipparcos): 2.3 arcmin from 2000.0 to 2026.5."""
    row = row_called(stars, "61 Cyg")
    apart = angle_deg(stars.directions(2000.0)[row], stars.directions(2026.5)[row])
    assert_allclose(float(apart) * 60.0, 2.34, atol=0.03)


@pytest.mark.parametrize(
    ("label", "name"),
    [
        ("beta Lyr", "Sheliak (beta Lyr)"),
        ("eta Lyr", "eta Lyr"),
        ("61 Cyg", "61 Cyg"),
        ("alpha2 CVn", "Cor Caroli (alpha2 CVn)"),
    ],
)
def test_names(stars: BrightStars, label: str, name: str) -> None:
    """A bright star has its usual name too; others go by letter or number."""
    assert stars.name(row_called(stars, label)) == name


def test_a_star_without_a_name_is_told_by_how_it_looks(stars: BrightStars) -> None:
    """HR 1105 in Camelopardalis, magnitude 5.1 and B - V 1.65 (Hipparcos)."""
    apart_deg = separation_deg(stars.ra_deg, stars.dec_deg, 55.5387, 63.2168)
    row = int(np.argmin(apart_deg))
    assert stars.name(row) == "a 5th magnitude star in Camelopardalis, red"


def test_alone_is_what_the_star_file_says(stars: BrightStars) -> None:
    """Within that distance nothing is as bright, or half as bright, by the drawings' file."""
    field = load_field_stars()
    for row in range(0, len(stars), 400):
        near = field.within(stars.ra_deg[row], stars.dec_deg[row], stars.alone_deg[row] - 0.03)
        apart_deg = separation_deg(near.ra_deg, near.dec_deg, stars.ra_deg[row], stars.dec_deg[row])
        rivals = (near.magnitude < stars.magnitude[row] + 0.70) & (apart_deg > 0.06)
        assert not rivals.any(), stars.name(row)
