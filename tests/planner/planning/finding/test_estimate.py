"""The time to find as the order of a night takes it, against the ways themselves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.matcher.lens import Moment
from planner.model.finding import FoundBy
from planner.model.kit import Pointing
from planner.model.pace import ObservingPace
from planner.planning.finding.estimate import finding_minutes
from planner.planning.finding.of_targets import find_targets
from planner.planning.survey import follow, moment_at, sky_behind
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

SETTINGS = example_settings(today=date(2026, 12, 8))
AT = datetime(2026, 12, 9, 0, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def both(ephemeris: Ephemeris, under: Any) -> Callable[[float], tuple[Any, Any]]:
    """Return a function that gives estimates and ways [min] under a sky, for targets well up."""

    def both(sky_mag_arcsec2: float) -> tuple[Any, Any]:
        around, catalogue = under(sky_mag_arcsec2), load_catalogue()
        site = replace(SETTINGS.sites[0], horizon=())
        night = find_night(ephemeris, site, AT.date().replace(day=8))
        grid = track_instants(ephemeris, night, [AT])
        rows = np.flatnonzero(~catalogue.moves & (catalogue.visual_rating >= 3))
        targets = [catalogue.target(int(row)) for row in rows[::2]]
        tracks = follow(targets, ephemeris, grid)
        up = tracks.altitude_deg[:, 0] > 25.0
        targets = [target for target, is_up in zip(targets, up, strict=True) if is_up]
        tracks = follow(targets, ephemeris, grid)
        sky = sky_behind(targets, tracks, grid, around.conditions)
        moment = moment_at(sky, np.zeros(len(targets), dtype=np.intp))
        ways = [find_targets([target], grid, around)[0] for target in targets]
        minutes = [
            np.nan if way is None or way.by is FoundBy.COORDINATES else way.minutes for way in ways
        ]
        return finding_minutes(targets, moment, around), np.array(minutes)

    return both


@pytest.mark.parametrize("sky", [21.0, 19.0])
def test_the_estimate_is_mostly_within_a_minute_of_the_way(both: Any, sky: float) -> None:
    """For seven of ten targets, and half a minute on the average."""
    estimate, ways = both(sky)
    known = np.isfinite(ways)
    off = np.abs(estimate - ways)[known]
    assert known.sum() > 50
    assert np.mean(off < 1.0) > 0.7
    assert off.mean() < 0.6


def test_brighter_skies_cost_time(both: Any) -> None:
    """On the average."""
    assert both(21.0)[0].mean() < both(19.0)[0].mean()


def test_nothing_is_known_without_an_eyepiece() -> None:
    """NaN, which stands for the usual time."""
    _, circumstances = circumstances_of(SETTINGS, site=None, telescope=None, readings=Readings())
    table = circumstances.table
    empty = replace(table, trains=())
    around = replace(circumstances, table=empty)
    ones = np.ones((1, 1))
    moment = Moment(ones, ones, ones, 3)
    assert np.isnan(finding_minutes([load_catalogue().find("M31")], moment, around)).all()


def test_half_of_the_usual_time_goes_with_the_way() -> None:
    """5 min by hand for a way of 3.5 min; nothing to hop over still takes half of it and a bit."""
    pace = ObservingPace()
    usual = pace.finding_min(driven=False)
    assert_allclose(pace.found_in_min(usual, np.array([3.5, 0.0, 7.0])), [6.0, 3.0, 9.0])


def test_circles_and_motors_find_faster_than_the_hand() -> None:
    """And what the observer states counts for all three."""
    pace = ObservingPace()
    hand, circles, goto = (pace.finding_min(driven=False, pointing=p) for p in Pointing)
    assert hand > circles > goto
    stated = ObservingPace(find_min=7.0)
    assert {stated.finding_min(driven=False, pointing=p) for p in Pointing} == {7.0}
