"""What looks are worth: bounds, order and monotony."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.formulas.photometry import luminance_cd_m2
from planner.planning.candidates import _liked
from planner.planning.roster import _fits_a_field
from planner.planning.worth import (
    air_share,
    look_worth,
    memory_words,
    remembered_share,
    showpiece_worth,
    wanted_before,
    wanted_under,
)
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind

# What pairs and single stars are worth by their rating, 1 to 5 (our choice).
PAIRS = (0.08, 0.12, 0.2, 0.28, 0.36)
SINGLE_STARS = (0.08, 0.12, 0.15, 0.2, 0.3)
MARGINS = st.floats(-3.0, 3.0)
ALTITUDES = st.floats(-90.0, 90.0)
SHARES = st.floats(0.0, 1.0)


def worth(margin_dex: float, altitude_deg: float, share: float = 1.0, wanted: float = 1.0) -> float:
    """Return the worth of one look."""
    return float(
        look_worth(
            np.array(wanted),
            margin_dex=np.array(margin_dex),
            altitude_deg=np.array(altitude_deg),
            train_share=np.array(share),
        )
    )


@given(margin=MARGINS, altitude=ALTITUDES, share=SHARES, wanted=SHARES)
def test_worth_lies_between_nothing_and_what_is_wanted(
    *, margin: float, altitude: float, share: float, wanted: float
) -> None:
    """Nothing makes a look worth more than its target, nor less than nothing."""
    assert 0.0 <= worth(margin, altitude, share, wanted) <= wanted


@given(low=MARGINS, more=st.floats(0.0, 2.0), altitude=ALTITUDES)
def test_more_margin_is_never_worse(*, low: float, more: float, altitude: float) -> None:
    """Farther above the eye's threshold, worth as much or more."""
    assert worth(low + more, altitude) >= worth(low, altitude)


@given(low=ALTITUDES, more=st.floats(0.0, 90.0), margin=MARGINS)
def test_higher_is_never_worse(*, low: float, more: float, margin: float) -> None:
    """Less air, worth as much or more."""
    assert worth(margin, min(low + more, 90.0)) >= worth(margin, low)


@given(low=SHARES, high=SHARES)
def test_a_better_train_is_never_worse(*, low: float, high: float) -> None:
    """The train counts, though little."""
    assert worth(1.0, 60.0, max(low, high)) >= worth(1.0, 60.0, min(low, high))


def test_what_no_eyepiece_holds_keeps_most_of_its_worth() -> None:
    """A train that scores 0.03 on a galaxy twice as wide as its field is still worth a sweep."""
    assert 0.8 < worth(1.0, 60.0, 0.03) < 0.9
    assert worth(1.0, 60.0, 0.0) == 0.0


def test_an_unknown_brightness_is_between_seen_and_not() -> None:
    """NaN is not NaN in the worth."""
    assert worth(-1.0, 60.0) < worth(float("nan"), 60.0) < worth(1.0, 60.0)


def test_air_spoils_the_view_only_low_down() -> None:
    """All is left from 50 degrees up, nothing at the horizon, and it grows between."""
    shares = air_share(np.array([-5.0, 0.0, 10.0, 30.0, 50.0, 90.0]))
    assert shares[[0, 1]].tolist() == [0.0, 0.0]
    assert shares[[4, 5]].tolist() == [1.0, 1.0]
    assert (np.diff(shares[1:5]) > 0.0).all()


@pytest.mark.parametrize("altitude_deg", [20.0, 45.0, 90.0])
def test_arrays_give_what_numbers_give(altitude_deg: float) -> None:
    """Broadcasting changes nothing."""
    margins = np.linspace(-1.0, 1.0, 5)
    together = look_worth(
        np.ones((1, 1)),
        margin_dex=margins[:, None],
        altitude_deg=np.array([[altitude_deg, 30.0]]),
        train_share=np.ones((1, 1)),
    )
    assert together.shape == (5, 2)
    assert together[:, 0].tolist() == [worth(margin, altitude_deg) for margin in margins]


def test_showpieces_come_first_and_curiosities_last(catalogue: Catalogue) -> None:
    """Nothing fixed is wanted more than a showpiece; all lie in 0 .. 1."""
    every = np.arange(len(catalogue))
    wanted = wanted_before(catalogue, every)
    assert ((wanted > 0.0) & (wanted <= 1.0)).all()
    showpieces = np.flatnonzero(showpiece_worth(catalogue))
    kinds = catalogue.of_kind(Kind.MOON, Kind.PLANET)
    rest = np.setdiff1d(every, [*showpieces, *np.flatnonzero(kinds)])
    assert wanted[showpieces].min() > 0.75 >= wanted[rest].max()  # our choice
    named = [catalogue.find_index(name) for name in ("M31", "M42", "M13", "47 Tuc")]
    assert set(named) <= set(showpieces.tolist())
    messier = wanted[catalogue.messier()]
    curious = wanted[[catalogue.find_index(name) for name in ("M40", "M73")]]
    assert curious.max() <= messier.min()


