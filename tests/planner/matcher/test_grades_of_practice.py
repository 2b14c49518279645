"""Grades of well-known targets: what an experienced observer would say of them.

All common practice, for 200 mm, 60 degrees up unless said otherwise, with the best train. A grade
is a word for a range of half a magnitude to a magnitude, so most lines allow two that adjoin.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.formulas.visibility_limit import grade_word
from planner.matcher.views import best_view
from planner.model.plan import Grade

EASY, FAIR, HARD = Grade.EASY, Grade.FAIR, Grade.HARD
VERY_HARD, UNLIKELY = Grade.VERY_HARD, Grade.UNLIKELY

# Target, zenith sky [mag/arcsec2], what observers say of it.
SAID = [
    ("M31", 21.8, {EASY}),  # a naked-eye object
    ("M31", 20.0, {EASY, FAIR}),
    ("M31", 18.0, {EASY, FAIR, HARD}),  # the core only
    ("M33", 21.8, {EASY, FAIR}),
    ("M33", 20.0, {FAIR, HARD}),
    ("M33", 18.0, {UNLIKELY, VERY_HARD}),  # the classic one that a town hides
    ("M101", 21.8, {FAIR, HARD}),
    ("M101", 20.0, {VERY_HARD, UNLIKELY}),
    ("M101", 18.0, {UNLIKELY}),
    ("M74", 21.8, {FAIR, HARD}),
    ("M74", 20.0, {HARD, VERY_HARD}),
    ("M81", 20.0, {EASY, FAIR}),
    ("M81", 18.0, {FAIR, HARD}),
    ("M82", 20.0, {EASY, FAIR}),
    ("M104", 20.0, {EASY, FAIR}),
    ("M51", 21.8, {EASY}),
    ("M51", 18.0, {FAIR, HARD, VERY_HARD}),
    ("M65", 18.0, {VERY_HARD, HARD}),
    ("NGC891", 21.8, {FAIR, HARD}),
    ("NGC891", 18.0, {UNLIKELY}),
    ("NGC7331", 21.8, {FAIR, EASY}),
    ("NGC253", 21.8, {EASY}),
    ("NGC2403", 21.3, {FAIR, EASY}),  # large and plain, for all its faint mean
    ("NGC2403", 18.0, {UNLIKELY, VERY_HARD}),
    ("NGC1097", 21.3, {FAIR, EASY}),
    ("NGC1365", 21.8, {FAIR, EASY}),  # its bar and core
    ("ESO356-4", 21.3, {UNLIKELY, VERY_HARD}),  # the Fornax dwarf, a challenge for the darkest sky
    ("ESO356-4", 20.0, {UNLIKELY}),
    ("IC342", 20.0, {UNLIKELY}),
    ("M13", 18.0, {EASY}),
    ("M92", 18.0, {EASY}),
    ("NGC5139", 18.0, {EASY}),
    ("NGC5053", 21.8, {HARD, VERY_HARD}),  # a globular that many miss
    ("NGC5053", 18.0, {UNLIKELY}),
    ("NGC2419", 20.0, {VERY_HARD, HARD}),
    ("M57", 18.0, {EASY, FAIR}),
    ("M57", 20.0, {EASY}),
    ("NGC7662", 18.0, {EASY}),
    ("M97", 18.0, {VERY_HARD, UNLIKELY, HARD}),
    ("M97", 21.8, {EASY, FAIR}),
    ("M42", 18.0, {EASY}),
    ("M1", 21.3, {EASY, FAIR}),  # a plain oval, and no filter helps much
    ("M1", 20.0, {FAIR, HARD}),
    ("M1", 18.0, {UNLIKELY, VERY_HARD}),  # towns hide it
    ("NGC6992", 21.8, {EASY}),  # with a filter
    ("NGC7000", 18.0, {UNLIKELY, VERY_HARD, HARD}),
    ("IC434", 20.0, {UNLIKELY, VERY_HARD}),  # with an H-beta filter at best suspected
    ("B33", 21.8, {UNLIKELY, VERY_HARD}),  # the Horsehead
    ("B33", 20.0, {UNLIKELY}),
    ("M78", 21.8, {FAIR, HARD}),
    ("M78", 18.0, {UNLIKELY}),
    ("M45", 18.0, {EASY}),
    ("M11", 18.0, {EASY}),
    ("NGC7789", 20.0, {EASY, FAIR}),
    ("NGC2158", 18.0, {HARD, VERY_HARD}),
    ("NGC188", 18.0, {HARD, VERY_HARD}),
    ("Jupiter", 18.0, {EASY}),
]


@pytest.mark.parametrize(("name", "sky_mag", "said"), SAID)
def test_a_grade_is_what_observers_say(
    name: str, sky_mag: float, said: set[Grade], bench: Any, sky: Any
) -> None:
    """Under a town's sky (18), a suburb's (20) and a dark one (21.8)."""
    rated = bench.but(sky_mag_arcsec2=sky_mag).rate(sky.targets(name))
    assert best_view(rated.case()).grade in said


def test_the_horsehead_is_unlikely_in_a_middling_telescope(benches: Any, sky: Any) -> None:
    """Under 21.0, in 200 mm without an H-beta filter and in 80 mm with whatever."""
    middling = benches["200"]
    kit = replace(middling.kit, filters=())
    for bench in (middling.but(kit=kit), benches["80"]):
        rated = bench.but(sky_mag_arcsec2=21.0).rate(sky.targets("B33"))
        assert best_view(rated.case()).grade is UNLIKELY


def test_the_helix_needs_height_and_a_filter(bench: Any, sky: Any) -> None:
    """40 degrees up under 21.0: fair or easy with a filter, a grade worse without."""
    low = bench.but(sky_mag_arcsec2=21.0, altitude_deg=40.0)
    rated = low.rate(sky.targets("NGC7293"))
    view = best_view(rated.case())
    assert view.train.filter is not None
    assert view.grade in {FAIR, EASY}
    bare = rated.ratings.margin_dex[0, rated.table.filter_code == 0].max()
    assert grade_word(bare) not in {view.grade, EASY}


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        # Common practice: small and bright ones take 90 to 200 times, a globular is resolved.
        ("M57", 69.0, 200.0),
        ("NGC2392", 69.0, 200.0),
        ("NGC7662", 69.0, 200.0),
        ("M13", 69.0, 130.0),
    ],
)
def test_small_bright_things_take_power(
    name: str, least: float, most: float, benches: Any, sky: Any
) -> None:
    """In 80 mm f/6, for which 37 times are too few and 69 are not."""
    view = best_view(benches["80"].rate([sky.target(name)]).case())
    assert least <= view.train.magnification <= most


def test_below_fair_no_train_outranks_one_that_shows_it_a_grade_better(
    benches: Any, sky: Any
) -> None:
    """In 400 mm and in 80 mm, for what is at the threshold there."""
    for telescope in ("80", "400"):
        bench = benches[telescope].but(sky_mag_arcsec2=20.5)
        rated = bench.rate(sky.targets("B33 M101 M74 NGC6888 IC405 NGC7635 NGC7023 M33 NGC891"))
        ratings, table = rated.ratings, rated.table
        for row in range(len(rated.targets)):
            margin = ratings.margin_dex[row]
            grade = np.searchsorted([-0.2, 0.1, 0.4], margin, side="right")
            best = int(np.argmax(ratings.score[row]))
            holds = ratings.fill[row] <= 1.0
            pupil = (table.exit_pupil_mm >= 1.0) & (table.exit_pupil_mm <= bench.pupil_mm)
            others = holds & pupil & (ratings.parts["fit"][row] > 0.0)
            others &= table.magnification <= ratings.most_power[row]
            # Within the first of a range's own width a class may refuse the smallest exit pupils.
            assert grade[best] >= grade[others & (table.exit_pupil_mm >= 2.5)].max(initial=0)
