"""Pairs enlarged: one scale for all trains, and what is not seen is not drawn."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.config.preferences import Preferences, default_preferences
from planner.output.appearance.views import appearances
from targets.catalogue.catalogue import Catalogue
from targets.double_stars.doubles import colours_of
from targets.model import Kind, Target

PAIR = Target(
    "X1", "X 1", Kind.DOUBLE_STAR, "Ori", 80.0, 5.0, major_arcmin=0.1, magnitude=5.25,
    companion_magnitude=6.0, position_angle_deg=90.0,
)  # fmt: skip


@pytest.fixture(scope="session")
def preferences() -> Preferences:
    """Return the preferences that come with the program."""
    return default_preferences()


@pytest.fixture
def middles(train: Any, around: Any, preferences: Preferences) -> Any:
    """Return the way to enlarge a pair in trains of growing power; light of 0 .. 255."""

    def enlarged(target: Target, *times: float) -> list[Any]:
        trains = [
            replace(
                train(),
                magnification=train().magnification * factor,
                true_field_arcmin=train().true_field_arcmin / factor,
                exit_pupil_mm=train().exit_pupil_mm / factor,
            )
            for factor in times
        ]
        views = appearances(target, trains, around(), preferences)
        return [
            view.middle if view.middle is None else view.middle.astype(int).max(axis=2)
            for view in views
        ]

    return enlarged


def _gap_cells(light: Any) -> float:
    """Return how far the second spot is from the first, in the middle."""
    middle = (len(light) - 1) / 2.0
    rows, columns = np.indices(light.shape) - middle
    away = np.hypot(rows, columns)
    ridge = np.array([light[(away >= r) & (away < r + 1.0)].max() for r in range(int(middle))])
    rises = np.flatnonzero(np.diff(ridge) > 0)
    return float(rises[-1] + 1) if rises.size else 0.0


def test_a_gap_grows_with_the_power(middles: Any) -> None:
    """Twice the power, twice the gap, on one scale; the brighter star stays in the middle."""
    low, high = (_gap_cells(light) for light in middles(PAIR, 2.0, 4.0))
    assert low > 5.0
    assert high == pytest.approx(2.0 * low, rel=0.15)


def test_a_companion_that_is_not_seen_is_not_drawn(middles: Any) -> None:
    """Four magnitudes fainter at 1.5 arcsec: nothing but the primary, alike on all sides."""
    lost = replace(PAIR, major_arcmin=0.025, magnitude=5.0, companion_magnitude=9.0)
    (light,) = middles(lost, 4.0)
    assert np.abs(light - light[:, ::-1]).max() <= 1
    (seen,) = middles(PAIR, 4.0)
    assert np.abs(seen - seen[:, ::-1]).max() > 50


def test_only_close_pairs_are_enlarged(catalogue: Catalogue, middles: Any) -> None:
    """Neither what is wide apart in the view itself, nor anything but a pair."""
    assert middles(replace(PAIR, major_arcmin=5.0), 4.0) == [None]
    assert middles(catalogue.find("M57"), 4.0) == [None]


def test_pairs_have_the_colours_of_the_table() -> None:
    """Albireo is gold and blue: BP - RP of Gaia DR3; a pair of nobody's has none."""
    gold, blue = colours_of("betaCyg")
    assert gold == pytest.approx(1.35, abs=0.05)
    assert blue == pytest.approx(-0.09, abs=0.05)
    assert colours_of("X1") == (None, None)
