"""How near the chosen sets are to the best, and how the cost of a year grows."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import combinations

import numpy as np
import pytest

from planner.advice.best_set import choose_set, set_value
from planner.advice.candidate import try_candidate
from planner.advice.rating import rate_year
from planner.advice.starter_set import SIMPLER_COSTS, market, simplified
from planner.advice.year import Year, year_of_looks
from planner.config.settings import example_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.matcher.trains import make_trains
from planner.model.kit import Barrel, Eyepiece
from planner.planning.outlook.coming_nights import showpieces
from planner.request.circumstances import occasion_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

SETTINGS = example_settings(today=date(2026, 11, 25))
OCCASION = occasion_of(SETTINGS, site=None, telescope=None, readings=Readings())
# Every third focal length and three of the fields: few enough for every set of three.
COARSE_LENGTHS, COARSE_FIELDS = slice(0, None, 3), (50.0, 68.0, 100.0)


def gather(every_days: int) -> Year:
    """Return a year of the showpieces."""
    catalogue = load_catalogue()
    return year_of_looks(
        catalogue,
        load_ephemeris(),
        OCCASION.site,
        OCCASION.circumstances,
        rows=showpieces(catalogue),
        first=date(2026, 11, 25),
        every_days=every_days,
    )


def cpu_s(act: Callable[[], object]) -> float:
    """Return the processor time that something takes [s]."""
    begun = time.process_time()
    act()
    return time.process_time() - begun


@pytest.mark.benchmark
@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_set_is_within_a_percent_of_every_other(count: int) -> None:
    """Against all sets on a coarse grid, also after narrower fields have taken places."""
    circumstances = OCCASION.circumstances
    lengths = sorted({offer.focal_lengths_mm[0] for offer in market(circumstances.telescope)})
    offers = [
        offer
        for offer in market(circumstances.telescope)
        if offer.focal_lengths_mm[0] in lengths[COARSE_LENGTHS]
        and offer.apparent_fields_deg[0] in COARSE_FIELDS
    ]
    kit = replace(SETTINGS.kit, eyepieces=tuple(offers), amplifiers=())
    rated = rate_year(gather(28), circumstances, make_trains(circumstances.telescope, kit))
    score, weight = rated.of_eyepieces(offers), rated.weight
    sets = list(combinations(range(len(offers)), count))
    best = max(set_value(score, weight, members) for members in sets)
    chosen = choose_set(score, weight, count)
    found = set_value(score, weight, chosen)
    simple = set_value(score, weight, simplified(score, weight, chosen, offers))
    print(
        f"\n{count} of {len(offers)}: {len(sets)} sets, found {found / best:.4%} of the best, "
        f"{simple / best:.4%} with simpler ones"
    )
    assert found >= 0.99 * best
    assert simple >= 0.99 * best
    assert simple >= (1.0 - SIMPLER_COSTS) * found - 1e-9


@pytest.mark.benchmark
def test_the_cost_grows_as_nights_and_trains() -> None:
    """Four times the nights or trains cost about four times as much, and never eight times.

    What is the same for any number of them makes it less; a shared machine may make it more.
    """
    few_s, many_s = cpu_s(lambda: gather(56)), cpu_s(lambda: gather(14))
    print(f"\n7 nights {few_s:.2f} s, 27 nights {many_s:.2f} s: {many_s / few_s:.1f} times")
    year, circumstances = gather(14), OCCASION.circumstances
    lengths = np.geomspace(3.0, 30.0, 320)
    small = Barrel.ONE_AND_A_QUARTER
    eyepieces = [Eyepiece(f"{f:.4f}", (float(f),), (50.0,), small) for f in lengths]

    def rate(count: int) -> None:
        kit = replace(SETTINGS.kit, eyepieces=tuple(eyepieces[:count]), amplifiers=(), filters=())
        rate_year(year, circumstances, make_trains(circumstances.telescope, kit))

    rate(80)
    few_s, many_s = cpu_s(lambda: rate(80)), cpu_s(lambda: rate(320))
    print(f"80 trains {few_s:.3f} s, 320 trains {many_s:.3f} s: {many_s / few_s:.1f} times")
    trial_s = cpu_s(lambda: try_candidate(year, circumstances, SETTINGS.kit, eyepieces[0]))
    print(f"one candidate beside the example's kit: {trial_s:.3f} s")
