"""What a year says of a kit: what it lacks and has twice, and what mending it would bring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.advice.audit import audit_kit
from planner.advice.candidate import try_candidate
from planner.advice.duel import duel
from planner.advice.gains import gains_of
from planner.advice.market import market
from planner.advice.rating import rate_year
from planner.advice.starter_set import start_set
from planner.advice.year import Year
from planner.advice.year_audit import most_words, year_faults
from planner.advice.year_targets import targets_of_year
from planner.config.settings import Settings
from planner.matcher.trains import make_trains
from planner.model.kit import (
    Amplifier,
    AmplifierKind,
    Barrel,
    Eyepiece,
    Filter,
    FilterKind,
    Kit,
)
from planner.model.leaning import Leaning
from planner.planning.circumstances import Circumstances
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind

MakeEyepiece = Callable[..., Eyepiece]
MakeYear = Callable[..., Year]
SMALL, TWO = Barrel.ONE_AND_A_QUARTER, Barrel.TWO

# The README: experience leans by less than a tenth.
A_TENTH = 0.1


@pytest.fixture
def say(
    year: Year, circumstances: Circumstances, settings: Settings
) -> Callable[..., tuple[str, ...]]:
    """Return a function that looks over a kit with the example's reflector, 200 mm f/6."""

    def look_over(*eyepieces: Eyepiece, **parts: Any) -> tuple[str, ...]:
        kit = Kit((circumstances.telescope,), eyepieces, **parts)
        report = audit_kit(replace(settings, kit=kit), circumstances.telescope)
        return year_faults(report, gains_of(year, circumstances, kit), circumstances, kit)

    return look_over


def test_a_kit_that_stops_at_37x_is_told_so(
    say: Callable[..., tuple[str, ...]], eyepiece: MakeEyepiece
) -> None:
    """32 mm at 1200 mm: 37x, where 200 mm bear 220x; what is proposed magnifies more."""
    found = say(eyepiece(32.0, 68.0, TWO))
    (sentence,) = [s for s in found if s.startswith("Your highest power of use, 38x")]
    assert "stops short of the 220x" in sentence
    percent = float(sentence.split("would add ")[1].split(" percent")[0])
    assert percent > 2.0


def test_near_doubles_and_idle_amplifiers_are_told(
    say: Callable[..., tuple[str, ...]], eyepiece: MakeEyepiece
) -> None:
    """24 and 25 mm of unlike fields; 20 mm with 2x is the 10 mm over again."""
    found = " ".join(say(eyepiece(24.0, 82.0, TWO), eyepiece(25.0, 50.0, SMALL)))
    assert "25/50 (48x) and 24/82 (50x) are hardly a step apart" in found
    barlow = Amplifier("Twice", AmplifierKind.BARLOW, 2.0, SMALL)
    found = " ".join(
        say(eyepiece(20.0, 60.0, SMALL), eyepiece(10.0, 60.0, SMALL), amplifiers=(barlow,))
    )
    assert "Twice makes no power of its own, only 120x beside 120x (10/60)" in found
    assert "without it the kit would lose" in found


def test_a_field_and_a_beam_that_are_missing(
    say: Callable[..., tuple[str, ...]], eyepiece: MakeEyepiece
) -> None:
    """10 and 7 mm at f/6: 0.5 deg at most, and 1.7 mm of beam where O III wants 3 (by hand)."""
    filters = (Filter("O III", FilterKind.OIII, TWO),)
    found = " ".join(say(eyepiece(10.0, 60.0, SMALL), eyepiece(7.0, 60.0, SMALL), filters=filters))
    assert "Your widest field is 0.50 deg, where the focuser would let 2.20 through" in found
    assert "O III wants an exit pupil of 3 to 6 mm; the widest that it gets is 1.7" in found


@pytest.mark.parametrize("number", [1, 3])
def test_what_is_told_to_add_most_is_what_trying_all_of_them_finds(
    year: Year, circumstances: Circumstances, kit: Kit, number: int
) -> None:
    """Over the whole table of usual pairs, one after the other, to the digit."""
    owned = replace(kit, eyepieces=kit.eyepieces[:number])
    gains = gains_of(year, circumstances, owned)
    best = gains.best()
    assert best is not None
    shares = [
        try_candidate(year, circumstances, owned, train.eyepiece).gain_share
        for train in gains.trains[::9]
    ]
    assert_allclose(gains.shares[::9], shares, rtol=1e-9, atol=1e-12)
    assert best.share == np.max(gains.shares)
    assert (most_words(gains) == "") == (best.share > 0.02)


def test_a_full_kit_lacks_nothing(
    year: Year, circumstances: Circumstances, kit: Kit, settings: Settings
) -> None:
    """All pairs of the table: none adds anything, and nothing is said to be missing."""
    offers = tuple(replace(e, name=f"My {e.name}") for e in market(circumstances.telescope))
    full = Kit((circumstances.telescope,), offers, (), kit.filters)
    gains = gains_of(year, circumstances, full)
    assert gains.best() is None
    report = audit_kit(replace(settings, kit=full), circumstances.telescope)
    found = " ".join(year_faults(report, gains, circumstances, full))
    assert "would add" not in found


