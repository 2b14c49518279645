"""Directions and angles on the sphere."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from targets.sphere import (
    angle_deg,
    angles_of_all_deg,
    position_angle_deg,
    separation_deg,
    unit_vectors,
)

LONGITUDE = st.floats(0.0, 360.0)
LATITUDE = st.floats(-90.0, 90.0)
ROUNDING_DEG = 1e-9
LAST_DIGIT_DEG = 0.5 / 3600.0  # of an angle that is printed to the second


def test_separation_of_two_stars_in_a_worked_example() -> None:
    """Meeus 1998, "Astronomical Algorithms", ex. 17.a: Arcturus to Spica is 32 deg 47' 35"."""
    found = separation_deg(213.9154, 19.1825, 201.2983, -11.1614)
    assert_allclose(found, 32 + 47 / 60 + 35 / 3600, atol=LAST_DIGIT_DEG)


@given(LONGITUDE, LATITUDE, st.floats(1e-9, 1.0), st.sampled_from([0.0, 180.0]))
def test_small_and_opposite_angles_keep_their_digits(
    longitude: float, latitude: float, offset: float, opposite: float
) -> None:
    """Along a meridian the angle is the difference of latitudes, to a thousandth of a microarcsec.

    An arc cosine gives zero for all angles below 1e-6 deg.
    """
    there = (longitude + opposite, latitude if not opposite else -latitude)
    moved = there[1] - offset if there[1] > 0.0 else there[1] + offset
    found = separation_deg(longitude, latitude, there[0], moved)
    assert_allclose(found if not opposite else 180.0 - found, abs(there[1] - moved), atol=1e-12)


@given(LONGITUDE, LATITUDE, LONGITUDE, LATITUDE)
def test_an_angle_is_the_same_there_and_back_and_scaled(
    a: float, d: float, b: float, e: float
) -> None:
    """Lengths of the vectors do not count, nor does their order; an opposite one makes it up."""
    first, second = unit_vectors(a, d), unit_vectors(b, e)
    found = angle_deg(first, second)
    assert 0.0 <= found <= 180.0
    assert_allclose(angle_deg(7.0 * second, 0.1 * first), found, atol=ROUNDING_DEG)
    assert_allclose(angle_deg(first, -second), 180.0 - found, atol=ROUNDING_DEG)


@given(st.lists(st.tuples(LONGITUDE, LATITUDE), min_size=3, max_size=3))
def test_no_way_round_is_shorter(places: list[tuple[float, float]]) -> None:
    """The sides of a triangle on the sphere: two together are never less than the third."""
    a, b, c = (unit_vectors(*place) for place in places)
    assert angle_deg(a, b) + angle_deg(b, c) >= angle_deg(a, c) - ROUNDING_DEG


def test_places_broadcast_and_what_is_unknown_stays_unknown() -> None:
    """N places from one give N angles; nan goes through."""
    found = separation_deg([10.0, np.nan, 190.0], [0.0, 5.0, 0.0], 10.0, 0.0)
    assert_allclose(found, [0.0, np.nan, 180.0])


def test_angles_count_from_north_through_east() -> None:
    """A place north of another stands at 0 deg, one with a larger right ascension at 90."""
    sight = unit_vectors(20.0, 0.0)
    found = position_angle_deg(unit_vectors([20.0, 21.0, 20.0, 19.0], [1.0, 0.0, -1.0, 0.0]), sight)
    assert_allclose(found, [0.0, 90.0, 180.0, 270.0], atol=ROUNDING_DEG)


def test_all_against_all_is_each_against_each() -> None:
    """N directions against M, none among them, as pair by pair."""
    first, second = (
        unit_vectors([0.0, 50.0, 310.0], [0.0, 20.0, -80.0]),
        unit_vectors([9.0, 8.0], 3.0),
    )
    found = angles_of_all_deg(first, second)
    assert_allclose(found, [[angle_deg(a, b) for b in second] for a in first], atol=ROUNDING_DEG)
    assert angles_of_all_deg(first[:0], second).shape == (0, 2)
