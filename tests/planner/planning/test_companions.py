"""What else stands in the field of a look, and what a look of its own is then still worth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose

from planner.planning.roster import companion_share, in_the_field
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind, Target

# J2000 positions from memory, as the NASA/IPAC Extragalactic Database has them: M31 00 42 44.3
# +41 16 09, M32 00 42 41.8 +40 51 55, M110 00 40 22.1 +41 41 07. From them M32 is 24.2' and M110
# 36.5' from M31.
M32_APART_ARCMIN, M110_APART_ARCMIN = 24.2, 36.5
ONE_ARCMINUTE = 1.0


def _group(catalogue: Catalogue) -> tuple[Target, ...]:
    return tuple(catalogue.find(name) for name in ("M31", "M32", "M110", "M33", "Jupiter"))


def test_companions_are_named_from_the_field_that_reaches_them(catalogue: Catalogue) -> None:
    """M32 and M110 come into the field of M31 at twice their distance and a rim of 5 percent."""
    targets, plain = _group(catalogue), np.full(5, 1.0)

    def named(field_arcmin: float) -> tuple[str, ...]:
        return in_the_field(targets, 0, true_field_arcmin=field_arcmin, margin_dex=plain)

    half_and_rim = 1.0 / 0.45
    assert named((M32_APART_ARCMIN - ONE_ARCMINUTE) * half_and_rim) == ()
    assert named((M32_APART_ARCMIN + ONE_ARCMINUTE) * half_and_rim) == ("M32",)
    assert named((M110_APART_ARCMIN - ONE_ARCMINUTE) * half_and_rim) == ("M32",)
    assert named((M110_APART_ARCMIN + ONE_ARCMINUTE) * half_and_rim) == ("M32", "M110")


def test_only_what_is_plainly_seen_is_named(catalogue: Catalogue) -> None:
    """Neither what is near the threshold nor what is of unknown brightness is promised."""
    margin = np.array([1.0, 0.1, np.nan, 1.0, 1.0])
    assert in_the_field(_group(catalogue), 0, true_field_arcmin=120.0, margin_dex=margin) == ()


def test_stars_beside_a_target_are_a_matter_of_course(catalogue: Catalogue) -> None:
    """A star in the field of M31 is not named; a cluster at its place would be."""
    m31, beside = catalogue.find("M31"), catalogue.find("M32")
    for kind, count in ((Kind.STAR, 0), (Kind.DOUBLE_STAR, 0), (Kind.OPEN_CLUSTER, 1)):
        pair = (m31, replace(beside, kind=kind))
        named = in_the_field(pair, 0, true_field_arcmin=120.0, margin_dex=np.ones(2))
        assert len(named) == count


def test_what_a_larger_target_shows_is_worth_less_alone(catalogue: Catalogue) -> None:
    """M32 and M110 lie inside the 3 degrees of M31; M33, M31 itself and planets stand alone.

    Such a look is worth two fifths (our choice).
    """
    wanted = np.array([1.0, 0.5, 0.5, 1.0, 1.0])
    share = companion_share(_group(catalogue), wanted)
    assert_allclose(share, [1.0, 0.4, 0.4, 1.0, 1.0])


def test_the_more_wanted_of_two_is_no_companion(catalogue: Catalogue) -> None:
    """A target that is wanted more than the larger one around it keeps its worth."""
    share = companion_share(_group(catalogue), np.array([0.4, 0.5, 0.3, 1.0, 1.0]))
    assert_allclose(share[1:3], [1.0, 0.4])


def test_a_cloud_too_large_for_any_field_has_no_companions(catalogue: Catalogue) -> None:
    """The Tarantula is a target of its own, though the Large Magellanic Cloud is all around it."""
    targets = (catalogue.find("LMC"), catalogue.find("NGC 2070"))
    assert_allclose(companion_share(targets, np.array([1.0, 0.9])), 1.0)
