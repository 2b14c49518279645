"""Filters: the model against a published ranking, and which target each suits."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.formulas.filters import (
    BANDS,
    Spectrum,
    filter_exit_pupil_range_mm,
    filter_suits,
    scotopic_sensitivity,
    sky_passed,
    target_light,
    target_passed,
)
from planner.formulas.photometry import luminance_cd_m2
from planner.formulas.visibility_limit import even_glow, light_gain
from planner.model.kit import FilterKind
from targets.model import Kind

NEBULA_FILTERS = (
    FilterKind.BROADBAND,
    FilterKind.NARROWBAND,
    FilterKind.OIII,
    FilterKind.HBETA,
)


def gain_dex(
    filter_kind: FilterKind | None, light: Spectrum, *, sky: float, exit_pupil: float, power: float
) -> float:
    """Return what a filter adds to the margin of a faint nebula a quarter of a degree across."""
    with_filter, without = (
        even_glow(
            surface_brightness_mag_arcsec2=22.5,
            area_arcmin2=200.0,
            sky_cd_m2=luminance_cd_m2(sky),
            magnification=power,
            light_gain=light_gain(exit_pupil_mm=exit_pupil, pupil_mm=6.5, transmission=0.8),
            target_passed=target_passed(kind, light),
            sky_passed=sky_passed(kind),
        ).margin_dex()
        for kind in (filter_kind, None)
    )
    return float(with_filter - without)


def test_sensitivity_at_the_wavelength_that_defines_the_lumen() -> None:
    """CIE 1951: V' is 0.402 at 555 nm (683 over 1700 lm/W), 1 near 507 nm, dark at H alpha."""
    at_555, at_507, at_h_alpha = scotopic_sensitivity(np.array([555.0, 507.0, 656.3]))
    # The table has steps of 10 nm.
    assert_allclose(at_555, 683.0 / 1700.0, atol=0.01)
    assert_allclose(at_507, 1.0, atol=0.01)
    assert at_h_alpha < 0.001


# V' at the lines, between the CIE's steps: H gamma 0.2511, H beta 0.8607, O III 0.9500 and 0.9827.
# With strong O III (0.75 and 2.25 of H beta) the light is 0.118, 0.861 and 2.924, 3.903 in all;
# without (0.025 and 0.075) it is 0.118, 0.861 and 0.0975, 1.076 in all.
# V' over all wavelengths is 97.1 nm; a flat continuum passes transmission * width * mean V' / 97.1.
@pytest.mark.parametrize(
    ("kind", "oxygen", "hydrogen", "continuum"),
    [
        # 0.95 of 90 nm with mean V' 0.787
        (FilterKind.BROADBAND, 0.95 * 0.9 * 3.785 / 3.903, 0.95 * 0.9 * 0.958 / 1.076, 0.693),
        # 0.92 of 24 nm with mean V' 0.932
        (FilterKind.NARROWBAND, 0.92 * 0.9 * 3.785 / 3.903, 0.92 * 0.9 * 0.958 / 1.076, 0.212),
        # 0.90 of 11 nm with mean V' 0.963
        (FilterKind.OIII, 0.90 * 0.9 * 2.924 / 3.903, 0.90 * 0.9 * 0.0975 / 1.076, 0.0982),
        # 0.90 of 9 nm with mean V' 0.860
        (FilterKind.HBETA, 0.90 * 0.9 * 0.861 / 3.903, 0.90 * 0.9 * 0.861 / 1.076, 0.0717),
    ],
)
def test_shares_worked_by_hand(
    kind: FilterKind, oxygen: float, hydrogen: float, continuum: float
) -> None:
    """CIE 1951 sensitivity, and our bands and lines; a tenth of a nebula's light is continuum."""
    assert_allclose(target_passed(kind, Spectrum.CONTINUUM), continuum, rtol=0.01)
    assert_allclose(target_passed(kind, Spectrum.OXYGEN), oxygen + 0.1 * continuum, rtol=0.01)
    assert_allclose(target_passed(kind, Spectrum.HYDROGEN), hydrogen + 0.1 * continuum, rtol=0.01)
    assert_allclose(sky_passed(kind), 0.8 * continuum, rtol=0.01)