# What observers show to visitors (common practice), north of the celestial equator or near it, and
# in the south.
SHOWN_IN_THE_NORTH = (
    "M31 M45 M42 M13 M57 M27 M11 M22 M8 M17 M44 M51 M81 M82 M104 M3 M5 M15 M35 M37 C14"
)
SHOWN_IN_THE_SOUTH = (
    "NGC104 NGC5139 NGC3372 NGC2070 NGC4755 NGC253 NGC5128 NGC3532 IC2602 M83 NGC6752 NGC55 SMC "
    "LMC NGC6397 NGC3766 NGC2516 NGC6231 M6 M7"
)


@pytest.mark.parametrize("name", (SHOWN_IN_THE_NORTH + " " + SHOWN_IN_THE_SOUTH).split())
def test_what_is_shown_to_visitors_is_a_showpiece(catalogue: Catalogue, name: str) -> None:
    """By the rules, in both halves of the sky."""
    assert showpiece_worth(catalogue)[catalogue.find_index(name)]


@pytest.mark.parametrize(
    "name", ["M40", "M73", "M76", "M91", "M102", "M108", "NGC6934", "NGC40", "Hyades", "Cr69"]
)
def test_what_is_not_is_none(catalogue: Catalogue, name: str) -> None:
    """Small, faint, loose or a curiosity (common practice)."""
    assert not showpiece_worth(catalogue)[catalogue.find_index(name)]


def test_showpieces_are_few_and_the_south_has_its_share(catalogue: Catalogue) -> None:
    """A third or more on either side of 25 degrees south, where observers divide the sky."""
    showpieces = showpiece_worth(catalogue) > 0.0
    south = np.mean(catalogue.dec_deg[showpieces] < -25.0)
    assert 40 <= np.count_nonzero(showpieces) <= 60
    assert 1 / 3 <= south <= 2 / 3


def test_the_clouds_are_swept_after_what_fits_a_field(catalogue: Catalogue) -> None:
    """The Magellanic Clouds are showpieces, but 47 Tuc and the Carina Nebula come before them."""
    names = ("LMC", "SMC", "NGC104", "NGC5139", "NGC3372")
    large, small, *great = showpiece_worth(catalogue)[[catalogue.find_index(n) for n in names]]
    assert 0.0 < max(large, small) < min(great)


def test_what_is_wanted_follows_the_lists(catalogue: Catalogue) -> None:
    """An unnamed galaxy of the main catalogue, a Caldwell one and a Messier one, in that order."""
    names = ("NGC 7332", "NGC 7331", "M101", "M31")
    wanted = wanted_before(catalogue, np.array([catalogue.find_index(name) for name in names]))
    assert wanted[0] < wanted[1]
    assert wanted[0] < wanted[2] < wanted[3]


def test_rows_are_taken_in_the_order_asked(catalogue: Catalogue) -> None:
    """The worth of some is that of all, taken by row."""
    rows = np.array([500, 3, 11000])
    every = wanted_before(catalogue, np.arange(len(catalogue)))
    assert wanted_before(catalogue, rows).tolist() == every[rows].tolist()


def test_pairs_and_stars_go_by_their_rating(catalogue: Catalogue) -> None:
    """What is shown to visitors before what is plain, and a second pair of a system last."""
    for kind, names, worths in (
        (Kind.DOUBLE_STAR, ("Albireo", "61 Cyg", "65 Psc", "iota Cas AB", "44 Boo"), PAIRS),
        (Kind.STAR, ("mu Cep", "T Lyr", "V Hya", "eta Aql"), SINGLE_STARS),
    ):
        rows = np.array([catalogue.find_index(name) for name in names])
        wanted = wanted_before(catalogue, rows)
        assert (np.diff(wanted) < 0.0).all()
        rated = np.flatnonzero(catalogue.of_kind(kind) & ~np.isnan(catalogue.visual_rating))
        # A name of its own and a bright companion add to a fine pair, so much at most.
        most = np.array(worths) + np.where(np.array(worths) >= 0.28, 0.16, 0.0)
        ratings = catalogue.visual_rating[rated].astype(int) - 1
        all_of_kind = wanted_before(catalogue, rated)
        assert (all_of_kind >= np.take(worths, ratings) - 1e-12).all()
        assert (all_of_kind <= np.take(most, ratings) + 1e-12).all()


def test_of_fine_pairs_the_bright_ones_with_a_name_come_first(catalogue: Catalogue) -> None:
    """What visitors are shown before what is no less fine and known by its letter alone."""
    names = ("Mizar", "Albireo", "95 Her", "theta Ind")
    wanted = wanted_before(catalogue, np.array([catalogue.find_index(name) for name in names]))
    assert (np.diff(wanted) < 0.0).all()


@pytest.mark.parametrize(
    "name", ["Albireo", "Mizar", "Almach", "Castor", "Cor Caroli", "Algieba", "Double Double"]
)
def test_pairs_that_visitors_are_shown_rate_highest(catalogue: Catalogue, name: str) -> None:
    """Common practice; and yet no pair is missed like a showpiece when it is left out."""
    wanted = wanted_before(catalogue, np.array([catalogue.find_index(name)]))[0]
    assert 0.36 < wanted < 0.6  # what is missed begins at 0.6


