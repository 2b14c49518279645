"""Names of the constellations."""

from __future__ import annotations

import pytest
from skyfield.api import load_constellation_names

from targets.naming.constellations import NAMES, UnknownConstellation, constellation_code


def test_names_and_abbreviations_are_the_iau_ones() -> None:
    """All 88 pairs agree with the list that skyfield carries, which writes Bootes plainly."""
    plain = {code: name.replace("ö", "o") for code, name in NAMES.items()}
    assert plain == dict(load_constellation_names())
    assert len(NAMES) == 88


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("And", "And"),
        ("andromeda", "And"),
        ("  canes   venatici ", "CVn"),
        ("cvn", "CVn"),
        ("Bootes", "Boo"),
        ("Boötes", "Boo"),
        ("LEO MINOR", "LMi"),
    ],
)
def test_abbreviation_or_name_will_do(text: str, code: str) -> None:
    """Case, blanks and accents do not matter."""
    assert constellation_code(text) == code


def test_unknown_constellation_names_the_nearest() -> None:
    """A slip of the pen gets the right name in the message."""
    with pytest.raises(UnknownConstellation, match=r"'Andromdea'.*And \(Andromeda\)"):
        constellation_code("Andromdea")


def test_the_nearest_is_named_once() -> None:
    """Abbreviation and name of one constellation are not two suggestions."""
    with pytest.raises(UnknownConstellation, match=r"nearest is Cyg \(Cygnus\)$"):
        constellation_code("Cygn")


@pytest.mark.parametrize("text", ["", "x" * 10_000, "\x1b[31m", "🌌"])
def test_nonsense_gets_one_short_line(text: str) -> None:
    """Whatever was typed, the message is one printable line of bearable length."""
    with pytest.raises(UnknownConstellation) as caught:
        constellation_code(text)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 200
