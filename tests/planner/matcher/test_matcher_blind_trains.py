"""Trains through which no light comes: the shadow of the secondary covers the eye's pupil."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.matcher.views import best_view, ranked_views
from planner.model.kit import Amplifier, AmplifierKind, Barrel
from planner.model.plan import Grade

# Glows, with and without lines, stars, a disc, a point, a pair, a dark nebula.
NAMES = "M31 NGC7000 M42 M45 M13 Jupiter 3C273 M40 B143"


@pytest.fixture(scope="module")
def fast(bench: Any) -> Any:
    """Return f/3 with 0.4 obstructed and a reducer: 36 mm make a beam of 24 mm, shadow 9.6 mm."""
    telescope = replace(
        bench.kit.telescopes[0], aperture_mm=300.0, focal_length_mm=900.0, obstruction_mm=120.0
    )
    reducer = Amplifier("Reducer", AmplifierKind.REDUCER, 0.5, Barrel.TWO)
    kit = replace(bench.kit, telescopes=(telescope,), amplifiers=(reducer,))
    return bench.but(kit=kit, pupil_mm=6.0)


def test_a_blind_train_never_wins(fast: Any, sky: Any) -> None:
    """Every score is a number, no light is minus infinity, and the words stay words."""
    targets = sky.targets(NAMES)
    rated = fast.rate(targets)
    blind = 0.4 * rated.table.exit_pupil_mm >= 6.0
    assert 0 < blind.sum() < len(blind)
    assert np.isfinite(rated.ratings.score).all()
    assert (rated.ratings.margin_dex[:, blind] == -np.inf).all()
    for row, target in enumerate(targets):
        assert not blind[rated.best(row)], target.name
        words = [
            word
            for view in ranked_views(rated.case(row))
            for text in (*view.reasons, *view.warnings)
            for word in text.split()
        ]
        assert not {"inf", "-inf", "nan"} & set(words), target.name


def test_a_kit_of_blind_trains_alone_says_so(fast: Any, sky: Any) -> None:
    """Nothing can be seen in any of them."""
    blind = tuple(item for item in fast.kit.eyepieces if item.focal_lengths_mm[0] > 27.0)
    reduced = replace(fast.kit.telescopes[0], focal_length_mm=450.0)
    kit = replace(fast.kit, telescopes=(reduced,), eyepieces=blind, amplifiers=())
    targets = sky.targets(NAMES)
    rated = fast.but(kit=kit).rate(targets)
    assert np.isfinite(rated.ratings.score).all()
    for row in range(len(targets)):
        view = best_view(rated.case(row))
        assert view.grade is Grade.UNLIKELY
        assert any("covers the eye's pupil" in warning for warning in view.warnings)