def test_a_bright_sky_makes_pairs_worth_more_and_glows_less() -> None:
    """In full moonlight by the whole factor; under a dark sky less, a glow loses by light alone."""
    kinds = np.array(["double star", "star", "open cluster", "galaxy", "galaxy"])
    skies = luminance_cd_m2(np.array([22.0, 20.0, 19.0, 18.0, 15.0]))
    wanted = wanted_under(
        np.array([0.4, 0.2, 0.5, 0.5, 0.5]),
        kinds,
        np.broadcast_to(skies, (5, 5)),
        rating=np.array([np.nan, np.nan, np.nan, 3.0, 5.0]),
    )
    gains = [0.8, 1.0, 1.2, 1.4, 1.4]  # 1.4 at 18 mag/arcsec2, none at 20 (our choice)
    assert_allclose(wanted[0], 0.4 * np.array(gains), rtol=1e-6)
    assert_allclose(wanted[1], 0.2 * np.array(gains), rtol=1e-6)
    assert (wanted[2:, 0] == 0.5).all()
    assert (np.diff(wanted[2:], axis=1) < 0.0).all()
    # A cluster loses least, the brightest of the galaxies less than others (common practice).
    assert wanted[2, 3] > wanted[4, 3] > wanted[3, 3]
    assert wanted[3, 3] < 0.1


EVENING = datetime(2026, 12, 8, 22, tzinfo=UTC)


def seen(**days_ago: float) -> dict[str, datetime]:
    """When targets were seen last."""
    return {name: EVENING - timedelta(days=days) for name, days in days_ago.items()}


def test_what_was_seen_lately_counts_less_and_what_is_new_a_little_more() -> None:
    """By our choice 0.7 after two weeks and all of it after three months; 1.08 for what is new."""
    ids, fixed = ("A", "B", "C", "D"), np.zeros(4, dtype=bool)
    few = seen(A=0.0, B=14.0, C=90.0)
    assert_allclose(remembered_share(ids, fixed, few, EVENING), [0.6, 0.7, 1.0, 1.0])
    many = few | seen(**{f"other{number}": 500.0 for number in range(7)})
    assert_allclose(remembered_share(ids, fixed, many, EVENING), [0.6, 0.7, 1.0, 1.08])
    assert_allclose(remembered_share(ids, ~fixed, many, EVENING), 1.0)
    for nothing in (None, {}):
        assert_allclose(remembered_share(ids, fixed, nothing, EVENING), 1.0)


@given(days=st.lists(st.floats(0.0, 400.0), min_size=2, max_size=6))
def test_the_longer_ago_the_more_it_is_worth(days: list[float]) -> None:
    """Never less than what was seen later, and never more than what is new."""
    days = sorted(days)
    ids = tuple(f"T{number}" for number in range(len(days) + 1))
    last = seen(**dict(zip(ids, days, strict=False)), **{f"o{n}": 9.0 for n in range(10)})
    share = remembered_share(ids, np.zeros(len(ids), dtype=bool), last, EVENING)
    assert (np.diff(share) >= 0.0).all()


@pytest.mark.parametrize(
    ("last", "words"),
    [
        (seen(M13=0.1), "you saw it today"),
        (seen(M13=1.1), "you saw it yesterday"),
        (seen(M13=12.0), "you saw it 12 days ago"),
        (seen(M13=91.0), ""),
        (seen(M31=3.0), ""),
        (seen(**{f"T{number}": 9.0 for number in range(10)}), "new to you"),
        (seen(M13=-300.0, **{f"T{number}": 9.0 for number in range(10)}), "new to you"),
        (None, ""),
    ],
)
def test_it_is_said(catalogue: Catalogue, last: Mapping[str, datetime] | None, words: str) -> None:
    """What the journal adds or takes, in words; nothing where it does neither."""
    target = replace(catalogue.find("M13"), id="M13")
    assert memory_words(target, last, EVENING) == words
    assert memory_words(catalogue.find("Saturn"), last, EVENING) == ""


def test_what_is_hard_counts_half_and_taste_counts_too() -> None:
    """Nothing hard goes before what is easy and half as renowned (common practice)."""
    hard_fair_easy = np.array([[0.3, 0.5, 0.9]])
    assert_allclose(_liked(hard_fair_easy, 0.5), [[0.5, 1.0, 1.0]])
    challenges = _liked(hard_fair_easy, 0.0)[0]
    assert challenges[1] > challenges[2]


def test_clusters_larger_than_every_field_are_for_binoculars(catalogue: Catalogue) -> None:
    """The Hyades, 330', in a field of 110' keep a third; the Pleiades and a galaxy all."""

    class Table:
        true_field_arcmin = np.array([110.0, 30.0])

    targets = [catalogue.find(name) for name in ("C41", "M45", "M31")]
    assert_allclose(_fits_a_field(targets, Table()), [1.0 / 3.0, 1.0, 1.0])  # type: ignore[arg-type]
