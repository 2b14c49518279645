"""The steps of the recipe, one by one, on values made for it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from targets.catalogue.cleaning import (
    clean_values,
    galaxy_colours_mag,
    galaxy_v_mag,
    summed_magnitude,
)
from targets.catalogue.openngc import read_objects
from targets.catalogue.values import KINDS, kind_codes
from targets.model import Kind
from targets.tables import read_tables

HUNDREDTH_MAG = 0.01  # to which magnitudes are rounded
# How well so many scattered ratios tell their median: 1.25 times the scatter over the root of their
# number, which is 0.29 of 88 globulars, 0.53 of 59 bright open clusters and 0.52 of 99 faint ones.
# The factor for the last is kept on the cautious side, within two such errors.
GLOBULAR_MEDIAN = 0.04
BRIGHT_OPEN_MEDIAN = 0.09
FAINT_OPEN_MEDIAN = 2 * 0.065
NAN = float("nan")


@pytest.mark.parametrize(
    ("b_mag", "v_mag", "surface", "expected"),
    [
        (10.0, NAN, 23.0, 9.25),  # B only
        (10.0, 9.9, 23.0, 9.25),  # a faint surface: V is not trusted
        (10.0, 9.5, 21.0, 9.5),  # a bright surface: V is the better one
        (10.0, 8.0, 21.0, 9.25),  # but not a V that makes the galaxy redder than any
        (10.0, 9.5, NAN, 9.25),
        (NAN, 9.5, NAN, 9.5),  # V only
        (NAN, NAN, NAN, NAN),
    ],
)
def test_galaxy_magnitude_rule(b_mag: float, v_mag: float, surface: float, expected: float) -> None:
    """V is B less a colour, here 0.75, save where its V is credible and the surface bright."""
    got = galaxy_v_mag(
        np.array([b_mag]),
        np.array([v_mag]),
        b_mag_arcsec2=np.array([surface]),
        colour_mag=np.array([0.75]),
    )
    assert_allclose(got, [expected], atol=HUNDREDTH_MAG)


@pytest.mark.parametrize(
    ("hubble_type", "colour_mag"),
    [("E", 0.90), ("S0", 0.90), ("SBa", 0.78), ("SABb", 0.64), ("Sc", 0.55), ("SBcd", 0.48),
     ("IB", 0.42), ("IAB", 0.42), ("E?", 0.90)],
)  # fmt: skip
def test_colours_of_galaxies_go_by_their_type(hubble_type: str, colour_mag: float) -> None:
    """Roberts and Haynes 1994, table 1, from memory; a bar makes no difference."""
    assert galaxy_colours_mag([hubble_type])[0] == colour_mag


def test_a_galaxy_of_unknown_type_has_a_colour_between() -> None:
    """Neither as red as an elliptical nor as blue as a late spiral."""
    assert 0.55 < galaxy_colours_mag([""])[0] < 0.90


def test_two_equal_stars_are_three_quarters_brighter() -> None:
    """Doubling the light is 2.5 log10(2) = 0.753 mag (definition of Pogson's scale)."""
    assert_allclose(summed_magnitude(np.array([5.0, 5.0])), 4.247, atol=0.001)


@given(st.lists(st.floats(-5, 20), min_size=1, max_size=8))
def test_sum_is_brighter_than_its_brightest(magnitudes: list[float]) -> None:
    """Adding light never dims; unknown members change nothing."""
    total = summed_magnitude(np.array(magnitudes))
    assert total <= min(magnitudes) + 1e-9
    assert summed_magnitude(np.array([*magnitudes, NAN])) == total


def test_sum_of_unknowns_is_unknown() -> None:
    """No member's magnitude known: NaN, not zero."""
    assert np.isnan(summed_magnitude(np.array([NAN, NAN])))


def test_cluster_with_nebula_is_what_one_looks_at() -> None:
    """Rated, it is the nebula; else the cluster. A star is no target."""
    codes = kind_codes(np.array(["Cl+N", "Cl+N", "*"]), np.array([4.0, NAN, NAN]))
    nebula, cluster = KINDS.index(Kind.EMISSION_NEBULA), KINDS.index(Kind.OPEN_CLUSTER)
    assert_array_equal(codes, [nebula, cluster, -1])


def test_angles_of_round_objects_are_forgotten() -> None:
    """No position angle survives where the axes differ by less than a twentieth."""
    values = clean_values(read_objects(), ())
    ratio = values.minor_arcmin / values.major_arcmin
    has_angle = ~np.isnan(values.position_angle_deg)
    assert has_angle.sum() > 9000
    assert (ratio[has_angle] <= 0.95).all()
    assert (values.position_angle_deg[has_angle] < 180).all()


@pytest.mark.parametrize(
    ("type_code", "brightest", "faintest", "source", "tolerance"),
    [
        # 25 mag isophotes, list of Milky Way globular clusters
        ("GCl", -1, 14, "SEDS-MWGC", GLOBULAR_MEDIAN),
        # Lyngå 1987, CDS VII/92A
        ("OCl", 5, 7, "Lynga1987", BRIGHT_OPEN_MEDIAN),
        ("OCl", 7, 14, "Lynga1987", FAINT_OPEN_MEDIAN),
    ],
)
def test_scaled_sizes_are_right_in_the_median(
    type_code: str, brightest: float, faintest: float, source: str, tolerance: float
) -> None:
    """For clusters with a published diameter the scaled one is as often too large as too small."""
    raw, lines = read_objects(), read_tables().corrections
    scaled = clean_values(raw, ())
    ratios = [
        scaled.major_arcmin[row] / float(line["major_arcmin"])
        for line in lines
        if line["size_source"].startswith(source)
        and scaled.type[row := raw.name.index(line["name"])] == type_code
        and brightest < scaled.magnitude[row] <= faintest
    ]
    assert len(ratios) > 25
    assert_allclose(np.median(ratios), 1.0, atol=tolerance)
