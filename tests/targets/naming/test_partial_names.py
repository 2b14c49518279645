"""Targets are found while their name is typed."""

from __future__ import annotations

import pytest

from targets.catalogue.catalogue import load_catalogue
from targets.catalogue.joining import with_targets
from targets.model import Kind, Target
from targets.naming.partial_names import matching_rows


def _ids(text: str, most: int = 8) -> list[str]:
    catalogue = load_catalogue()
    return [catalogue.ids[row] for row in matching_rows(catalogue, text, most=most)]


@pytest.mark.parametrize(
    ("text", "first"),
    [("M31", "NGC224"), ("m 31", "NGC224"), ("ngc7000", "NGC7000"), ("saturn", "Saturn")],
)
def test_what_is_called_so_comes_first(text: str, first: str) -> None:
    """Case and blanks make no difference."""
    assert _ids(text)[0] == first


def test_what_begins_so_comes_before_what_has_it_inside() -> None:
    """IC 10 and IC 1011 and their like come before every number that has these letters later on."""
    found = _ids("IC10", 40)
    assert found[0] == "IC10"
    begins = [name.startswith("IC10") for name in found]
    assert begins == sorted(begins, reverse=True)
    assert sum(begins) > 10
    first = load_catalogue().texts.name(matching_rows(load_catalogue(), "polar")[0])
    assert first.startswith("Polaris")


def test_half_a_name_is_enough() -> None:
    """M57 is the Ring, NGC 6720."""
    assert "NGC6720" in _ids("ring neb")


def test_no_more_are_given_than_asked_for_and_none_twice() -> None:
    """There are hundreds of numbers with a 7 in them."""
    for most in (1, 8, 30):
        found = _ids("7", most)
        assert len(found) == len(set(found)) == most


@pytest.mark.parametrize("text", ["", "   ", "-", "xyzzyx", "\x00", "'; drop"])
def test_nothing_is_found_for_nothing(text: str) -> None:
    """Neither for blanks nor for nonsense."""
    assert _ids(text) == []


def test_what_a_user_has_added_is_found_too() -> None:
    """A comet from a file, by a part of its name; the plain catalogue does not know it."""
    own = Target("C2030X1", "C/2030 X1 (Nobody)", Kind.COMET, ra_deg=10.0, dec_deg=20.0)
    catalogue = with_targets(load_catalogue(), [own])
    found = [catalogue.ids[row] for row in matching_rows(catalogue, "nobody")]
    assert found == ["C2030X1"]
    assert _ids("nobody") == []
