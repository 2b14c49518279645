"""What else stands in the field of a look, and what a look of its own is then still worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
from numpy.testing import assert_allclose

from planner.planning.companions import companion_share, in_the_field, leaders, seconds
from targets.arrays import Floats
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
        return in_the_field(targets, 0, true_field_arcmin=field_arcmin, margin_dex=plain.take)

    half_and_rim = 1.0 / 0.45
    assert named((M32_APART_ARCMIN - ONE_ARCMINUTE) * half_and_rim) == ()
    assert named((M32_APART_ARCMIN + ONE_ARCMINUTE) * half_and_rim) == ("M32",)
    assert named((M110_APART_ARCMIN - ONE_ARCMINUTE) * half_and_rim) == ("M32",)
    assert named((M110_APART_ARCMIN + ONE_ARCMINUTE) * half_and_rim) == ("M32", "M110")


def test_only_what_is_plainly_seen_is_named(catalogue: Catalogue) -> None:
    """Neither what is near the threshold nor what is of unknown brightness is promised."""
    margin = np.array([1.0, 0.1, np.nan, 1.0, 1.0])
    assert in_the_field(_group(catalogue), 0, true_field_arcmin=120.0, margin_dex=margin.take) == ()


def test_stars_beside_a_target_are_a_matter_of_course(catalogue: Catalogue) -> None:
    """A star in the field of M31 is not named; a cluster at its place would be."""
    m31, beside = catalogue.find("M31"), catalogue.find("M32")
    for kind, count in ((Kind.STAR, 0), (Kind.DOUBLE_STAR, 0), (Kind.OPEN_CLUSTER, 1)):
        pair = (m31, replace(beside, kind=kind))
        named = in_the_field(pair, 0, true_field_arcmin=120.0, margin_dex=np.ones(2).take)
        assert len(named) == count


def _share(targets: Sequence[Target], worth: Sequence[float], field_arcmin: float = 0.0) -> Floats:
    """What is left of the worth of each."""
    leader = leaders(targets, np.array(worth), field_arcmin=field_arcmin)
    return companion_share(targets, leader, np.array(worth))


def test_what_a_larger_target_shows_is_worth_less_alone(catalogue: Catalogue) -> None:
    """M32 and M110 lie inside the 3 degrees of M31; M33, M31 itself and planets stand alone.

    Such a look is worth a quarter (our choice).
    """
    share = _share(_group(catalogue), (1.0, 0.4, 0.4, 1.0, 1.0))
    assert_allclose(share, [1.0, 0.25, 0.25, 1.0, 1.0])


def test_the_worthier_of_two_leads(catalogue: Catalogue) -> None:
    """A smaller target that is worth more than what it stands in takes the look over.

    The cluster in the Rosette where the nebula drowns, the nebula where a filter shows it.
    """
    rosette = (catalogue.find("NGC 2237"), catalogue.find("NGC 2244"))
    assert leaders(rosette, np.array([0.2, 0.5])).tolist() == [1, -1]
    assert leaders(rosette, np.array([0.7, 0.5])).tolist() == [-1, 0]


def test_two_in_one_low_field_are_one_look(catalogue: Catalogue) -> None:
    """M81 and M82, 37' apart (J2000 places from memory, as NED has them).

    They share a field of 2 deg, not one of 1 deg, and no star leads or follows for standing near.
    """
    pair = (catalogue.find("M81"), catalogue.find("M82"))
    assert leaders(pair, np.array([0.9, 0.8]), field_arcmin=60.0).tolist() == [-1, -1]
    leader = leaders(pair, np.array([0.9, 0.8]), field_arcmin=120.0)
    assert leader.tolist() == [-1, 0]
    assert seconds(pair, leader, np.array([0.9, 0.8])) == {0: 1}
    assert seconds(pair, leader, np.array([0.9, 0.4])) == {}
    assert_allclose(_share(pair, (0.9, 0.8), 120.0), [1.1, 0.0])
    star = replace(pair[1], kind=Kind.DOUBLE_STAR)
    assert leaders((pair[0], star), np.array([0.9, 0.8]), field_arcmin=120.0).tolist() == [-1, -1]


def test_what_is_not_up_leads_nothing(catalogue: Catalogue) -> None:
    """A target without worth tonight takes none from its neighbour."""
    pair = (catalogue.find("M81"), catalogue.find("M82"))
    assert leaders(pair, np.array([0.0, 0.0]), field_arcmin=120.0).tolist() == [-1, -1]


def test_a_cloud_too_large_for_any_field_has_no_companions(catalogue: Catalogue) -> None:
    """The Tarantula is a target of its own, though the Large Magellanic Cloud is all around it."""
    targets = (catalogue.find("LMC"), catalogue.find("NGC 2070"))
    assert_allclose(_share(targets, (1.0, 0.9)), 1.0)


def test_the_stars_in_a_nebula_are_no_second_target(catalogue: Catalogue) -> None:
    """The Trapezium is seen with its nebula, and the closer view of that names it already."""
    pair = (catalogue.find("M42"), catalogue.find("theta1 Ori"))
    leader = leaders(pair, np.array([0.9, 0.6]))
    assert leader.tolist() == [-1, 0]
    assert seconds(pair, leader, np.array([0.9, 0.6])) == {}


def test_the_second_of_two_gets_a_view_and_no_look(run: Any, write: Any) -> None:
    """Also where both are asked for: one look, named with both, and the list tells of the other."""
    pair = write("pair.txt", "M81\nM82\n")
    found = run("plan", "--date", "2026-03-18", "--list", pair, "--format", "json").json
    (look,) = found["looks"]
    assert look["target"]["id"] == "NGC3031"
    assert look["in_field"] == ["M82"]
    (view,) = [view for view in look["views"] if view["role"] == "beside"]
    assert "M82" in view["detail"]
    minutes = sum(one["minutes"] for one in look["views"])
    length = datetime.fromisoformat(look["end"]) - datetime.fromisoformat(look["start"])
    assert minutes == length.total_seconds() / 60.0
    (left,) = found["left_out"]
    assert left["reason"] == "seen in the look at M81 Bode's Galaxy"
    text = run("plan", "--date", "2026-03-18", "--list", pair).out
    assert "for M82 Cigar Galaxy beside it" in text
    assert "in the same low field: M82" in text
