"""Two stars that point: where on their line a target stands, and what is no line."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.planning.finding.pointers import best_pointers
from targets.arrays import Floats
from targets.sphere import unit_vectors

LOW_FIELD_DEG = 1.7
NO_AIM = np.zeros(2)


def along(share: float, apart_deg: float = 6.0, aside_deg: float = 0.0) -> tuple[Floats, Floats]:
    """Two stars on the equator, and a target at a share of the way, aside of the line."""
    stars = unit_vectors([100.0, 100.0 + apart_deg], [0.0, 0.0])
    return stars, unit_vectors(100.0 + share * apart_deg, aside_deg)


@pytest.mark.parametrize(
    ("share", "words", "origin", "is_between"),
    [
        (1 / 3, "a third of the way", 0, True),
        (1 / 2, "half way", 1, True),
        (3 / 2, "half as far again", 1, False),
        (2.0, "as far again", 1, False),
    ],
)
def test_a_target_on_the_line_is_told_by_its_part(
    share: float, words: str, origin: int, *, is_between: bool
) -> None:
    """Between the stars, or beyond the second; one moves from the nearer of them."""
    stars, target = along(share)
    found = best_pointers(stars, NO_AIM, target, field_deg=LOW_FIELD_DEG)
    assert found is not None
    lead = (found.first, found.second)
    # Half way, and parts of the way, can be told from either star.
    assert lead == (0, 1) or is_between
    if lead == (0, 1):
        assert (found.words, found.origin, found.is_between) == (words, origin, is_between)


def test_what_is_beside_the_line_is_not_on_it() -> None:
    """A target outside the low field around every judged place has no pointers."""
    stars, target = along(1.5, aside_deg=1.0)
    assert best_pointers(stars, NO_AIM, target, field_deg=LOW_FIELD_DEG) is None
    assert best_pointers(stars, NO_AIM, target, field_deg=7.0) is not None


def test_stars_too_near_or_too_far_make_no_line() -> None:
    """1.5 deg at least, 20 at most; one star alone points nowhere."""
    for apart_deg in (1.4, 20.5):
        stars, target = along(0.5, apart_deg=apart_deg)
        assert best_pointers(stars, NO_AIM, target, field_deg=7.0) is None
    stars, target = along(0.5)
    assert best_pointers(stars[:1], NO_AIM[:1], target, field_deg=7.0) is None


@given(st.floats(0.3, 2.4), st.floats(0.0, 0.3), st.floats(0.0, 0.3))
def test_farther_from_the_line_takes_longer(share: float, first: float, second: float) -> None:
    """In the order of the distances from it."""
    near, far = sorted((first, second))
    minutes = []
    for aside_deg in (near, far):
        stars, target = along(share, apart_deg=3.0, aside_deg=aside_deg)
        found = best_pointers(stars, NO_AIM, target, field_deg=LOW_FIELD_DEG)
        minutes.append(np.inf if found is None else found.minutes)
    assert minutes[0] <= minutes[1] + 1e-9
