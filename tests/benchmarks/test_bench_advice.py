"""How the cost of a year of advice grows."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from planner.advice.candidate import try_candidate
from planner.advice.rating import rate_year
from planner.advice.year import Year, year_of_looks
from planner.advice.year_targets import targets_of_year
from planner.config.settings import example_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.matcher.trains import make_trains
from planner.model.kit import Barrel, Eyepiece
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

SETTINGS = example_settings(today=date(2026, 11, 25))
SITE, CIRCUMSTANCES = circumstances_of(SETTINGS, site=None, telescope=None, readings=Readings())


def gather(every_days: int) -> Year:
    """Return a year of all that plans would hold."""
    catalogue = load_catalogue()
    return year_of_looks(
        catalogue,
        load_ephemeris(),
        SITE,
        CIRCUMSTANCES,
        rows=targets_of_year(catalogue, SITE, CIRCUMSTANCES),
        first=date(2026, 11, 25),
        every_days=every_days,
    )


def cpu_s(act: Callable[[], object]) -> float:
    """Return the processor time that something takes [s]."""
    begun = time.process_time()
    act()
    return time.process_time() - begun


@pytest.mark.benchmark
def test_the_cost_grows_as_nights_and_trains() -> None:
    """Four times the nights or trains cost about four times as much, and never eight times.

    What is the same for any number of them makes it less; a shared machine may make it more.
    """
    few_s, many_s = cpu_s(lambda: gather(56)), cpu_s(lambda: gather(14))
    print(f"\n7 nights {few_s:.2f} s, 27 nights {many_s:.2f} s: {many_s / few_s:.1f} times")
    year, circumstances = gather(14), CIRCUMSTANCES
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
