"""Profiles of glows against published half-light sizes, and what must hold of any profile."""

from __future__ import annotations

import csv
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas import profiles
from planner.formulas.profiles import galaxy_light, king_light

AXES = np.linspace(0.004, 4.0, 2000)
BULGES = st.floats(0.0, 1.0)
MEANS = st.floats(19.0, 25.0)


def half_light_axis(inside: np.ndarray) -> float:
    """Return where half of the light is."""
    return float(np.interp(0.5, inside, AXES))


def test_a_disc_of_freeman_s_has_half_of_its_light_within_1_678_scale_lengths() -> None:
    """Freeman 1970: 3.1 scale lengths reach to the isophote of 25 B mag/arcsec2."""
    inside, _ = galaxy_light(AXES, np.array([23.6]), np.array([0.0]))
    assert_allclose(half_light_axis(inside[0]), 1.678 / 3.1, atol=0.003)


def test_a_bulge_is_a_sersic_of_four() -> None:
    """Its light is an incomplete gamma function of 8 (Ciotti and Bertin 1999), summed here."""
    inside, _ = galaxy_light(AXES, np.array([20.0]), np.array([1.0]))
    t = np.linspace(0.0, 40.0, 200_001)
    gamma = np.cumsum(t**7 * np.exp(-t)) * (t[1] - t[0])
    at = 7.6692 * (AXES / half_light_axis(inside[0])) ** 0.25
    assert_allclose(inside[0], np.interp(at, t, gamma) / gamma[-1], atol=0.002)


@pytest.mark.parametrize(
    ("mean", "bulge", "half_light_axis_"),
    [
        # RC3: effective over isophotal radius, from memory; single galaxies scatter by a third.
        (22.9, 0.10, 0.48),  # M33: 17' of 35'
        (21.6, 0.32, 0.37),  # M81: 5' of 13.5'
        (22.1, 0.24, 0.42),  # M31: 40' of 95'
        (21.5, 1.00, 0.25),  # M87: 1.0' of 4.2'
    ],
)
def test_half_of_a_galaxy_s_light(mean: float, bulge: float, half_light_axis_: float) -> None:
    """Within a third of what the catalogue has."""
    inside, _ = galaxy_light(AXES, np.array([mean]), np.array([bulge]))
    assert_allclose(half_light_axis(inside[0]), half_light_axis_, rtol=0.34)


def test_half_light_radii_of_globular_clusters() -> None:
    """Harris 1996 (2010 edition), which has core, concentration and half-light radius of each.

    King's formula of 1962 is not the model that Harris's half-light radii come from: the median is
    right to a tenth, and half of the clusters are right to a quarter.
    """
    table = files("targets") / "data" / "globular_clusters.csv"
    lines = list(csv.DictReader(table.read_text("utf-8").splitlines()))
    ratios = []
    for line in lines:
        known = [
            line[k] for k in ("core_radius_arcmin", "concentration", "half_light_radius_arcmin")
        ]
        if all(known) and line["concentration"] != "2.50":  # collapsed cores have no King profile
            core, concentration, half = (float(value) for value in known)
            axes = AXES * 10.0  # in half-light radii
            inside, _ = king_light(axes, np.array([core / half]), np.array([concentration]))
            ratios.append(float(np.interp(0.5, inside[0], axes)))
    assert len(ratios) > 100
    assert abs(np.median(ratios) - 1.0) < 0.1
    assert np.quantile(np.abs(np.log(ratios)), 0.5) < np.log(1.25)


def test_the_middle_of_m13() -> None:
    """V 5.8 over 20' comes to 16.59 mag/arcsec2 in the middle (Harris 1996)."""
    mean = 5.78 + 2.5 * np.log10(np.pi * 600.0**2)
    _, beside_mean = king_light(np.array([1e-3]), np.array([0.62 / 10.0]), np.array([1.53]))
    assert_allclose(mean - 2.5 * np.log10(beside_mean[0, 0]), 16.59, atol=0.15)


@given(mean=MEANS, bulge=BULGES)
def test_light_adds_up_and_falls_outward(mean: float, bulge: float) -> None:
    """The sum of the isophotes is the light within, and no isophote is brighter than one inside."""
    inside, beside_mean = galaxy_light(AXES, np.array([mean]), np.array([bulge]))
    assert np.all(np.diff(inside[0]) >= 0.0)
    assert inside[0, -1] <= 1.0
    assert np.all(np.diff(beside_mean[0]) <= 0.0)
    ring = 2.0 * AXES[1:] * np.diff(AXES) * beside_mean[0, 1:]
    assert_allclose(ring.sum(), inside[0, -1] - inside[0, 0], atol=0.02)


@given(
    margins=st.lists(st.floats(-5.0, 3.0), min_size=6, max_size=6),
    brighter=st.floats(0.0, 2.0),
    apparent_deg=st.floats(0.1, 120.0),
)
def test_more_light_is_seen_further_out(
    margins: list[float], brighter: float, apparent_deg: float
) -> None:
    """And never beyond a tenth outside the catalogue's size."""
    falling = np.sort(margins)[::-1]
    here, there = profiles.outermost_seen(
        np.array([falling, falling + brighter]), np.array([apparent_deg, apparent_deg])
    )
    assert 0.0 < here <= there + 1e-12
    assert there <= 1.1


def test_what_has_a_sharp_edge_ends_there() -> None:
    """A nebula whose every isophote is bright is as large as the catalogue says."""
    found = profiles.profiles_of(
        np.array(["N1"]),
        np.array(["emission nebula"]),
        mean_mag_arcsec2=np.array([20.0]),
        major_arcmin=np.array([10.0]),
        bulge_share=np.array([np.nan]),
        core_radius_arcmin=np.array([np.nan]),
        concentration=np.array([np.nan]),
        rating=np.array([5.0]),
    )
    margins = 2.0 + 0.4 * found.isophote_mag
    assert_allclose(profiles.outermost_seen(margins, np.array([10.0])), 1.0)


def test_the_orion_nebula_has_a_core_and_wings() -> None:
    """Magnitude 4.0 (SEDS) over 85' by 60' is 21.9 on the mean; a core of 5' stands far above it.

    Some 17 to 19 mag/arcsec2 in the core, below a dark sky's 22 at the edge: from memory.
    """
    found = profiles.profiles_of(
        np.array(["NGC1976"]),
        np.array(["emission nebula"]),
        mean_mag_arcsec2=np.array([21.9]),
        major_arcmin=np.array([85.0]),
        bulge_share=np.array([np.nan]),
        core_radius_arcmin=np.array([np.nan]),
        concentration=np.array([np.nan]),
        rating=np.array([5.0]),
    )
    core = 21.9 - 2.5 * np.log10(found.part_light[0, 0] / profiles.PART_AXES[0] ** 2)
    assert 17.0 < core < 19.0
    assert found.falls[0]
    assert 21.9 - found.isophote_mag[0, -2] > 24.0
