"""Crossings of a level by a sampled height."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from planner.ephemeris.crossings import find_crossings


def test_a_wave_rises_and_sets_where_its_sine_is_zero() -> None:
    """Between close samples a straight line finds the zeros of a sine, rises and sets apart."""
    times = np.linspace(0.5, 4.0 * np.pi + 0.5, 4001)
    rises, sets = find_crossings(times, np.sin(times))
    assert_allclose(rises, [2.0 * np.pi, 4.0 * np.pi], atol=1e-6)
    assert_allclose(sets, [np.pi, 3.0 * np.pi], atol=1e-6)


def test_what_stays_on_one_side_has_no_crossings() -> None:
    """Always up, always down and touching from below are all no crossing."""
    times = np.arange(5.0)
    for heights in (np.ones(5), -np.ones(5), np.array([-2.0, -1.0, 0.0, -1.0, -2.0])):
        rises, sets = find_crossings(times, heights)
        assert rises.size == 0
        assert sets.size == 0