def test_the_year_holds_what_plans_would(
    catalogue: Catalogue, circumstances: Circumstances, year: Year, settings: Settings
) -> None:
    """Some hundreds, pairs and planets among them, and the showpieces of the north."""
    rows = targets_of_year(catalogue, settings.site(), circumstances)
    assert 300 <= len(rows) <= 450
    kinds = {catalogue.target(int(row)).kind for row in rows}
    assert {Kind.DOUBLE_STAR, Kind.PLANET, Kind.MOON, Kind.GALAXY, Kind.OPEN_CLUSTER} <= kinds
    ids = {target.id for target in year.targets}
    assert {"NGC224", "NGC1976", "NGC6205", "Saturn", "Jupiter"} <= ids
    assert len(ids) >= 250


def test_an_h_beta_filter_wins_its_nebulae(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """The California Nebula is its classic target (common practice); no cluster gains."""
    bare = replace(kit, filters=())
    year = make_year("NGC1499", "M13", "M31")
    trial = try_candidate(year, circumstances, bare, Filter("H beta", FilterKind.HBETA, TWO))
    assert {gain.target.id for gain in trial.gains} == {"NGC1499"}


def test_two_candidates_against_each_other(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit, eyepiece: MakeEyepiece
) -> None:
    """A wide and a short one beside an 18 mm: each wins what it is for; a twin wins nothing."""
    year = make_year("M31", "M45", "Saturn", "Jupiter")
    owned = replace(kit, eyepieces=(kit.eyepieces[1],), amplifiers=())
    wide, short = eyepiece(30.0, 82.0, TWO), eyepiece(8.0, 60.0, SMALL)
    found = duel(year, circumstances, owned, wide, short)
    assert found is not None
    assert "NGC224" in {target.id for target in found.targets[0]}
    assert {target.id for target in found.targets[1]} == {"Saturn", "Jupiter"}
    alone = [try_candidate(year, circumstances, owned, part).gain_share for part in (wide, short)]
    assert_allclose(found.gain_share, alone, rtol=1e-9)
    assert max(alone) <= found.both_share <= sum(alone) + 1e-9
    twin = duel(year, circumstances, owned, wide, replace(wide, name="Twin"))
    assert twin is not None
    assert twin.looks_won == (0, 0)


def test_a_corrector_that_stays_in_is_judged(
    make_year: MakeYear, circumstances: Circumstances, kit: Kit
) -> None:
    """At f/4.5 1.1x makes every power a tenth higher; what it is for is said to be uncounted."""
    telescope = replace(circumstances.telescope, focal_length_mm=900.0)
    fast = replace(circumstances, telescope=telescope)
    year = make_year("M57", "Saturn", "M31", who=fast)
    part = Amplifier("Corrector", AmplifierKind.CORRECTOR, 1.1, TWO)
    trial = try_candidate(year, fast, kit, part)
    assert not trial.misfits
    assert trial.gain_share >= 0.0
    assert any("no score counts" in remark for remark in trial.remarks)


def owner(circumstances: Circumstances, kit: Kit, *, likes_wide: bool) -> Circumstances:
    """Return an observer whose journal prefers the wide or the narrow one of two eyepieces."""
    leanings = tuple(
        Leaning(
            target_class=one.name,
            eyepiece=name,
            amplifier="",
            favoured=20 if wide is likes_wide else 0,
            times=20,
        )
        for one in circumstances.preferences.classes
        for name, wide in ((kit.eyepieces[0].name, True), (kit.eyepieces[4].name, False))
    )
    return replace(circumstances, leanings=leanings)


def test_a_journal_that_prefers_wide_fields_gets_wider_ones_within_bounds(
    year: Year, circumstances: Circumstances, kit: Kit
) -> None:
    """30 mm of 70 deg against 5 mm of 60: sets lean one way or the other, by a tenth at most."""
    wide, narrow = (owner(circumstances, kit, likes_wide=each) for each in (True, False))
    trains = make_trains(circumstances.telescope, kit)
    plain = rate_year(year, circumstances, trains).score
    for who in (wide, narrow):
        score = rate_year(year, who, trains).score
        bounds = (plain * (1.0 - A_TENTH) - 1e-9, np.minimum(plain * (1.0 + A_TENTH), 1.0) + 1e-9)
        assert np.all((score >= bounds[0]) & (score <= bounds[1]))
    fields = {
        name: np.mean(
            [
                choice.eyepiece.apparent_fields_deg[0]
                for choice in start_set(year, who, kit, count=3).choices
            ]
        )
        for name, who in (("wide", wide), ("plain", circumstances), ("narrow", narrow))
    }
    assert fields["narrow"] <= fields["plain"] <= fields["wide"]
    assert fields["narrow"] < fields["wide"]
    copy = replace(kit.eyepieces[0], name="Copy")
    assert try_candidate(year, wide, kit, copy).gain_share == pytest.approx(0.0, abs=1e-12)
