"""What moves cost: the longer, the fainter and the lonelier, the more."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.planning.finding.instruments import Instrument
from planner.planning.finding.moves import (
    aiming_min,
    last_move_min,
    move_costs_min,
    moving_min,
    searching_min,
)

FINDER = Instrument("finder", 6.0, 0.5, 7.0, 7.0)
EYEPIECE = Instrument("eyepiece", 40.0, 0.5, 1.5, 3.0)
lengths = st.floats(0.05, 7.0)


@pytest.mark.parametrize(
    ("length_deg", "minutes"), [(3.5, 0.8), (7.0, 1.6), (7.01, np.inf), (1.75, 0.65)]
)
def test_moves_by_hand(length_deg: float, minutes: float) -> None:
    """0.5 min, 0.3 for each half field of 3.5 deg, and 0.5 for each beyond the first."""
    assert_allclose(moving_min(np.array([length_deg]), FINDER), [minutes])


@given(lengths, lengths)
def test_longer_moves_cost_more(first: float, second: float) -> None:
    """In order of their lengths."""
    short, long = sorted((first, second))
    cost = moving_min(np.array([short, long]), FINDER)
    assert cost[0] <= cost[1]


@given(st.floats(0.0, 6.0), st.floats(0.0, 6.0), st.floats(-1.0, 6.0))
def test_fainter_stars_cost_more(first: float, second: float, magnitude: float) -> None:
    """Where the sky takes more of them, and by themselves."""
    low, high = sorted((first, second))
    by_spare = aiming_min(np.array([low, high]), np.full(2, magnitude))
    assert by_spare[0] >= by_spare[1]
    by_light = aiming_min(np.full(2, low), np.array([magnitude, magnitude + high]))
    assert by_light[0] <= by_light[1]


@pytest.mark.parametrize(
    ("length_deg", "alone_deg", "spare_mag", "there"),
    [
        (3.0, 1.0, 1.0, True),
        (3.0, 0.99, 1.0, False),  # a third of the way
        (0.3, 0.5, 1.0, True),
        (0.3, 0.49, 1.0, False),  # half a degree at least
        (3.0, 1.0, 0.99, False),  # a magnitude over the limit
    ],
)
def test_a_move_ends_on_a_plain_star_that_stands_alone(
    length_deg: float, alone_deg: float, spare_mag: float, *, there: bool
) -> None:
    """Brightest by 0.75 mag within a third of the move, and a magnitude over the limit."""
    cost = move_costs_min(
        np.array([length_deg]), np.array([alone_deg]), np.array([spare_mag]), FINDER
    )
    assert np.isfinite(cost[0]) == there


def test_searching_grows_with_the_area() -> None:
    """2 min for what may stand at the edge of the field, four times that for twice as far."""
    assert_allclose(searching_min(np.array([0.75, 1.5]), 1.5), [2.0, 8.0])


def test_what_is_plain_is_not_searched_for() -> None:
    """The last move costs what it takes to move, and the search beside it otherwise."""
    length = np.array([5.0])
    plain = last_move_min(length, FINDER, is_plain=True, field_deg=1.5)
    hidden = last_move_min(length, FINDER, is_plain=False, field_deg=1.5)
    assert_allclose(plain, moving_min(length, FINDER))
    assert_allclose(hidden - plain, 2.0 * (0.15 * 5.0 / 0.75) ** 2)


def test_the_eyepiece_guides_over_two_of_its_fields() -> None:
    """No farther."""
    assert np.isfinite(moving_min(np.array([3.0]), EYEPIECE)[0])
    assert np.isinf(moving_min(np.array([3.01]), EYEPIECE)[0])
