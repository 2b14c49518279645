"""Barrels and the pupil as limits, against published figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from numpy.testing import assert_allclose

from planner.advice.barrels import compare_barrels
from planner.advice.year import Year
from planner.model.kit import Barrel, Kit
from planner.planning.circumstances import Circumstances

MakeYear = Callable[..., Year]
SMALL, TWO = Barrel.ONE_AND_A_QUARTER, Barrel.TWO
ROUNDING = 5e-4  # the figures below are given to three or four digits


def test_the_largest_field_of_each_barrel(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """2 atan(S / 2F): stops of 27 and 46 mm at 1200 mm.

    Worked by hand with the textbook formula (no published figure has these numbers): atan(27/2400)
    is 0.644550 deg and atan(46/2400) is 1.098035 deg; twice that are 1.2891 and 2.1961.
    """
    barrels = compare_barrels(make_year("M31", "M13"), circumstances, kit)
    assert [report.barrel for report in barrels.reports] == [SMALL, TWO]
    assert_allclose([r.field_deg for r in barrels.reports], [1.2891, 2.1961], rtol=ROUNDING)


def test_the_pupil_limit_of_the_trade(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """At f/5 and a pupil of 5.5 mm a 27.5 mm eyepiece is the longest that wastes nothing.

    Exit pupil = focal length / focal ratio (textbook): 27.5 / 5 = 5.5. There 46 mm are filled by
    46 / 27.5 rad = 95.8 deg.
    """
    fast = replace(
        circumstances,
        telescope=replace(circumstances.telescope, focal_length_mm=1000.0),
        conditions=replace(circumstances.conditions, pupil_mm=5.5),
    )
    barrels = compare_barrels(make_year("M13"), fast, kit)
    assert_allclose(barrels.longest_mm, 27.5, rtol=ROUNDING)
    assert_allclose(barrels.reports[1].apparent_field_deg, 95.8, rtol=ROUNDING)


def test_what_needs_more_than_a_barrel(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """M31, some 3 degrees long, fits neither; the Beehive, over a degree, wants 2 inch; M57 none.

    Sizes: from any catalogue.
    """
    barrels = compare_barrels(make_year("M31", "M44", "M57"), circumstances, kit)
    small, two = ({target.id for target in report.too_large} for report in barrels.reports)
    assert small == {"NGC224", "NGC2632"}
    assert two == {"NGC224"}


def test_two_inch_is_worth_nothing_for_planets(
    make_year: MakeYear, driven: Circumstances, kit: Kit
) -> None:
    """And never less than the smaller barrel, for any list."""
    planets = compare_barrels(make_year("Jupiter", "Saturn", who=driven), driven, kit)
    assert_allclose(planets.reports[0].worth, planets.reports[1].worth, rtol=1e-9)
    wide = compare_barrels(make_year("M31", "M45", "M44", who=driven), driven, kit)
    assert wide.reports[1].worth > 1.1 * wide.reports[0].worth


def test_masses_by_barrel(make_year: MakeYear, circumstances: Circumstances, kit: Kit) -> None:
    """Lightest and heaviest of those that are stated."""
    barrels = compare_barrels(make_year("M13"), circumstances, kit)
    assert barrels.masses_g == {TWO: (520.0, 520.0), SMALL: (180.0, 210.0)}