def test_ranking_of_filters_on_many_nebulae() -> None:
    """Knisely 2000, 55 nebulae: narrowband 3.56, O III 3.40, broadband 2.25, H beta 1.25.

    254 mm f/5.6 at 59, 70 and 141 times under a dark sky (here 21.8). His marks are no
    decibels: only their order is compared, and that only the last is below no filter at all.
    """
    means = {
        kind: np.mean(
            [
                gain_dex(kind, Spectrum.OXYGEN, sky=21.8, exit_pupil=254.0 / power, power=power)
                for power in (59.0, 70.0, 141.0)
            ]
        )
        for kind in NEBULA_FILTERS
    }
    order = sorted(NEBULA_FILTERS, key=lambda kind: -means[kind])
    assert order == [
        FilterKind.NARROWBAND,
        FilterKind.OIII,
        FilterKind.BROADBAND,
        FilterKind.HBETA,
    ]
    assert means[FilterKind.BROADBAND] > 0.0 > means[FilterKind.HBETA]


@pytest.mark.parametrize("sky", [19.0, 20.5, 21.5])
def test_h_beta_is_best_on_its_few_targets(sky: float) -> None:
    """At a large exit pupil, as observers use it on California and Horsehead (common practice)."""
    gains = {
        kind: gain_dex(kind, Spectrum.HYDROGEN, sky=sky, exit_pupil=6.0, power=40.0)
        for kind in NEBULA_FILTERS
    }
    assert max(gains, key=lambda kind: gains[kind]) is FilterKind.HBETA
    assert gains[FilterKind.OIII] < 0.0


def test_narrow_filters_want_a_large_exit_pupil() -> None:
    """What O III wins shrinks as the sky gets dark anyway (common practice: 3 to 7 mm)."""
    wide, narrow = (
        gain_dex(FilterKind.OIII, Spectrum.OXYGEN, sky=21.5, exit_pupil=mm, power=200.0 / mm)
        for mm in (5.0, 1.5)
    )
    assert wide > 0.2
    assert narrow < 0.0


@pytest.mark.parametrize("kind", [FilterKind.NARROWBAND, FilterKind.OIII, FilterKind.HBETA])
def test_a_narrow_filter_hurts_whatever_shines_by_starlight(kind: FilterKind) -> None:
    """Observers find that it makes reflection nebulae worse (common practice)."""
    assert gain_dex(kind, Spectrum.CONTINUUM, sky=21.0, exit_pupil=4.0, power=50.0) < 0.0


def test_shares_are_shares() -> None:
    """Between nothing and all, all without a filter, and narrower bands pass less sky."""
    for kind in FilterKind:
        assert 0.0 < sky_passed(kind) < 1.0
        assert all(0.0 < target_passed(kind, light) < 1.0 for light in Spectrum)
    assert sky_passed(None) == 1.0
    assert all(target_passed(None, light) == 1.0 for light in Spectrum)
    skies = [sky_passed(kind) for kind in NEBULA_FILTERS]
    assert skies == sorted(skies, reverse=True)


def test_every_nebula_filter_raises_contrast_on_its_own_light() -> None:
    """More of the lines than of the sky passes."""
    for kind in BANDS:
        light = Spectrum.HYDROGEN if kind is FilterKind.HBETA else Spectrum.OXYGEN
        assert target_passed(kind, light) > 1.5 * sky_passed(kind)


@pytest.mark.parametrize(("kind", "share"), [(FilterKind.NEUTRAL, 0.25), (FilterKind.COLOUR, 0.4)])
def test_grey_filters_change_no_contrast(kind: FilterKind, share: float) -> None:
    """They dim target and sky alike, by our choice of share."""
    assert sky_passed(kind) == share
    assert all(target_passed(kind, light) == sky_passed(kind) for light in Spectrum)


