"""The catalogue with a user's targets, and the programmes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from targets.catalogue.catalogue import Catalogue
from targets.catalogue.joining import with_notes, with_targets
from targets.elements import Elements
from targets.model import Kind, Target
from targets.naming.lookup import UnknownTarget
from targets.programmes import FIRST_LIGHT, PROGRAMMES

SPOT = Target(
    "Spot01", "Spot 01", Kind.DARK_NEBULA, constellation="Ori", ra_deg=83.8, dec_deg=-5.4,
    major_arcmin=30.0, own_note="by a friend",
)  # fmt: skip
COMET = Target(
    "C/1995O1", "C/1995 O1 (Hale-Bopp)", Kind.COMET, aliases=("C/1995 O1", "Hale-Bopp"),
    magnitude=8.5, elements=Elements(2450538.9, 0.914, 0.995, 130.6, 282.5, 89.4),
)  # fmt: skip


def test_nothing_to_add_is_the_same_catalogue(catalogue: Catalogue) -> None:
    """No copy is made for nothing."""
    assert with_targets(catalogue, []) is catalogue
    assert with_targets(catalogue, [catalogue.find("M31")]) is catalogue
    assert with_notes(catalogue, {}) is catalogue
    assert with_notes(catalogue, {3: ""}) is catalogue


def test_what_was_there_keeps_its_place(catalogue: Catalogue) -> None:
    """The new ones come after, whole, and the catalogue itself has none of them."""
    both = with_targets(catalogue, [SPOT, COMET])
    assert both.ids[: len(catalogue)] == catalogue.ids
    assert len(both) == len(catalogue) + 2
    assert both.target(len(catalogue)) == SPOT
    comet = both.target(len(catalogue) + 1)
    assert (comet.id, comet.name, comet.elements) == (COMET.id, COMET.name, COMET.elements)
    assert both.find("m 31") == catalogue.find("m 31")
    assert not both.ra_deg.flags.writeable
    with pytest.raises(UnknownTarget):
        catalogue.find("Spot 01")


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("spot 01", "Spot 01"), ("SPOT01", "Spot 01"),
        ("hale-bopp", COMET.name), ("C/1995 O1", COMET.name), ("c/1995o1", COMET.name),
        ("C/1995 O1 (Hale-Bopp)", COMET.name), ("saturn", "Saturn"), ("m57", "M57 Ring Nebula"),
    ],
)  # fmt: skip
def test_all_are_found_by_their_names(catalogue: Catalogue, text: str, name: str) -> None:
    """The user's beside the catalogue's."""
    assert with_targets(catalogue, [SPOT, COMET]).find(text).name == name


def test_comets_move_and_others_do_not(catalogue: Catalogue) -> None:
    """A body on an orbit has no place of its own in the columns."""
    both = with_targets(catalogue, [SPOT, replace(COMET, ra_deg=10.0, dec_deg=10.0)])
    assert list(both.moves[-2:]) == [False, True]
    assert both.target(len(both) - 1).moves


def test_notes_stand_beside_those_of_the_catalogue(catalogue: Catalogue) -> None:
    """Nothing is lost, nothing is mixed."""
    row = catalogue.find_index("M1")
    noted = with_notes(catalogue, {row: "crab"}).target(row)
    assert noted.own_note == "crab"
    assert noted.note == catalogue.target(row).note
    assert catalogue.target(row).own_note is None


@pytest.mark.parametrize("name", PROGRAMMES)
def test_programmes_hold_each_target_once(catalogue: Catalogue, name: str) -> None:
    """And a good many of them."""
    rows = PROGRAMMES[name].rows(catalogue)
    assert len(np.unique(rows)) == len(rows) >= 20


def test_counts_of_the_lists(catalogue: Catalogue) -> None:
    """110 of Messier and 109 of Caldwell, as the lists themselves number them; twenty are ours."""
    counts = {name: len(PROGRAMMES[name].rows(catalogue)) for name in PROGRAMMES}
    assert (counts["messier"], counts["caldwell"], counts["first-light"]) == (110, 109, 20)


def test_first_light_has_five_of_each_season_in_its_part_of_the_sky(catalogue: Catalogue) -> None:
    """At their seasons' evenings they stand high: right ascensions near the midnight meridian.

    The Sun's right ascension grows by 2 h a month, so that around midnight 6 h culminate at the
    December solstice, 12 h at the March equinox, and so on; within 6 h of it counts.
    """
    middle_h = {"winter": 6.0, "spring": 12.0, "summer": 18.0, "autumn": 0.0}
    for season, ids in FIRST_LIGHT.items():
        assert len(ids) == 5
        for identifier in ids:
            ra_h = catalogue.target(catalogue.index_of(identifier)).ra_deg / 15.0  # type: ignore[operator]
            away_h = abs((ra_h - middle_h[season] + 12.0) % 24.0 - 12.0)
            assert away_h < 4.5, identifier


def test_bright_planetaries_are_that(catalogue: Catalogue) -> None:
    """Of their kind, brightest first, with the best known among them."""
    rows = PROGRAMMES["bright-planetaries"].rows(catalogue)
    assert set(catalogue.of_kind(Kind.PLANETARY_NEBULA)[rows]) == {True}
    assert np.all(np.diff(catalogue.magnitude[rows]) >= 0.0)
    assert {"NGC6853", "NGC6720", "NGC7293"} <= {catalogue.ids[row] for row in rows}
