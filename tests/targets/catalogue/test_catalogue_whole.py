"""What holds for the whole catalogue, and for the objects that are known to go wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from targets.catalogue.catalogue import COLUMNS, Catalogue, load_catalogue
from targets.catalogue.cleaning import clean_values
from targets.catalogue.openngc import read_objects
from targets.catalogue.values import KINDS, ORIGINS, RATED_KINDS
from targets.model import Kind, Origin
from targets.naming.designations import name_key
from targets.naming.lookup import UnknownTarget
from targets.tables import numbers, read_tables

WIDEST_DEG = 11.0  # the Large Magellanic Cloud, the largest single object


def test_lists_are_complete_and_in_order(catalogue: Catalogue) -> None:
    """M1 .. M110 and C1 .. C109 are there, each once and in its place."""
    for prefix, indices, length in (
        ("M", catalogue.messier(), 110),
        ("C", catalogue.caldwell(), 109),
    ):
        assert len(set(indices.tolist())) == length
        found = [catalogue.find_index(f"{prefix}{n}") for n in range(1, length + 1)]
        assert indices.tolist() == found


def test_listed_objects_can_be_planned(catalogue: Catalogue) -> None:
    """Each Messier and Caldwell object has a size, and a magnitude or a rating."""
    listed = np.concatenate([catalogue.messier(), catalogue.caldwell()])
    assert not np.isnan(catalogue.major_arcmin[listed]).any()
    dark = np.isnan(catalogue.magnitude[listed]) & np.isnan(catalogue.visual_rating[listed])
    assert not dark.any()


def test_sizes_are_possible(catalogue: Catalogue) -> None:
    """No size is zero or absurd, no minor axis is the longer one, no angle is out of range."""
    major, minor = catalogue.major_arcmin, catalogue.minor_arcmin
    assert np.nanmin(major) > 0
    assert np.nanmin(minor) > 0
    assert np.nanmax(major) < WIDEST_DEG * 60
    assert not (minor > major).any()
    assert not (np.isnan(major) & ~np.isnan(minor)).any()
    angle = catalogue.position_angle_deg
    assert np.nanmin(angle) >= 0
    pairs = catalogue.of_kind(Kind.DOUBLE_STAR)
    assert np.nanmax(angle[~pairs]) < 180
    assert np.nanmax(angle[pairs]) < 360


def test_unknown_is_said_to_be_unknown(catalogue: Catalogue) -> None:
    """A value is absent exactly where its origin says so."""
    unknown = ORIGINS.index(Origin.UNKNOWN)
    fixed = ~catalogue.moves
    for values, codes in (
        (catalogue.major_arcmin, catalogue.size_origin_code),
        (catalogue.magnitude, catalogue.magnitude_origin_code),
    ):
        assert (np.isnan(values) == (codes == unknown))[fixed].all()


def test_nebulae_have_no_magnitude(catalogue: Catalogue) -> None:
    """The magnitudes that catalogues list for nebulae belong to their stars; the Crab's is its own.

    HEASARC's Messier table gives it 8.4.
    """
    nebulae = np.flatnonzero(catalogue.of_kind(*RATED_KINDS))
    known = nebulae[~np.isnan(catalogue.magnitude[nebulae])]
    assert [(catalogue.ids[row], catalogue.magnitude[row]) for row in known] == [("NGC1952", 8.4)]


def test_corrected_values_name_their_source(catalogue: Catalogue) -> None:
    """Each corrected size or magnitude says where it is from."""
    corrected = ORIGINS.index(Origin.CORRECTED)
    for index in np.flatnonzero(catalogue.size_origin_code == corrected):
        assert catalogue.target(int(index)).size_source
    for index in np.flatnonzero(catalogue.magnitude_origin_code == corrected):
        assert catalogue.target(int(index)).magnitude_source


def test_each_correction_changes_something() -> None:
    """No value of the corrections repeats what the database and the rules give without it.

    Excepted are values that make sure what would else be a guess: a size that the rules scale,
    and a magnitude of a globular cluster, which the database often has wrong.
    """
    raw, lines = read_objects(), read_tables().corrections
    rows = np.array([raw.name.index(line["name"]) for line in lines])
    without = clean_values(raw, ())
    names = np.array(raw.name)[rows]
    guessed = without.size_origin_code[rows] == ORIGINS.index(Origin.SCALED)
    major = numbers(lines, "major_arcmin") == without.major_arcmin[rows]
    minor = ~np.isnan(numbers(lines, "minor_arcmin"))  # given to change the shape
    assert names[major & ~minor & ~guessed].tolist() == []
    rough = without.type[rows] == "GCl"
    magnitude = numbers(lines, "v_mag") == without.magnitude[rows]
    assert names[magnitude & ~rough].tolist() == []
    types = np.array([line["type"] for line in lines])
    assert names[types == np.array(raw.type)[rows]].tolist() == []


def test_every_name_leads_home(catalogue: Catalogue) -> None:
    """Identifier, shown name and each alias of each target find this target."""
    astray = []
    for index in range(len(catalogue)):
        target = catalogue.target(index)
        assert catalogue.index_of(target.id) == index
        for text in (target.id, target.name, *target.aliases):
            if catalogue.find_index(text) != index:
                astray.append((text, target.id))  # noqa: PERF401 - the plain loop reads better
    assert astray == []


def test_only_known_names_are_shared(catalogue: Catalogue) -> None:
    """Where two targets share a name the first has it; these are all."""
    owner = catalogue.texts.index.names
    shared = {name for name, index in catalogue.texts.names if owner[name_key(name)] != index}
    assert shared == {
        "Antennae Galaxies",
        "Butterfly Galaxies",
        "Eyes",
        "Siamese Twins",
        "Spindle Galaxy",
    }


@pytest.mark.parametrize(
    ("text", "name", "kind"),
    [
        ("NGC 2024", "NGC 2024 Flame Nebula", Kind.EMISSION_NEBULA),
        ("Flame Nebula", "NGC 2024 Flame Nebula", Kind.EMISSION_NEBULA),
        ("IC 434", "IC 434 Glow behind the Horsehead", Kind.EMISSION_NEBULA),
        ("Barnard 33", "B33 Horsehead Nebula", Kind.DARK_NEBULA),
        ("Lobster Nebula", "NGC 6357 Lobster Nebula", Kind.EMISSION_NEBULA),
        ("Cocoon Galaxy", "NGC 4490 Cocoon Galaxy", Kind.GALAXY),
        ("M101", "M101 Pinwheel Galaxy", Kind.GALAXY),
        ("M102", "M102 Spindle Galaxy", Kind.GALAXY),
        ("NGC 869", "C14 Double Cluster", Kind.OPEN_CLUSTER),
        ("chi Persei", "C14 Double Cluster", Kind.OPEN_CLUSTER),
        ("NGC 6995", "NGC 6992 Eastern Veil", Kind.SUPERNOVA_REMNANT),
        ("IC 1340", "NGC 6992 Eastern Veil", Kind.SUPERNOVA_REMNANT),
        ("NGC 6960", "NGC 6960 Western Veil", Kind.SUPERNOVA_REMNANT),
        ("NGC 2238", "NGC 2237 Rosette Nebula", Kind.EMISSION_NEBULA),
        ("NGC 2246", "NGC 2237 Rosette Nebula", Kind.EMISSION_NEBULA),
        ("NGC 2244", "NGC 2244 Rosette Cluster", Kind.OPEN_CLUSTER),
        ("NGC 2239", "NGC 2244 Rosette Cluster", Kind.OPEN_CLUSTER),
        ("IC 4703", "M16 Eagle Nebula", Kind.EMISSION_NEBULA),
        ("IC 2118", "IC 2118 Witch Head Nebula", Kind.REFLECTION_NEBULA),
        ("NGC 1909", "IC 2118 Witch Head Nebula", Kind.REFLECTION_NEBULA),
        ("C37", "NGC 6885", Kind.OPEN_CLUSTER),
        ("NGC 6334", "NGC 6334 Cat's Paw Nebula", Kind.EMISSION_NEBULA),
        ("NGC 7789", "NGC 7789 Caroline's Rose", Kind.OPEN_CLUSTER),
        ("NGC 4676", "NGC 4676 Mice Galaxies", Kind.GALAXY_GROUP),
        ("NGC 651", "M76 Little Dumbbell Nebula", Kind.PLANETARY_NEBULA),
        ("LMC", "Large Magellanic Cloud", Kind.GALAXY),
        ("Collinder 399", "Cr 399 Coathanger", Kind.ASTERISM),
        ("3C 273", "3C 273", Kind.QUASAR),
        ("Saturn", "Saturn", Kind.PLANET),
        ("Saturn Nebula", "NGC 7009 Saturn Nebula", Kind.PLANETARY_NEBULA),
    ],
)
def test_objects_that_go_wrong_elsewhere(
    catalogue: Catalogue, text: str, name: str, kind: Kind
) -> None:
    """Confused, doubled and merged objects have the right name and kind."""
    target = catalogue.find(text)
    assert (target.name, target.kind) == (name, kind)


def test_serpens_is_one_constellation(catalogue: Catalogue) -> None:
    """Both halves are Ser: M5 in the head, M16 in the tail."""
    serpens = catalogue.in_constellation("Serpens")
    assert serpens[catalogue.find_index("M5")]
    assert serpens[catalogue.find_index("M16")]


def test_scaled_sizes_are_marked(catalogue: Catalogue) -> None:
    """A cluster whose size is a typical factor times its core says that it is approximate."""
    target = catalogue.find("NGC 2204")
    assert target.size_is_approximate
    assert not catalogue.find("M11").size_is_approximate


def test_sun_is_no_target(catalogue: Catalogue) -> None:
    """Nothing is called the Sun, and asking for it brings the caution."""
    assert "Sun" not in catalogue.ids
    for text in ("Sun", "the sun", "SOL"):
        with pytest.raises(UnknownTarget, match="eye is destroyed"):
            catalogue.find(text)


def test_moving_bodies_are_the_moon_seven_planets_and_features(catalogue: Catalogue) -> None:
    """They have no place, size or magnitude of their own, and say that these are computed."""
    targets = [catalogue.target(int(index)) for index in np.flatnonzero(catalogue.moves)]
    assert [target.id for target in targets if target.lunar is None] == [
        "Moon", "Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune",
    ]  # fmt: skip
    assert {t.kind for t in targets if t.lunar} == {Kind.LUNAR_FEATURE}
    for target in targets:
        assert target.moves
        assert target.constellation is None
        assert (target.major_arcmin, target.magnitude) == (None, None)
        assert target.size_origin is Origin.COMPUTED


def test_group_shines_with_all_its_members(catalogue: Catalogue) -> None:
    """The two members of NGC 1487, an irregular and one of unknown type, make its light."""
    raw = read_objects()
    members = [row for row, name in enumerate(raw.name) if name.startswith("NGC1487 NED")]
    v_mag = raw.b_mag[members] - [0.42, 0.75]  # Roberts and Haynes 1994, and between
    by_hand = -2.5 * np.log10(sum(10 ** (-0.4 * v_mag)))
    target = catalogue.find("NGC 1487")
    assert target.magnitude == pytest.approx(by_hand, abs=0.01)
    assert target.magnitude_origin is Origin.DERIVED


def test_columns_are_as_documented_and_locked(catalogue: Catalogue) -> None:
    """One entry per target in each column, and nobody can write into it."""
    for column in COLUMNS:
        values = getattr(catalogue, column)
        assert values.shape == (len(catalogue),)
        with pytest.raises(ValueError, match="read-only"):
            values[0] = values[1]
    assert load_catalogue() is catalogue


def test_target_and_columns_say_the_same(catalogue: Catalogue) -> None:
    """A target is its row, with None for NaN."""
    index = catalogue.find_index("M31")
    target = catalogue.target(index)
    assert target.major_arcmin == catalogue.major_arcmin[index]
    assert target.kind is KINDS[catalogue.kind_code[index]]
    assert replace(target) == catalogue.find("NGC 224")
    for wrong in (-1, len(catalogue)):
        with pytest.raises(IndexError, match="is not in 0"):
            catalogue.target(wrong)
