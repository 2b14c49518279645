"""How long the matcher takes for the trains of a full kit; prints, and asserts only results."""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.config.conditions import Conditions
from planner.config.preferences import default_preferences
from planner.formulas.photometry import luminance_cd_m2
from planner.matcher.lens import Moment
from planner.matcher.rating import Ratings, rate_trains
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import TrainTable, tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
    Observer,
    Telescope,
)
from targets.catalogue.catalogue import load_catalogue

TARGETS = 2000
SAMPLE = 200  # pairs of the loop that stands for all of them
REPEATS = 5
BARREL = Barrel.ONE_AND_A_QUARTER
FOCAL_LENGTHS_MM = (32.0, 25.0, 20.0, 17.0, 14.0, 12.0, 10.0, 8.0, 7.0, 6.0, 5.0, 4.0)
TELESCOPE = Telescope("200 mm f/6", 200.0, 1200.0, Barrel.TWO, (BARREL,), obstruction_mm=50.0)
KIT = Kit(
    (TELESCOPE,),
    tuple(Eyepiece(f"{mm:g} mm", (mm,), (60.0,), BARREL) for mm in FOCAL_LENGTHS_MM),
    (Amplifier("2x", AmplifierKind.BARLOW, 2.0, BARREL),),
    (Filter("N", FilterKind.NARROWBAND, BARREL), Filter("O", FilterKind.OIII, BARREL)),
)
PREFERENCES = default_preferences()


def rate(target_table: TargetTable, moment: Moment, table: TrainTable) -> Ratings:
    """Rate with what the benchmark does not change."""
    return rate_trains(
        target_table,
        moment,
        table,
        telescope=TELESCOPE,
        observer=Observer(),
        conditions=Conditions(21.0, 0.25, "III", 6.0),
        preferences=PREFERENCES,
    )


def moment_of(count: int) -> Moment:
    """Return the same dark sky behind each target."""
    column = np.ones((count, 1))
    return Moment(60.0 * column, luminance_cd_m2(21.0) * column, 0.3 * column, 3)


@pytest.mark.benchmark
def test_rating_a_catalogue_in_a_full_kit() -> None:
    """12 eyepieces, with and without Barlow and two filters, for 2000 targets, and by pairs."""
    catalogue = load_catalogue()
    rows = np.linspace(0, np.flatnonzero(catalogue.moves)[0] - 1, TARGETS).astype(int)
    target_table = target_table_of([catalogue.target(int(row)) for row in rows], PREFERENCES)
    trains = make_trains(TELESCOPE, KIT)
    table = tabulate_trains(trains)

    seconds = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        together = rate(target_table, moment_of(TARGETS), table)
        seconds.append(time.perf_counter() - start)
    best_s = min(seconds)

    random = np.random.default_rng(11)
    sample = random.integers(0, TARGETS, SAMPLE)
    columns = random.choice(np.flatnonzero(table.filter_code == 0), SAMPLE)
    singles = [tabulate_trains([table.trains[column]]) for column in columns]
    start = time.perf_counter()
    one_by_one = [
        rate(target_table.of_rows(np.array([row])), moment_of(1), single)
        for row, single in zip(sample, singles, strict=True)
    ]
    loop_s = (time.perf_counter() - start) * TARGETS * len(table) / SAMPLE

    print(
        f"\n{TARGETS} targets in {len(table)} trains: {best_s * 1e3:.0f} ms; "
        f"pair by pair {loop_s / best_s:.0f} times that"
    )
    assert len(table) == 2 * 3 * len(FOCAL_LENGTHS_MM)
    for name in ("margin_dex", "fill"):
        assert_allclose(
            getattr(together, name)[sample, columns],
            [getattr(ratings, name)[0, 0] for ratings in one_by_one],
            rtol=1e-12,
        )
    exit_pupil = together.parts["exit pupil"][sample, columns]
    assert_allclose(exit_pupil, [ratings.parts["exit pupil"][0, 0] for ratings in one_by_one])
