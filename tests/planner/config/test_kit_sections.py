"""Finders in the configuration, and how a telescope is brought to its target."""

from __future__ import annotations

from datetime import date
from importlib.resources import files

import pytest

from planner.config.settings import SettingsError, read_settings
from planner.model.kit import Finder, FinderKind, Orientation, Pointing

EXAMPLE = files("planner.config").joinpath("example.toml").read_text("utf-8")
WITHOUT = EXAMPLE[: EXAMPLE.index("[[finder]]")] + EXAMPLE[EXAMPLE.index("# A zoom") :]


def finders_of(text: str) -> tuple[Finder, ...]:
    """The finders of the example's kit, with these tables for its own."""
    return read_settings(WITHOUT + text, source="test", today=date(2026, 11, 28)).kit.finders


def test_without_a_table_it_is_the_finder_that_most_telescopes_bring() -> None:
    """6x30, 7 degrees, turned by half a turn (common practice)."""
    (finder,) = finders_of("")
    assert (finder.aperture_mm, finder.magnification, finder.field_deg) == (30.0, 6.0, 7.0)
    assert finder.orientation is Orientation.INVERTED
    assert finder.kind is FinderKind.STRAIGHT


@pytest.mark.parametrize("word", ["magnification", "power"])
def test_a_finder_is_read(word: str) -> None:
    """Both words for the power serve; a diagonal mirrors; the name follows from the figures."""
    (finder,) = finders_of(
        f'[[finder]]\nkind = "right_angle"\naperture_mm = 50\n{word} = 9\nfield_deg = 5.5\n'
    )
    assert finder == Finder(
        "9x50 finder", FinderKind.RIGHT_ANGLE, 50.0, 9.0, 5.5, Orientation.MIRRORED
    )


def test_a_finder_without_power_shows_the_sky_as_it_is() -> None:
    """No aperture, power 1, upright; with a second finder beside it."""
    first, second = finders_of('[[finder]]\nkind = "unit_power"\n[[finder]]\nname = "big one"\n')
    assert (first.aperture_mm, first.magnification) == (None, 1.0)
    assert first.orientation is Orientation.UPRIGHT
    assert (second.name, second.aperture_mm) == ("big one", 30.0)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('kind = "bent"', '"straight", "right_angle" or "unit_power"'),
        ("aperture_mm = 5", "a number from 10 to 200 mm"),
        ("power = 0.5", "a number from 1 to 50"),
        ("power = 6\nmagnification = 6", "give only one of the two"),
        ("field_deg = 90", "a number from 0.5 to 40 degrees"),
        ('orientation = "sideways"', '"upright", "inverted" or "mirrored"'),
        ('kind = "unit_power"\naperture_mm = 30', "none for a finder of unit power"),
        ('kind = "unit_power"\npower = 6', "1 for a finder of unit power"),
        ("feild_deg = 7", 'did you mean "field_deg"?'),
    ],
)
def test_faults_of_a_finder_say_what_is_allowed(table: str, words: str) -> None:
    """Each names the finder by its number."""
    with pytest.raises(SettingsError) as caught:
        finders_of(f"[[finder]]\n{table}\n")
    assert "finder 1" in str(caught.value)
    assert words in str(caught.value)


def test_pointing_is_one_of_three() -> None:
    """By hand where it is not said; another word is refused with those that are known."""
    plain = WITHOUT.replace('pointing = "hand" ', "#")
    goto = WITHOUT.replace('pointing = "hand" ', 'pointing = "goto" ')
    day = date(2026, 11, 28)
    kit = read_settings(plain, source="test", today=day).kit
    assert kit.telescopes[0].pointing is Pointing.HAND
    kit = read_settings(goto, source="test", today=day).kit
    assert kit.telescopes[0].pointing is Pointing.GOTO
    with pytest.raises(SettingsError, match='"hand", "circles" or "goto"'):
        read_settings(
            WITHOUT.replace('pointing = "hand" ', 'pointing = "go" '), source="t", today=day
        )
