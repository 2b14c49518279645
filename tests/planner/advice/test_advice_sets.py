"""Sets to buy: the table of usual pairs, ladders beside every other set, what is there, budgets."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.advice.barrels import compare_barrels
from planner.advice.budget import within_budget
from planner.advice.candidate import try_candidate
from planner.advice.ladder_set import Rungs, best_ladder, is_ladder, set_value
from planner.advice.market import as_usual, market, usual_pairs
from planner.advice.starter_set import Priced, start_set, weigh_offers
from planner.advice.year import Year
from planner.model.kit import Barrel, Eyepiece, Kit, Telescope
from planner.planning.circumstances import Circumstances

MakeYear = Callable[..., Year]
SMALL, TWO = Barrel.ONE_AND_A_QUARTER, Barrel.TWO
# Six telescopes: aperture and focal length [mm], focuser.
TELESCOPES = [
    (60.0, 900.0, SMALL),
    (80.0, 480.0, TWO),
    (150.0, 750.0, TWO),
    (200.0, 1200.0, TWO),
    (280.0, 2800.0, TWO),
    (400.0, 1800.0, TWO),
]
FEW = ("M31", "M42", "M13", "M57", "M81", "M45", "NGC7000", "Albireo", "Castor", "Saturn", "Moon")


def with_telescope(
    circumstances: Circumstances, aperture_mm: float, focal_mm: float, focuser: Barrel
) -> Circumstances:
    """Return the same observer with another telescope."""
    adapters = () if focuser is SMALL else (SMALL,)
    other = Telescope("Other", aperture_mm, focal_mm, focuser, adapters, balance_g=250.0)
    return replace(circumstances, telescope=other)


def test_the_table_holds_only_what_fits_its_barrel() -> None:
    """Clear stops of 21.5, 27 and 46 mm (common practice); the arc law: length times field."""
    clear_mm = {Barrel.SMALL: 21.5, SMALL: 27.0, TWO: 46.0}
    for pair in usual_pairs():
        middle_deg = sum(pair.apparent_deg) / 2.0
        assert pair.focal_length_mm * np.radians(middle_deg) <= clear_mm[pair.barrel], pair
        assert pair.apparent_deg[0] < pair.apparent_deg[1]
        assert 0.0 < pair.eye_relief_mm[0] < pair.eye_relief_mm[1]
        assert 0.0 < pair.mass_g[0] < pair.mass_g[1]
    named = {(p.focal_length_mm, round(sum(p.apparent_deg) / 2), p.barrel) for p in usual_pairs()}
    assert len(named) == len(usual_pairs())
    # What can hardly be had: 15 mm of 100 deg in 1.25 inch, and 27 mm of 100 deg, a stop of 47 mm.
    assert not any(f >= 12.0 and field == 100 and b is SMALL for f, field, b in named)
    assert not any(f > 25.0 and field == 100 for f, field, _ in named)


def test_the_table_follows_its_rule() -> None:
    """Lengths are those of its list; each class has words of a range, and no name of anything."""
    path = Path(__file__).parents[3] / "planner/advice/data/usual_eyepieces.toml"
    text = path.read_text("utf-8")
    assert "common practice" in text
    content = tomllib.loads(text)
    keys = {"apparent_deg", "barrel", "focal_lengths_mm", "eye_relief_mm", "mass_g"}
    assert all(set(row) == keys for row in content["class"])
    lengths = content["focal_lengths_mm"]
    assert lengths == sorted(set(lengths))
    assert all(high / low < 1.2 for low, high in pairwise(lengths))


def test_spectacles_leave_only_what_has_room_for_them(circumstances: Circumstances) -> None:
    """15 mm of eye relief at least (common practice), in every class that is offered."""
    offers = market(circumstances.telescope, spectacles=True)
    assert all((offer.eye_relief_mm or 0.0) >= 15.0 for offer in offers)
    assert len(offers) < len(market(circumstances.telescope))


def test_what_is_not_stated_is_taken_as_usual() -> None:
    """A 12 mm of 60 deg without mass has one of its class; a stated one stays; a zoom is left."""
    plain = Eyepiece("12", (12.0,), (60.0,), SMALL)
    filled = as_usual(plain, spectacles=False)
    assert filled.mass_g is not None
    assert 100.0 < filled.mass_g < 300.0
    assert as_usual(replace(plain, mass_g=90.0), spectacles=True).mass_g == 90.0
    zoom = Eyepiece("Zoom", (8.0, 20.0), (62.0, 46.0), SMALL)
    assert as_usual(zoom, spectacles=False) == zoom


def some_rungs() -> Rungs:
    """Fourteen eyepieces from 25 to 300 times, with scores of chance."""
    power, dice = np.geomspace(25.0, 300.0, 14), np.random.default_rng(7)
    nothing = np.zeros(14, dtype=bool)
    return Rungs(
        score=dice.random((40, 14)), weight=np.ones(40), power=power, field_deg=60.0 / power,
        burden=power, useful=~nothing, factor=1.0, amplified=nothing, highest_power=300.0,
    )  # fmt: skip


@pytest.mark.parametrize("kept", [(), (6,), (3, 10)])
def test_what_was_asked_before_changes_no_set(kept: tuple[int, ...]) -> None:
    """A larger set comes out the same whether smaller ones were asked for before it or not."""
    rungs, found = some_rungs(), 0
    for count in range(1, 6):
        alone = best_ladder(some_rungs(), count, kept=kept)
        assert best_ladder(rungs, count, kept=kept) == alone
        found += alone is not None
    assert found >= 2


def every_ladder(rungs: Rungs, count: int) -> float:
    """Return what the best set that makes a ladder is worth, by trying all of them."""
    useful = np.flatnonzero(rungs.useful).tolist()
    found = (m for m in combinations(useful, count) if is_ladder(rungs, m))
    return max(rungs.value(members) for members in found)


@pytest.mark.parametrize("which", TELESCOPES, ids=str)
def test_a_pair_is_the_best_of_every_pair_of_the_table(
    make_year: MakeYear,
    circumstances: Circumstances,
    kit: Kit,
    which: tuple[float, float, Barrel],
) -> None:
    """Within the 0.3 percent that are given up for simpler eyepieces."""
    who = with_telescope(circumstances, *which)
    offers = weigh_offers(make_year(*FEW, who=who), who, kit, market(who.telescope))
    members = best_ladder(offers.rungs, 2)
    assert members is not None
    assert offers.rungs.value(members) >= 0.997 * every_ladder(offers.rungs, 2)


@pytest.mark.slow
@pytest.mark.parametrize("which", TELESCOPES, ids=str)
def test_a_set_of_three_is_the_best_of_every_set_of_the_table(
    make_year: MakeYear,
    circumstances: Circumstances,
    kit: Kit,
    which: tuple[float, float, Barrel],
) -> None:
    """The same with three, and the whole year; as also with a Barlow."""
    who = with_telescope(circumstances, *which)
    year = make_year(who=who)
    for barlow in (None, 2.0):
        offers = weigh_offers(year, who, kit, market(who.telescope), barlow=barlow)
        members = best_ladder(offers.rungs, 3)
        assert members is not None
        assert offers.rungs.value(members) >= 0.997 * every_ladder(offers.rungs, 3)


@pytest.mark.parametrize(
    ("which", "barlow"),
    list(zip(TELESCOPES, (None, 2.0, 2.0, None, None, 2.0), strict=True)),
    ids=str,
)
def test_steps_and_ends_of_a_set(
    make_year: MakeYear,
    circumstances: Circumstances,
    kit: Kit,
    which: tuple[float, float, Barrel],
    barlow: float | None,
) -> None:
    """Steps of 1.3 to 2, no power beyond what the air bears, no beam wider than the pupil."""
    who = with_telescope(circumstances, *which)
    year = make_year(*FEW, who=who)
    for count in (None, 2):
        start = start_set(year, who, kit, count=count, barlow=barlow)
        steps = [high / low for low, high in pairwise(start.powers)]
        assert all(1.3 - 1e-6 <= step <= 2.0 + 1e-6 for step in steps), start.powers
        assert max(start.powers) <= start.highest_power
        assert all(c.exit_pupil_mm <= 1.05 * who.conditions.pupil_mm for c in start.choices)
        adds = sum(choice.adds for choice in start.choices)
        assert_allclose(adds, start.worth, rtol=1e-9)
        numbers = sorted(choice.number for choice in start.choices)
        assert numbers == list(range(1, len(numbers) + 1))
        if count is None:
            assert start.is_whole
            assert max(c.true_field_deg for c in start.choices) >= 0.9 * start.widest_deg


def test_more_never_reach_less_and_every_page_tells_the_same_number(
    year: Year, circumstances: Circumstances, kit: Kit
) -> None:
    """Three by three ways; four by the barrels; the next by trying it."""
    three = start_set(year, circumstances, kit, count=3)
    four = start_set(year, circumstances, kit, count=4)
    assert four.worth >= three.worth
    assert three.three_worth == three.worth == four.three_worth
    barrels = compare_barrels(year, circumstances, kit)
    assert barrels.reports[-1].worth == four.worth
    assert barrels.reports[0].worth == four.small_worth
    assert three.next is not None
    owned = replace(kit, eyepieces=tuple(c.eyepiece for c in three.choices), amplifiers=())
    trial = try_candidate(year, circumstances, owned, replace(three.next, name="Next"))
    assert_allclose(trial.gain_share, three.next_worth / three.worth - 1.0, rtol=1e-9)


def test_what_is_there_stays(
    year: Year, circumstances: Circumstances, kit: Kit, eyepiece: Callable[..., Eyepiece]
) -> None:
    """It is in every set, no step beside it is too small, and it does not count as bought."""
    own = eyepiece(25.0, 52.0, SMALL)
    start = start_set(year, circumstances, kit, count=3, have=(own,))
    assert [c.eyepiece for c in start.choices if c.is_there] == [own]
    assert sorted(c.number for c in start.choices) == [0, 1, 2]
    assert all(high / low >= 1.3 - 1e-6 for low, high in pairwise(start.powers))
    small = start_set(year, circumstances, kit, have=(own,), barrel=SMALL)
    assert {c.eyepiece.barrel for c in small.choices} == {SMALL}
    assert small.worth <= start_set(year, circumstances, kit, have=(own,)).worth


def test_a_budget_is_kept(
    year: Year, circumstances: Circumstances, kit: Kit, eyepiece: Callable[..., Eyepiece]
) -> None:
    """Whatever it is, the best of every affordable set is bought, within a percent."""
    wanted = [eyepiece(f, d, b) for f, d, b in (
        (30.0, 68.0, TWO), (20.0, 60.0, SMALL), (14.0, 82.0, SMALL), (10.0, 60.0, SMALL),
        (7.0, 60.0, SMALL), (5.0, 60.0, SMALL),
    )]  # fmt: skip
    costs = (210.0, 60.0, 150.0, 70.0, 80.0, 75.0)
    offers = weigh_offers(year, circumstances, kit, wanted)
    for budget in (100.0, 160.0, 300.0, 1000.0):
        members = within_budget(offers.rungs, costs, budget)
        assert sum(costs[k] for k in members) <= budget
        best = max(
            offers.rungs.value(m)
            for n in range(1, 7)
            for m in combinations(range(6), n)
            if sum(costs[k] for k in m) <= budget
        )
        assert offers.rungs.value(members) >= 0.99 * best
    priced = Priced(tuple(wanted), costs, 160.0)
    start = start_set(year, circumstances, kit, priced=priced)
    assert sum(priced.cost(c.eyepiece, ()) for c in start.choices) <= 160.0


def test_a_value_is_reckoned_by_hand() -> None:
    """Look 1 in the first at 0.5, look 2 in the second at 0.8: 2 x 0.5 + 3 x 0.8 = 3.4."""
    score, weight = np.array([[0.5, 0.2], [0.1, 0.8]]), np.array([2.0, 3.0])
    assert_allclose(set_value(score, weight, [0, 1]), 3.4, rtol=1e-12)
    assert set_value(score, weight, []) == 0.0
