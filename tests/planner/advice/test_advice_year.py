"""The year of looks: which nights and targets stand in it, and that trains play no part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from planner.advice.rating import rate_year
from planner.advice.year import Year
from planner.ephemeris.kernel import OutsideEphemerisError
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.errors import NothingToPlanError
from planner.model.kit import Kit
from planner.model.site import Site
from planner.planning.circumstances import Circumstances

MakeYear = Callable[..., Year]

# Synodic month: Meeus 1998, "Astronomical Algorithms", ch. 49.
SYNODIC_MONTH_DAYS = 29.530589


def test_one_night_a_week_meets_every_phase_of_the_moon() -> None:
    """No tenth of the month is left out in any half of the year, and none comes up too often."""
    days = np.arange(0, 365, 7)
    for half in np.array_split(days, 2):
        tenth = (half % SYNODIC_MONTH_DAYS) / SYNODIC_MONTH_DAYS * 10.0
        counts = np.bincount(tenth.astype(int), minlength=10)
        assert counts.min() >= 1
        assert counts.max() <= 5


def test_a_year_that_does_not_fit_is_refused_before_its_first_night(make_year: MakeYear) -> None:
    """DE421 ends in October 2053 (its header: JD 2471184.5)."""
    with pytest.raises(OutsideEphemerisError, match="2054-05"):
        make_year("M31", first=date(2053, 6, 1))


def test_the_same_year_twice(make_year: MakeYear, year: Year) -> None:
    """It is determined by what goes in."""
    again = make_year()
    assert again.targets == year.targets
    assert again.instants == year.instants
    assert_array_equal(again.weight, year.weight)
    assert_array_equal(again.count, year.count)


def test_trains_play_no_part(make_year: MakeYear, year: Year, circumstances: Circumstances) -> None:
    """A year without a single eyepiece is the same."""
    none = make_year(who=replace(circumstances, table=tabulate_trains(())))
    assert none.targets == year.targets
    assert_array_equal(none.weight, year.weight)


def test_looks_are_by_night_and_weights_are_shares(year: Year, garden: Site) -> None:
    """Sun down at every instant; a weight is a part of a showpiece's, or of a pair's in light."""
    zone = garden.zone
    hours = {instant.astimezone(zone).hour for instant in year.instants}
    assert not hours & set(range(7, 15))
    assert np.all(year.weight > 0.0)
    assert np.all(year.weight <= 1.0)
    assert year.nights_used == year.nights == len(range(0, 365, 43))


def test_looks_that_are_alike_count_as_one(make_year: MakeYear) -> None:
    """None is lost: the counts are those of the nights on which the target is up."""
    year = make_year("M13")
    assert year.looks <= year.nights
    assert len(year.weight) <= year.looks
    every = make_year("M13", every_days=15)
    assert len(every.weight) < every.looks <= 25


def test_folding_changes_no_value(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a kit is worth per look is that of the looks one by one, within half a percent."""
    trains = make_trains(circumstances.telescope, kit)

    def mean(year: Year) -> float:
        rated = rate_year(year, circumstances, trains)
        return float(rated.weight @ rated.score.max(axis=1)) / float(rated.weight.sum())

    folded = make_year(every_days=30)
    for step in ("SKY_STEP_DEX", "LOSS_STEP_MAG", "SIZE_STEP_DEX"):
        monkeypatch.setattr(f"planner.advice.year.{step}", 1e-9)
    plain = make_year(every_days=30)
    assert plain.looks == folded.looks
    assert len(plain.weight) > len(folded.weight)
    half_a_percent = 0.005  # the least share that is called a change
    assert_allclose(mean(folded), mean(plain), rtol=half_a_percent)


def test_another_train_changes_no_score(year: Year, circumstances: Circumstances, kit: Kit) -> None:
    """A score is absolute: a kit's trains keep theirs when their fellows go."""
    trains = make_trains(circumstances.telescope, replace(kit, filters=()))
    whole = rate_year(year, circumstances, trains)
    some = rate_year(year, circumstances, [t for t in trains if t.focal_length_mm < 15.0])
    kept = [whole.trains.index(train) for train in some.trains]
    assert_allclose(whole.score[:, kept], some.score, rtol=1e-12)  # rounding alone


def test_the_southern_year_has_southern_targets(make_year: MakeYear) -> None:
    """47 Tucanae instead of M81."""
    south = Site("Sydney", -33.9, 151.2, timezone="Australia/Sydney", sky_mag_arcsec2=21.0)
    ids = {target.id for target in make_year("C106", "M81", site=south).targets}
    assert ids == {"NGC104"}


def test_half_a_year_of_light_leaves_the_other_half(make_year: MakeYear) -> None:
    """At 78 degrees north the Sun is up all summer; the winter counts, and the reason is kept."""
    north = Site("Svalbard", 78.2, 15.6, timezone="Arctic/Longyearbyen", sky_mag_arcsec2=21.0)
    year = make_year("M13", "M81", site=north)
    assert 0 < year.nights_used < year.nights
    assert year.why_none is not None


def test_what_never_rises_is_told(make_year: MakeYear) -> None:
    """47 Tucanae from England: a sentence, and no empty year."""
    with pytest.raises(NothingToPlanError, match="No night of the year shows any of these"):
        make_year("C106")
