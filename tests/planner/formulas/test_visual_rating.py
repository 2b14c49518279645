"""Visual ratings as surface brightness: what observers say of well-known nebulae comes out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.filters import Spectrum, sky_passed, target_passed
from planner.formulas.photometry import luminance_cd_m2
from planner.formulas.visibility_limit import (
    ellipse_area_arcmin2,
    even_glow,
    grade_word,
    light_gain,
)
from planner.formulas.visual_rating import rating_surface_brightness_mag_arcsec2
from planner.model.kit import FilterKind
from planner.model.plan import Grade

EXIT_PUPIL_MM = 5.0
LOSS_MAG = 0.3  # a quarter of a magnitude per air mass, at 55 degrees


def margin(
    rating: float,
    axes_arcmin: tuple[float, float],
    *,
    aperture_mm: float,
    sky: float,
    filter_kind: FilterKind | None = None,
    light: Spectrum = Spectrum.OXYGEN,
) -> float:
    """Return the margin of a rated nebula in a telescope with an exit pupil of 5 mm."""
    area = ellipse_area_arcmin2(major_arcmin=axes_arcmin[0], minor_arcmin=axes_arcmin[1])
    brightness = rating_surface_brightness_mag_arcsec2(
        rating=rating, area_arcmin2=area, emits_lines=light is not Spectrum.CONTINUUM
    )
    return float(
        even_glow(
            surface_brightness_mag_arcsec2=brightness + LOSS_MAG,
            area_arcmin2=area,
            sky_cd_m2=luminance_cd_m2(sky),
            magnification=aperture_mm / EXIT_PUPIL_MM,
            light_gain=light_gain(exit_pupil_mm=EXIT_PUPIL_MM, pupil_mm=6.5, transmission=0.8),
            target_passed=target_passed(filter_kind, light),
            sky_passed=sky_passed(filter_kind),
        ).margin_dex()
    )


@pytest.mark.parametrize(
    ("rating", "aperture_mm", "sky", "expected_dex", "filter_kind"),
    [
        (5.0, 80.0, 20.5, 1.20, None),
        (4.0, 100.0, 20.5, 0.65, None),
        (3.0, 150.0, 21.0, 0.20, None),
        (2.0, 200.0, 21.5, 0.15, FilterKind.NARROWBAND),
        (1.0, 300.0, 21.8, -0.15, FilterKind.NARROWBAND),
    ],
)
def test_a_rating_means_its_margin_under_its_conditions(
    rating: float, aperture_mm: float, sky: float, expected_dex: float, filter_kind: FilterKind
) -> None:
    """Our choice: 3 mm, or 5 mm with a filter, into 7 mm; 80 percent; 0.3 mag lost in the air."""
    exit_pupil_mm = 5.0 if filter_kind else 3.0
    brightness = rating_surface_brightness_mag_arcsec2(
        rating=rating, area_arcmin2=100.0, emits_lines=True
    )
    margin_dex = even_glow(
        surface_brightness_mag_arcsec2=brightness + 0.3,
        area_arcmin2=100.0,
        sky_cd_m2=luminance_cd_m2(sky),
        magnification=aperture_mm / exit_pupil_mm,
        light_gain=light_gain(exit_pupil_mm=exit_pupil_mm, pupil_mm=7.0, transmission=0.8),
        target_passed=target_passed(filter_kind, Spectrum.OXYGEN),
        sky_passed=sky_passed(filter_kind),
    ).margin_dex()
    assert_allclose(margin_dex, expected_dex, atol=1e-9)


def test_the_orion_nebula_is_easy_in_a_small_telescope() -> None:
    """M42, 85' x 60', in 80 mm under 20.5 and in 200 mm in a town (common practice)."""
    assert grade_word(margin(5.0, (85.0, 60.0), aperture_mm=80.0, sky=20.5)) is Grade.EASY
    assert grade_word(margin(5.0, (85.0, 60.0), aperture_mm=200.0, sky=19.0)) is Grade.EASY


def test_the_rosette_is_hard_and_better_with_a_filter() -> None:
    """80' x 60' under 21 mag/arcsec2 (common practice)."""
    without = margin(3.0, (80.0, 60.0), aperture_mm=200.0, sky=21.0)
    with_filter = margin(
        3.0, (80.0, 60.0), aperture_mm=200.0, sky=21.0, filter_kind=FilterKind.NARROWBAND
    )
    assert grade_word(without) is Grade.HARD
    assert with_filter > without + 0.3


def test_the_horsehead_is_unlikely_in_a_middling_telescope() -> None:
    """6' x 4' in 200 mm under 21.3; H beta and 300 mm under 21.8 bring it in (common practice)."""
    horsehead = (6.0, 4.0)
    plain = margin(1.0, horsehead, aperture_mm=200.0, sky=21.3, light=Spectrum.HYDROGEN)
    best = margin(
        1.0,
        horsehead,
        aperture_mm=300.0,
        sky=21.8,
        filter_kind=FilterKind.HBETA,
        light=Spectrum.HYDROGEN,
    )
    assert grade_word(plain) is Grade.UNLIKELY
    assert grade_word(best) in (Grade.HARD, Grade.VERY_HARD)


def test_a_town_hides_what_needs_a_dark_sky() -> None:
    """Ratings 1 and 2 under 18.5, with no filter."""
    for rating in (1.0, 2.0):
        assert margin(rating, (30.0, 20.0), aperture_mm=250.0, sky=18.5) < -0.2


@given(st.floats(0.1, 50000.0), st.booleans())
def test_a_better_rating_is_a_brighter_nebula(area: float, emits_lines: bool) -> None:
    """At every size, by 0.4 mag at least."""
    brightness = rating_surface_brightness_mag_arcsec2(
        rating=np.array([1.0, 2.0, 3.0, 4.0, 5.0]), area_arcmin2=area, emits_lines=emits_lines
    )
    assert np.all(np.diff(brightness) < -0.4)


def test_a_hard_target_without_lines_is_rated_without_a_filter() -> None:
    """No filter helps a reflection nebula, so at rating 1 and 2 it must be brighter."""
    for rating, same in ((1.0, False), (2.0, False), (3.0, True), (5.0, True)):
        emitting, reflecting = (
            rating_surface_brightness_mag_arcsec2(
                rating=rating, area_arcmin2=50.0, emits_lines=lines
            )
            for lines in (True, False)
        )
        assert bool(emitting == reflecting) is same
        assert emitting >= reflecting


def test_a_dark_nebula_takes_less_than_a_town_s_sky_has() -> None:
    """Nobody sees one under 20.5 (common practice): what is missing is below 21.5 mag/arcsec2."""
    for rating in (3.0, 4.0):
        missing = rating_surface_brightness_mag_arcsec2(
            rating=rating, area_arcmin2=530.0, emits_lines=False, is_dark=True
        )
        glowing = rating_surface_brightness_mag_arcsec2(
            rating=rating, area_arcmin2=530.0, emits_lines=False
        )
        assert missing > max(glowing, 20.5)


def test_no_rating_or_no_size_stays_unknown() -> None:
    """NaN in, NaN out."""
    brightness = rating_surface_brightness_mag_arcsec2(
        rating=np.array([np.nan, 3.0, 3.0]),
        area_arcmin2=np.array([10.0, np.nan, 10.0]),
        emits_lines=True,
    )
    assert_allclose(np.isnan(brightness), [True, True, False])


@pytest.mark.parametrize("rating", [0.0, 6.0, 2.5])
def test_a_rating_off_the_scale_is_refused(rating: float) -> None:
    """With the scale in the sentence."""
    with pytest.raises(ValueError, match=r"1 \(very hard\), 2, 3, 4 or 5 \(showpiece\)"):
        rating_surface_brightness_mag_arcsec2(rating=rating, area_arcmin2=10.0, emits_lines=True)


def test_arrays_give_what_floats_give() -> None:
    """One by one or together."""
    ratings = np.array([1.0, 3.0, 5.0])
    lines = np.array([True, False, True])
    together = rating_surface_brightness_mag_arcsec2(
        rating=ratings, area_arcmin2=40.0, emits_lines=lines
    )
    single = [
        rating_surface_brightness_mag_arcsec2(
            rating=float(rating), area_arcmin2=40.0, emits_lines=bool(line)
        )
        for rating, line in zip(ratings, lines, strict=True)
    ]
    assert_allclose(together, single, rtol=1e-14)
    assert isinstance(single[0], float)