@pytest.mark.parametrize(
    ("kind", "target_id", "light"),
    [
        (Kind.PLANETARY_NEBULA, "NGC7293", Spectrum.OXYGEN),
        (Kind.SUPERNOVA_REMNANT, "NGC6960", Spectrum.OXYGEN),
        (Kind.SUPERNOVA_REMNANT, "NGC1952", Spectrum.CONTINUUM),
        (Kind.EMISSION_NEBULA, "NGC1976", Spectrum.OXYGEN),
        (Kind.EMISSION_NEBULA, "NGC1499", Spectrum.HYDROGEN),
        (Kind.DARK_NEBULA, "B33", Spectrum.HYDROGEN),
        (Kind.DARK_NEBULA, "B168", Spectrum.CONTINUUM),
        (Kind.REFLECTION_NEBULA, "NGC2068", Spectrum.CONTINUUM),
        (Kind.GALAXY, "NGC224", Spectrum.CONTINUUM),
    ],
)
def test_light_of_a_target(kind: Kind, target_id: str, light: Spectrum) -> None:
    """By kind, but for the few named targets without O III and the Crab's synchrotron glow."""
    assert target_light(kind, target_id) is light


@pytest.mark.parametrize(
    ("kind", "target_id", "suited"),
    [
        (Kind.EMISSION_NEBULA, "NGC1976", {"broadband", "narrowband", "oiii"}),
        (Kind.PLANETARY_NEBULA, "NGC6853", {"broadband", "narrowband", "oiii"}),
        (Kind.SUPERNOVA_REMNANT, "NGC6960", {"broadband", "narrowband", "oiii"}),
        (Kind.EMISSION_NEBULA, "NGC1499", {"broadband", "narrowband", "hbeta"}),
        (Kind.DARK_NEBULA, "B33", {"broadband", "narrowband", "hbeta"}),
        (Kind.SUPERNOVA_REMNANT, "NGC1952", set()),
        (Kind.REFLECTION_NEBULA, "NGC2068", set()),
        (Kind.DARK_NEBULA, "B168", set()),
        (Kind.GALAXY, "NGC224", set()),
        (Kind.OPEN_CLUSTER, "M45", set()),
        (Kind.GLOBULAR_CLUSTER, "NGC6205", set()),
        (Kind.DOUBLE_STAR, "Albireo", set()),
        (Kind.MOON, "Moon", {"neutral"}),
        (Kind.PLANET, "Venus", {"neutral", "colour"}),
        (Kind.PLANET, "Mars", {"colour"}),
    ],
)
def test_filters_that_suit_a_target(kind: Kind, target_id: str, suited: set[str]) -> None:
    """Common practice, after Knisely 2000 for the nebulae."""
    found = {f.value for f in FilterKind if filter_suits(f, kind=kind, target_id=target_id)}
    assert found == suited


@pytest.mark.parametrize(
    ("kind", "bright", "dark"),
    [
        (FilterKind.BROADBAND, (0.5, 2.0), (1.0, 4.0)),
        (FilterKind.NARROWBAND, (1.0, 4.0), (2.0, 6.0)),
        (FilterKind.OIII, (2.0, 5.0), (3.0, 7.0)),
        (FilterKind.HBETA, (3.0, 7.0), (4.0, 7.0)),
        (FilterKind.NEUTRAL, None, None),
        (FilterKind.COLOUR, None, None),
    ],
)
def test_exit_pupils_of_filters(
    kind: FilterKind, bright: tuple[float, float] | None, dark: tuple[float, float] | None
) -> None:
    """Common practice, from memory: larger under a dark sky, none prescribed for a grey filter."""
    assert filter_exit_pupil_range_mm(kind, sky_mag_arcsec2=20.4) == bright
    assert filter_exit_pupil_range_mm(kind, sky_mag_arcsec2=20.5) == dark
