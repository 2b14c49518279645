"""What any observer knows beforehand must come out of the real year."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.advice.candidate import kit_with, try_candidate, uses_in, wastes_light
from planner.advice.rating import rate_year
from planner.advice.starter_set import start_set, usual_advice
from planner.advice.year import Year
from planner.matcher.trains import make_trains
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
    Telescope,
)
from planner.planning.circumstances import Circumstances

MakeEyepiece = Callable[..., Eyepiece]
MakeYear = Callable[..., Year]
SMALL, TWO = Barrel.ONE_AND_A_QUARTER, Barrel.TWO
PLANETS = ("Jupiter", "Saturn", "Mars", "Venus")


def value(year: Year, circumstances: Circumstances, kit: Kit) -> float:
    """Return what a kit is worth in a year."""
    rated = rate_year(year, circumstances, make_trains(circumstances.telescope, kit))
    return float(rated.weight @ np.max(rated.score, axis=1))


def test_a_copy_of_an_owned_eyepiece_wins_nothing(
    year: Year, circumstances: Circumstances, kit: Kit
) -> None:
    """Whichever is copied; and nothing becomes redundant."""
    for owned in kit.eyepieces:
        trial = try_candidate(year, circumstances, kit, replace(owned, name="Copy"))
        assert (trial.looks_won, trial.gain_share, trial.redundant) == (0, 0.0, ())
        assert "Copy changes nothing" in trial.verdict


def test_a_long_eyepiece_at_f4_is_called_wasteful(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit, eyepiece: MakeEyepiece
) -> None:
    """40 mm at f/4 make an exit pupil of 10 mm; the eye takes 5: half of the aperture is lost."""
    telescope = replace(circumstances.telescope, focal_length_mm=800.0)
    eye = replace(circumstances.observer, dark_pupil_mm=5.0)
    conditions = replace(circumstances.conditions, pupil_mm=5.0)
    short = replace(circumstances, telescope=telescope, observer=eye, conditions=conditions)
    year = make_year("M42", "M45", who=short)
    trial = try_candidate(year, short, kit, eyepiece(40.0, 60.0, TWO))
    assert wastes_light(trial)
    assert trial.verdict.endswith("It wastes light.")
    assert any("exit pupil of 10.0 mm is wider than your 5.0 mm" in r for r in trial.remarks)
    assert any("as one of 100 mm" in remark for remark in trial.remarks)
    assert not wastes_light(try_candidate(year, short, kit, eyepiece(20.0, 60.0, SMALL)))


def test_without_the_most_used_eyepiece_most_is_lost(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """Of two that share a year of clusters and galaxies, the one used more costs more."""
    pair = replace(kit, eyepieces=(kit.eyepieces[0], kit.eyepieces[2]), amplifiers=(), filters=())
    year = make_year("M13", "M5", "M3", "M15", "M57", "M44")
    uses = uses_in(rate_year(year, circumstances, make_trains(circumstances.telescope, pair)), pair)
    most_used = max(uses, key=lambda use: use.looks)
    assert most_used.eyepiece.name == "12 mm 60"
    assert most_used.loss_share == max(use.loss_share for use in uses)


def test_what_an_eyepiece_is_for_adds_up(
    year: Year, circumstances: Circumstances, kit: Kit
) -> None:
    """Every look has one best eyepiece at most; the loss is that of a kit without it."""
    uses = uses_in(rate_year(year, circumstances, make_trains(circumstances.telescope, kit)), kit)
    assert 0.9 * year.looks < sum(use.looks for use in uses) <= year.looks
    whole = value(year, circumstances, kit)
    for column, use in enumerate(uses):
        rest = kit.eyepieces[:column] + kit.eyepieces[column + 1 :]
        lost = 1.0 - value(year, circumstances, replace(kit, eyepieces=rest)) / whole
        assert_allclose(use.loss_share, lost, atol=1e-9)  # rounding alone
    assert uses[-1].eyepiece.name == "5 mm 60"
    assert uses[-1].looks == 0, "240x is more than the air of the example bears"


@pytest.mark.parametrize("hand", [False, True])
@pytest.mark.parametrize("count", [1, 2])
def test_planets_never_ask_for_a_wide_field_or_a_large_barrel(
    make_year: MakeYear,
    circumstances: Circumstances,
    driven: Circumstances,
    kit: Kit,
    count: int,
    hand: bool,
) -> None:
    """Driven, the narrowest field with room for the eye is enough; by hand a wider one holds."""
    who = circumstances if hand else driven
    start = start_set(make_year(*PLANETS, who=who), who, kit, count=count)
    assert {choice.eyepiece.barrel for choice in start.choices} == {SMALL}
    fields = {choice.eyepiece.apparent_fields_deg[0] for choice in start.choices}
    assert max(fields) < 100.0
    if not hand:
        assert max(fields) <= 60.0


def test_nothing_that_is_added_makes_a_kit_worth_less(
    year: Year, circumstances: Circumstances, kit: Kit, eyepiece: MakeEyepiece
) -> None:
    """Of a hundred parts none; one need not use it."""
    before = value(year, circumstances, kit)
    parts = [
        eyepiece(50.0, 50.0, TWO),
        eyepiece(3.5, 50.0, SMALL),
        eyepiece(21.0, 100.0, TWO),
        Amplifier("Short", AmplifierKind.BARLOW, 4.0, SMALL),
        Amplifier("Wide", AmplifierKind.REDUCER, 0.5, TWO),
    ]
    for part in parts:
        assert value(year, circumstances, kit_with(kit, part)) >= before * (1.0 - 1e-9)


def test_a_filter_wins_nebulae_alone(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """An O III filter in a kit without one lifts the Veil, and no cluster or galaxy.

    It takes one of 2 inch: the Veil asks for the widest field, and that eyepiece is of 2 inch.
    """
    bare = replace(kit, filters=())
    year = make_year("NGC6992", "M13", "M31", "M45")
    trial = try_candidate(year, circumstances, bare, Filter("O III", FilterKind.OIII, TWO))
    assert {gain.target.id for gain in trial.gains} == {"NGC6992"}
    assert trial.gains[0].train.filter is not None


def test_a_barlow_serves_a_kit_of_one_long_eyepiece(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit, eyepiece: MakeEyepiece
) -> None:
    """It doubles the number of powers, and the planet gains."""
    one = replace(kit, eyepieces=(eyepiece(15.0, 60.0, SMALL),), amplifiers=(), filters=())
    year = make_year("Saturn", "M44")
    barlow = Amplifier("Twice", AmplifierKind.BARLOW, 2.0, SMALL)
    trial = try_candidate(year, circumstances, one, barlow)
    assert [gain.target.id for gain in trial.gains] == ["Saturn"]
    assert trial.gain_share > 0.03


def test_what_fits_nowhere_says_why(
    year: Year, circumstances: Circumstances, kit: Kit, eyepiece: MakeEyepiece
) -> None:
    """A 3 inch eyepiece at a 2 inch focuser."""
    trial = try_candidate(year, circumstances, kit, eyepiece(30.0, 100.0, Barrel.THREE))
    assert trial.looks_won == 0
    assert trial.misfits == ("30/100 (3in) does not go into the 2in focuser.",)
    assert "cannot be used" in trial.verdict


def test_a_kit_that_shows_nothing_gains_without_end(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit, eyepiece: MakeEyepiece
) -> None:
    """Its only eyepiece does not fit; the verdict is a sentence all the same."""
    useless = replace(kit, eyepieces=(eyepiece(30.0, 80.0, Barrel.THREE),), amplifiers=())
    trial = try_candidate(make_year("M13"), circumstances, useless, eyepiece(12.0, 60.0, SMALL))
    assert trial.gain_share == np.inf
    assert trial.gains[0].present is None
    assert "is needed" in trial.verdict


def test_the_usual_advice_for_f5(circumstances: Circumstances) -> None:
    """Short, medium and long at f/5 to f/6 are about 5 to 7, 12 to 15 and 28 to 35 mm.

    Common practice: two of 1.25 inch, one long 2 inch; the long one never above pupil times ratio.
    """
    telescope: Telescope = replace(circumstances.telescope, focal_length_mm=1100.0)  # f/5.5
    short, medium, long = usual_advice(replace(circumstances, telescope=telescope))
    assert 5.0 <= short.focal_lengths_mm[0] <= 7.0
    assert 12.0 <= medium.focal_lengths_mm[0] <= 15.0
    assert 28.0 <= long.focal_lengths_mm[0] <= 35.0
    assert [e.barrel for e in (short, medium, long)] == [SMALL, SMALL, TWO]
    tired = replace(circumstances.conditions, pupil_mm=4.8)
    old = usual_advice(replace(circumstances, telescope=telescope, conditions=tired))
    assert old[2].focal_lengths_mm[0] <= 5.5 * 4.8 * 1.05
