"""Coordinates in the spellings that people use, and towns by name."""

from __future__ import annotations

import pytest
from astropy.coordinates import Angle
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.config.setup.place import looks_like_coordinates, read_coordinates
from planner.config.setup.towns import find_towns, load_towns, nearest_town

ONE_ARCSECOND_DEG = 1.0 / 3600.0
SAME_PLACE = (51.2 + 0.5 / 60.0, -2.4)  # 51 deg 12' 30" north, 2 deg 24' west, by hand


@pytest.mark.parametrize(
    "text",
    [
        "51 12 30 N, 2 24 0 W", "51 12 30 N 2 24 0 W", "51 12 30, -2 24 0", "51 12 30 -2 24 0",
        "N51 12.5 W002 24.0", "51d12m30s N 2d24m W", "51\u00b012\u203230\u2033N 2\u00b024\u2032W",
        "51.2083333 N 2.4 W", "51.2083333, -2.4", "51.2083333,-2.4", "51,2083333 -2,4",
        "51,2083333; -2,4", "W 2.4 N 51.2083333", "2 24 w, 51 12 30 n", "51.2083333n,2.4w",
        "north 51 12 30 west 2 24", "51\u00ba 12' 30\" N / 2\u00ba 24' W", "51.2083333 \u22122.4",
        "51:12:30 N, 2:24 W",
    ],
)  # fmt: skip
def test_one_place_in_many_spellings(text: str) -> None:
    """All of them are the same point, to an arcsecond."""
    assert looks_like_coordinates(text)
    assert_allclose(read_coordinates(text), SAME_PLACE, atol=ONE_ARCSECOND_DEG)


@given(
    st.integers(0, 89), st.integers(0, 59), st.integers(0, 59), st.sampled_from("NS"),
    st.integers(0, 179), st.integers(0, 59), st.integers(0, 59), st.sampled_from("EW"),
)  # fmt: skip
def test_sexagesimal_coordinates_agree_with_a_library(
    north: int, minute: int, second: int, n_or_s: str, east: int, m: int, s: int, e_or_w: str
) -> None:
    """Whatever the numbers, astropy reads the same angles."""
    text = f"{north} {minute} {second} {n_or_s} {east} {m} {s} {e_or_w}"
    expected = (
        Angle(f"{north}d{minute}m{second}s{n_or_s}").deg,
        Angle(f"{east}d{m}m{s}s{e_or_w}").deg,
    )
    assert_allclose(read_coordinates(text), expected, atol=1e-9)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("91 2", "latitude is 91"),
        ("51.2 N 181 E", "longitude is 181"),
        ("51 70 2 20", "0 to below 60"),
        ("51.2 N 2.4", "not two coordinates"),
        ("51.2 N 2.4 S", "one must be north or south"),
        ("1 2 3 4 5", "not two coordinates"),
        ("51.2.3 N 2.4 W", "not a coordinate"),
        ("nowhere 1 2 x", "not a coordinate|not two"),
    ],
)
def test_what_is_no_place_says_so(text: str, sentence: str) -> None:
    """The sentence tells what is wrong, or how to write it."""
    with pytest.raises(ValueError, match=rf"(?i){sentence}"):
        read_coordinates(text)


@given(st.text())
def test_any_text_is_a_place_or_a_sentence(text: str) -> None:
    """Nothing else ever comes out."""
    said = ""
    try:
        latitude_deg, longitude_deg = read_coordinates(text)
    except ValueError as error:
        said = str(error)
    assert said.endswith(".") or (abs(latitude_deg) <= 90.0 and abs(longitude_deg) <= 180.0)


# From memory of encyclopedia articles of these towns; a town is some kilometres wide.
KNOWN = {
    "Troms\u00f8": (69.65, 18.96),
    "tromso": (69.65, 18.96),
    "S\u00e3o Paulo": (-23.55, -46.63),
    "Springfield, IL": (39.80, -89.65),
    "Sydney, Australia": (-33.87, 151.21),
    "Z\u00fcrich": (47.37, 8.54),
}
FIVE_ARCMINUTES_DEG = 5.0 / 60.0


@pytest.mark.parametrize(("name", "place"), KNOWN.items())
def test_towns_are_where_they_are(name: str, place: tuple[float, float]) -> None:
    """Found by name, whatever case and accents, and with country or region."""
    town = find_towns(name)[0]
    assert_allclose((town.latitude_deg, town.longitude_deg), place, atol=FIVE_ARCMINUTES_DEG)


def test_towns_of_one_name_can_be_told_apart() -> None:
    """Each says country, region and place; the largest comes first."""
    towns = find_towns("Springfield")
    assert len({town.words for town in towns}) == len(towns) > 3
    sizes = [town.inhabitants for town in towns]
    assert sizes == sorted(sizes, reverse=True)


def test_a_beginning_is_enough_and_nonsense_finds_nothing() -> None:
    """Half a name finds towns that begin so."""
    assert {town.name for town in find_towns("Edinb")} == {"Edinburgh", "Edinburg"}
    assert find_towns("xyzzy") == ()
    assert find_towns("") == find_towns(",") == ()


def test_every_town_is_its_own_nearest_across_the_date_line() -> None:
    """Distances are right at longitude 180 and near the poles too."""
    for town in (*load_towns()[::4000], *find_towns("Suva"), *find_towns("Longyearbyen")):
        east = town.longitude_deg + (360.0 if town.longitude_deg < -179.0 else 0.0)
        assert nearest_town(town.latitude_deg, east)[1] < 1.0
