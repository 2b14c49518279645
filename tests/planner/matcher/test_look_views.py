"""The views of a look in turn, as an observer takes them (common practice)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from planner.matcher.look_views import views_in_turn, with_second
from planner.model.plan import LookView, ViewRole


def turns(rated: Any, minutes: float = 15.0) -> dict[ViewRole, LookView]:
    """Return the views by their roles."""
    case = rated.case()
    column = int(np.argmax(rated.ratings.score[0]))
    found = views_in_turn(case, column, minutes)
    assert sum(view.minutes for view in found) == minutes
    assert [view.role for view in found] == sorted(
        (view.role for view in found), key=list(ViewRole).index
    )
    return {view.role: view for view in found}


def test_the_orion_nebula_whole_without_its_filter_and_the_trapezium(bench: Any, sky: Any) -> None:
    """Low power for all of it, then high power for the four stars, never through the filter."""
    views = turns(bench.rate(sky.targets("M42")))
    main, closer = views[ViewRole.MAIN].view.train, views[ViewRole.CLOSER]
    assert main.magnification <= 60.0
    assert main.filter is not None
    assert views[ViewRole.UNFILTERED].view.train.filter is None
    assert closer.view.train.filter is None
    assert closer.view.train.magnification >= 100.0
    assert "Trapezium" in closer.detail


@pytest.mark.parametrize(("name", "detail"), [("M31", "core"), ("M13", "stars"), ("M27", "within")])
def test_what_has_detail_is_looked_at_closer(name: str, detail: str, bench: Any, sky: Any) -> None:
    """With 1.4 times the power or more, as far as the air bears."""
    rated = bench.but(seeing="II").rate(sky.targets(name))
    views = turns(rated)
    assert ViewRole.CLOSER in views
    assert detail in views[ViewRole.CLOSER].detail
    power = views[ViewRole.CLOSER].view.train.magnification
    assert 1.4 * views[ViewRole.MAIN].view.train.magnification <= power
    assert power <= rated.ratings.most_power[0]


@pytest.mark.parametrize("name", ["M33", "M45", "Albireo", "M1", "NGC891", "B33"])
def test_what_has_none_is_not(name: str, bench: Any, sky: Any) -> None:
    """Faint galaxies, clusters, pairs, even glows."""
    assert ViewRole.CLOSER not in turns(bench.rate(sky.targets(name)))


def test_the_filter_stays_in_where_nothing_is_seen_without(bench: Any, sky: Any) -> None:
    """A dim nebula is no target without it."""
    views = turns(bench.but(sky_mag_arcsec2=20.8).rate(sky.targets("NGC6888")))
    assert views[ViewRole.MAIN].view.train.filter is not None
    assert ViewRole.UNFILTERED not in views


def test_high_power_is_found_by_a_wide_field(bench: Any, sky: Any) -> None:
    """Saturn is found with the widest field, and what fills that one is its own finder."""
    views = turns(bench.rate(sky.targets("NGC7662")))
    find, main = (views[role].view.train for role in (ViewRole.FIND, ViewRole.MAIN))
    assert find.true_field_arcmin > 2.0 * main.true_field_arcmin
    assert find.filter is None
    assert ViewRole.FIND not in turns(bench.rate(sky.targets("M45")))


def test_a_glance_has_one_view(bench: Any, sky: Any) -> None:
    """Five minutes leave no time to change eyepieces."""
    assert list(turns(bench.rate(sky.targets("M42")), 5.0)) == [ViewRole.MAIN]


@pytest.mark.parametrize("name", ["M8", "M17", "M27"])
def test_a_filter_that_lifts_goes_first_and_without_it_second(
    name: str, bench: Any, sky: Any
) -> None:
    """However easy it is: whoever owns one wants to use it where it pays (common practice)."""
    rated = bench.rate(sky.targets(name))
    views = turns(rated)
    assert views[ViewRole.MAIN].view.train.filter is not None
    assert views[ViewRole.UNFILTERED].view.train.filter is None


def test_a_group_is_seen_as_its_members_are_and_framed_whole(bench: Any, sky: Any) -> None:
    """The three of Leo are no harder than the two brighter ones, and want a field for all."""
    group, member = (bench.rate(sky.targets(name)) for name in ("LeoTriplet", "M65"))
    column = int(np.argmax(member.ratings.score[0]))
    apart = group.ratings.margin_dex[0, column] - member.ratings.margin_dex[0, column]
    assert abs(apart) < 0.25
    assert not group.ratings.fades[0]
    best = int(np.argmax(group.ratings.score[0]))
    assert group.case().table.true_field_arcmin[best] > 40.0


def test_a_second_target_takes_its_minutes_from_the_main_view(bench: Any, sky: Any) -> None:
    """As long together; what is not well seen stays out."""
    rated, other = (bench.rate(sky.targets(name)) for name in ("M81", "M82"))
    column = int(np.argmax(rated.ratings.score[0]))
    alone = views_in_turn(rated.case(), column, 16.0)
    both = with_second(alone, other.case(), column)
    assert [view.role for view in both].count(ViewRole.BESIDE) == 1
    assert sum(view.minutes for view in both) == sum(view.minutes for view in alone)
    faint = bench.but(sky_mag_arcsec2=17.0).rate(sky.targets("NGC891"))
    assert with_second(alone, faint.case(), column) == alone
