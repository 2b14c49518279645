"""What goes on from the whole catalogue to the close look, and the sky behind it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.tracks import track_instants
from planner.matcher.train_table import tabulate_trains
from planner.model.night import Night
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.planning.shortlist import shortlist
from planner.planning.survey import follow, sky_behind
from planner.planning.worth import showpiece_worth
from targets.catalogue.catalogue import Catalogue

BODIES = ("Moon", "Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune")


@pytest.fixture(scope="module")
def grid(ephemeris: Ephemeris, night_of: Callable[[str, str], Night]) -> SkyGrid:
    """Return four hours of an evening with a half Moon."""
    night = night_of("open field", "2026-12-17")
    steps = [night.start + timedelta(hours=6, minutes=5 * k) for k in range(49)]
    return track_instants(ephemeris, night, steps)


def test_bodies_and_showpieces_always_come_along(
    catalogue: Catalogue, grid: SkyGrid, circumstances_of: Callable[..., Circumstances]
) -> None:
    """Even those below the horizon: their absence needs a reason."""
    rows = shortlist(catalogue, grid, circumstances_of("open field"), rows=None, keep_all=False)
    found = {catalogue.ids[row] for row in rows}
    assert set(np.flatnonzero(showpiece_worth(catalogue))) <= set(rows)
    assert set(BODIES) <= found
    assert 250 <= len(rows) <= 500  # 250 of the rest (our choice)
    assert (np.diff(rows) > 0).all()


def test_what_is_left_is_worth_less_than_what_goes_on(
    catalogue: Catalogue, grid: SkyGrid, circumstances_of: Callable[..., Circumstances]
) -> None:
    """Bright things go on; of the Messier objects that are well up only M74 stays behind.

    Its faint disc is the hardest of the list (common practice), and a half Moon is up.
    """
    rows = shortlist(catalogue, grid, circumstances_of("open field"), rows=None, keep_all=False)
    rest = np.setdiff1d(np.arange(len(catalogue)), rows)
    magnitude = catalogue.magnitude
    assert np.nanmedian(magnitude[rows]) < np.nanmedian(magnitude[rest]) - 3.0
    messier = catalogue.messier()
    highest = grid.altitudes(catalogue.ra_deg[messier], catalogue.dec_deg[messier]).max(axis=1)
    behind = np.intersect1d(messier[highest > 45.0], rest)
    assert [catalogue.target(row).id for row in behind] == ["NGC628"]


def test_a_choice_narrows_the_list_and_a_list_of_one_s_own_does_not(
    catalogue: Catalogue, grid: SkyGrid, circumstances_of: Callable[..., Circumstances]
) -> None:
    """Only chosen rows come back; of a list by name all, unless there are thousands."""
    circumstances = circumstances_of("open field")
    chosen = np.arange(0, 4000)
    rows = shortlist(catalogue, grid, circumstances, rows=chosen, keep_all=False)
    assert set(rows) <= set(chosen)
    assert len(rows) < len(chosen)
    own = chosen[:900]
    whole = shortlist(catalogue, grid, circumstances, rows=own[::-1], keep_all=True)
    assert whole.tolist() == own.tolist()
    many = shortlist(catalogue, grid, circumstances, rows=chosen, keep_all=True)
    assert many.tolist() == rows.tolist()


@pytest.mark.parametrize("with_filters", [True, False])
def test_what_a_filter_shows_goes_on_where_one_is_owned(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night_of: Callable[[str, str], Night],
    circumstances_of: Callable[..., Circumstances],
    *,
    with_filters: bool,
) -> None:
    """The Crescent in 200 mm under 20.9: a look with O III or narrowband, hopeless without.

    Common practice, after Knisely 2000: it is faint without a filter and answers well to both.
    """
    night = night_of("open field", "2026-09-12")
    dark = night.dark_start
    assert dark is not None
    steps = [dark + timedelta(minutes=5 * k) for k in range(49)]
    owned = circumstances_of("open field")
    bare = tabulate_trains([train for train in owned.table.trains if train.filter is None])
    circumstances = owned if with_filters else replace(owned, table=bare)
    crescent = catalogue.index_of("NGC6888")
    grid = track_instants(ephemeris, night, steps)
    rows = shortlist(catalogue, grid, circumstances, rows=None, keep_all=False)
    assert (crescent in rows) == with_filters
    plan = plan_night(
        catalogue,
        ephemeris,
        night,
        start=dark,
        end=dark + timedelta(hours=4),
        circumstances=circumstances,
        wishes=Wishes(rows=np.array([crescent])),
    )
    filters = [look.view.train.filter for look in plan.looks]
    assert [part is not None for part in filters] == ([True] if with_filters else [])


def test_a_pupil_smaller_than_the_exit_pupils_tried_is_no_fault(
    catalogue: Catalogue, grid: SkyGrid, circumstances_of: Callable[..., Circumstances]
) -> None:
    """At 2 mm, the least that a configuration takes, no wider beam is tried."""
    usual = circumstances_of("open field")
    narrow = replace(usual, conditions=replace(usual.conditions, pupil_mm=2.0))
    assert len(shortlist(catalogue, grid, narrow, rows=None, keep_all=False)) >= 250


def test_the_moon_is_not_judged_by_its_own_glare(
    ephemeris: Ephemeris,
    catalogue: Catalogue,
    grid: SkyGrid,
    circumstances_of: Callable[..., Circumstances],
) -> None:
    """The sky behind it is finite, and darker than that behind what stands near it."""
    moon, near = catalogue.find("Moon"), catalogue.find("Neptune")
    tracks = follow([moon, near], ephemeris, grid)
    sky = sky_behind([moon, near], tracks, grid, circumstances_of("open field").conditions)
    up = tracks.moon_altitude_deg > 10.0
    assert up.any()
    assert (tracks.moon_separation_deg[1, up] < 45.0).all()
    assert np.isfinite(sky.sky_cd_m2).all()
    assert (sky.sky_cd_m2[0, up] < sky.sky_cd_m2[1, up]).all()
