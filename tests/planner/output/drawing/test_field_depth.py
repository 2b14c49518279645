"""How faint the stars are that a drawing shows."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from planner.model.kit import Filter, FilterKind
from planner.output.drawing.field import draw_field
from planner.output.drawing.limiting_magnitude import faintest_star_mag, observer_of, zenith_of
from targets.model import Kind, Target

CLEAR, HAZY = 0.15, 0.45


def _at_zenith(circumstance: Any) -> Target:
    ra_deg, dec_deg = zenith_of(observer_of(circumstance))
    return Target("X", "X", Kind.OPEN_CLUSTER, ra_deg=ra_deg, dec_deg=dec_deg)


def test_haze_takes_its_extinction(train: Any, around: Any) -> None:
    """In the zenith extinction is that of one air mass, so the loss is the difference.

    The sky's own light changes a little with the haze: a tenth of a magnitude is left for that.
    """
    circumstance = around()
    target = _at_zenith(circumstance)
    limits = [
        faintest_star_mag(
            target,
            train(),
            replace(
                circumstance,
                conditions=replace(circumstance.conditions, extinction_mag=extinction_mag),
            ),
        )
        for extinction_mag in (CLEAR, HAZY)
    ]
    assert limits[0] - limits[1] == pytest.approx(HAZY - CLEAR, abs=0.1)


def test_low_stars_are_lost_first(train: Any, around: Any) -> None:
    """The same telescope shows fainter stars in the zenith than 75 degrees away from it."""
    circumstance = around()
    high = _at_zenith(circumstance)
    low = replace(high, dec_deg=(high.dec_deg or 0.0) - 75.0)
    limits = [faintest_star_mag(target, train(), circumstance) for target in (high, low)]
    assert limits[0] - limits[1] > 0.5


def test_a_line_filter_takes_stars(train: Any, around: Any) -> None:
    """An O III filter passes little of a star's light."""
    circumstance, plain = around(), train()
    filtered = replace(plain, filter=Filter("O III", FilterKind.OIII, plain.eyepiece.barrel))
    target = _at_zenith(circumstance)
    limits = [faintest_star_mag(target, t, circumstance) for t in (plain, filtered)]
    assert limits[0] - limits[1] > 0.5


def test_daylight_leaves_few_stars(train: Any, around: Any) -> None:
    """By day a drawing has no faint stars and says how faint the faintest are."""
    night, day = around(), around("north", datetime(2026, 12, 8, 12, 0, tzinfo=UTC))
    alcyone = Target("X", "X", Kind.OPEN_CLUSTER, ra_deg=56.87117, dec_deg=24.10514)
    dark, light = draw_field(alcyone, train(), night), draw_field(alcyone, train(), day)
    assert dark.faintest_mag == 10.0
    assert light.faintest_mag is not None
    assert light.faintest_mag < 8.0
    assert len(light.stars) < len(dark.stars) / 2
