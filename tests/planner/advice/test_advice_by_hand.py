"""Parts of the advice, reckoned by hand on looks that are made up for it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.advice import candidate as trying
from planner.advice import rating
from planner.advice.year import Year
from planner.ephemeris.almanac import evening_date, find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.tracks import track_instants
from planner.matcher.scoring import seen_well
from planner.model.site import Site
from planner.planning.circumstances import Circumstances

MakeYear = Callable[..., Year]
GIVEN_UP_DEX = 0.2


def test_what_is_given_up_counts_no_further_than_the_reference() -> None:
    """A smaller exit pupil is forgiven up to the best one's margin, never beyond it."""
    margins = np.array([[0.2, 0.45, 0.5, 0.7]])
    year: Any = SimpleNamespace(reference_dex=np.array([0.5]))
    table: Any = SimpleNamespace(unfiltered=np.arange(4), filter_code=np.zeros(4, dtype=int))
    found = rating._seen(margins, year, table, GIVEN_UP_DEX)  # noqa: SLF001
    assert_allclose(found, seen_well(np.array([[0.4, 0.5, 0.5, 0.7]])))


def test_two_that_stand_in_for_each_other_cannot_both_go() -> None:
    """With C, A is served by B and C, and B by A and C; without both, the first look is lost.

    Looks by eyepieces: first A and B, second A and C, third B and C, each perfect or not at all.
    """
    parts = {name: SimpleNamespace(name=name) for name in "ABC"}
    rated: Any = SimpleNamespace(
        trains=[SimpleNamespace(eyepiece=part) for part in parts.values()],
        score=np.array([[1.0, 1.0, 0.0], [1.0, 0.0, 1.0], [0.0, 1.0, 1.0]]),
        weight=np.ones(3),
    )
    rated.best = partial(rating.Rated.best, rated)
    kit: Any = SimpleNamespace(eyepieces=(parts["A"], parts["B"]))
    new = np.array([False, False, True])
    assert trying._made_redundant(rated, new, kit) == ("A",)  # noqa: SLF001


def test_every_look_stands_in_its_window(
    year: Year, ephemeris: Ephemeris, garden: Site, circumstances: Circumstances
) -> None:
    """The Sun is as low as each class asks for: looks are not put where targets are highest."""
    classes = circumstances.preferences.classes
    for row in range(0, len(year.targets), 12):
        instant: datetime = year.instants[row]
        night = find_night(ephemeris, garden, evening_date(instant, garden))
        sun_deg = float(track_instants(ephemeris, night, [instant]).sun_altitude_deg[0])
        asked = classes[year.target_table.class_code[row]].sun_altitude_max_deg
        assert sun_deg <= asked + 0.01, year.targets[row].name


@pytest.mark.parametrize("name", ["M101", "NGC 891"])
def test_what_is_faint_but_can_be_seen_is_a_look(make_year: MakeYear, name: str) -> None:
    """Faint spirals are seen with 200 mm under a sky of 20.9 (common practice), not with ease."""
    assert make_year(name).looks > 0
