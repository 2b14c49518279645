"""Telescopes and eyepieces as people write them."""

from __future__ import annotations

from typing import Any

import pytest

from planner.config.setup.equipment import (
    eyepiece_parts,
    read_amplifier_line,
    read_barrel,
    read_eyepiece_line,
    read_filter_line,
    read_focal_length_mm,
    read_size_mm,
)
from planner.model.kit import Barrel


@pytest.mark.parametrize(
    ("text", "mm"),
    # An inch is 25.4 mm (international yard and pound agreement, 1959); nominal, to a millimetre.
    [("200", 200), ("8 in", 203), ('8"', 203), ("10 inch", 254), ("20 cm", 200), ("1,2 m", 1200)],
)
def test_sizes(text: str, mm: float) -> None:
    """Millimetres are meant where no unit stands."""
    assert read_size_mm(text) == mm


def test_a_focal_ratio_gives_the_focal_length() -> None:
    """Focal length is aperture times ratio."""
    assert read_focal_length_mm("f/6", 200.0) == 1200.0
    assert read_focal_length_mm("F5.9", 254.0) == 1498.6
    assert read_focal_length_mm("48 in", 203.0) == 1219.0


@pytest.mark.parametrize("text", ["1.25", "1.25in", '1.25"', "1 1/4 in", "1\u00bc", "1.25 inch"])
def test_barrels(text: str) -> None:
    """All the ways to write an inch and a quarter."""
    assert read_barrel(text) is Barrel.ONE_AND_A_QUARTER


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("30 70 2in", {"focal_length_mm": 30, "apparent_field_deg": 70, "barrel": "2in"}),
        ('25mm 52deg 1.25"', {"focal_length_mm": 25, "apparent_field_deg": 52, "barrel": "1.25in"}),
        ("12 60", {"focal_length_mm": 12, "apparent_field_deg": 60, "barrel": "1.25in"}),
        ("40 70", {"focal_length_mm": 40, "apparent_field_deg": 70, "barrel": "2in"}),
        (
            "8-20 62-46 1.25 relief 15 210 g",
            {
                "focal_length_mm": [8, 20],
                "apparent_field_deg": [62, 46],
                "barrel": "1.25in",
                "eye_relief_mm": 15,
                "mass_g": 210,
            },
        ),
        (
            "23, 66, 1.25 stop 25.8",
            {
                "focal_length_mm": 23,
                "apparent_field_deg": 66,
                "barrel": "1.25in",
                "field_stop_mm": 25.8,
            },
        ),
    ],
)
def test_eyepieces(text: str, expected: dict[str, Any]) -> None:
    """Three numbers in a line, with or without units; the barrel where it is beyond doubt."""
    assert read_eyepiece_line(text)[0] == expected


def test_a_barrel_in_doubt_is_asked_for() -> None:
    """40 mm with 43 degrees comes in both barrels, and 25 mm with 65 may (common practice)."""
    for text in ("40 43", "25 65"):
        with pytest.raises(ValueError, match="add the barrel"):
            read_eyepiece_line(text)


@pytest.mark.parametrize("text", ["five", "12 60 7in", "x y z", "", "12 60 1.25 blue", "-5 60"])
def test_what_is_no_eyepiece_says_how_to_write_one(text: str) -> None:
    """A sentence with an example or with what is allowed."""
    with pytest.raises(ValueError, match=r"as in|allowed"):
        read_eyepiece_line(text)


def test_amplifiers_and_filters() -> None:
    """The factor tells a Barlow from a reducer; a corrector is called by its name."""
    assert read_amplifier_line("2x 1.25")["kind"] == "barlow"
    assert read_amplifier_line("0.8 2in")["kind"] == "reducer"
    assert read_amplifier_line("corrector 1.15 2in")["kind"] == "corrector"
    assert read_filter_line("O3 2in") == {"name": "O III", "kind": "oiii", "barrel": "2in"}
    for read, text in ((read_amplifier_line, "big"), (read_filter_line, "pink 2in")):
        with pytest.raises(ValueError, match="as in"):
            read(text)


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("25 mm and 9 mm", [25, 9]),
        ("25 and 9", [25, 9]),
        ("25 mm, 9 mm", [25, 9]),
        ("25 mm; 9 mm & 6 mm", [25, 9, 6]),
        ("25", [25]),
        ("25 mm", [25]),
        ('25 mm 1.25"', [25]),
        ("12, 60, 1.25", [12]),
    ],
)
def test_eyepieces_as_a_beginner_says_them(text: str, lengths: list[int]) -> None:
    """Several in one answer, and by their focal length alone: 50 degrees are then assumed."""
    read = [read_eyepiece_line(part) for part in eyepiece_parts(text)]
    assert [entry["focal_length_mm"] for entry, _ in read] == lengths
    assert all(entry["barrel"] == "1.25in" for entry, _ in read)
    for entry, said in read:
        if entry["apparent_field_deg"] == 50:
            assert said.startswith("Taken to show 50 degrees, as plain ones do; if it says")
