"""Candidates from options, words and files; every fault is a sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.cli.kit.candidates import read_candidates
from planner.cli.kit.options import CandidateOptions
from planner.model.errors import InputError
from planner.model.kit import Amplifier, Barrel, Eyepiece, Filter, FilterKind, Kit


def faults_of(kit: Kit, **texts: object) -> str:
    """Return the sentences with which candidates are refused."""
    with pytest.raises(InputError) as caught:
        read_candidates(CandidateOptions(**texts), kit)  # type: ignore[arg-type]
    return "\n".join(caught.value.faults)


def test_an_eyepiece_by_options(kit: Kit) -> None:
    """Every option comes in."""
    texts = CandidateOptions(
        focal_length="17", apparent_field="72", barrel="1.25in", field_stop="21.4",
        eye_relief="15", mass="300",
    )  # fmt: skip
    small = Barrel.ONE_AND_A_QUARTER
    assert read_candidates(texts, kit).parts == (
        Eyepiece("17 mm 72 deg", (17.0,), (72.0,), small, 21.4, 15.0, 300.0),
    )


def test_several_at_once(kit: Kit) -> None:
    """A Barlow, a reducer, a filter, and two by words, one of them a zoom."""
    texts = CandidateOptions(
        barlow="2.5", reducer="0.5", filter="hbeta", barrel="2in",
        candidates=("23 66 1.25in", "8-20 62-46 1.25in"),
    )  # fmt: skip
    barlow, reducer, filter_, plain, zoom = read_candidates(texts, kit).parts
    assert isinstance(barlow, Amplifier)
    assert (barlow.factor, barlow.barrel) == (2.5, Barrel.TWO)
    assert isinstance(reducer, Amplifier)
    assert reducer.factor == 0.5
    assert isinstance(filter_, Filter)
    assert filter_.kind is FilterKind.HBETA
    assert isinstance(plain, Eyepiece)
    assert plain.focal_lengths_mm == (23.0,)
    assert isinstance(zoom, Eyepiece)
    assert (zoom.focal_lengths_mm, zoom.apparent_fields_deg) == ((8.0, 20.0), (62.0, 46.0))


def test_a_file_in_the_format_of_the_configuration(kit: Kit, tmp_path: Path) -> None:
    """Eyepieces, amplifiers and filters; names that are owned already are told apart."""
    path = tmp_path / "wanted.toml"
    path.write_text(
        '[[eyepiece]]\nname = "12 mm 60"\nfocal_length_mm = 12\napparent_field_deg = 60\n'
        'barrel = "1.25in"\n[[filter]]\nname = "New"\nkind = "oiii"\nbarrel = "2in"\n',
        "utf-8",
    )
    parts = read_candidates(CandidateOptions(file=str(path)), kit).parts
    assert [part.name for part in parts] == ["12 mm 60 (new)", "New"]


def test_contradictory_numbers(kit: Kit) -> None:
    """82 degrees of 40 mm in 1.25 inch: 40 x 1.431 rad = 57.2 mm in 27 mm."""
    found = faults_of(kit, focal_length="40", apparent_field="82", barrel="1.25in")
    assert "57.2 mm, but a 1.25in barrel holds 27 mm; allowed are up to 39 degrees" in found


def test_a_known_eyepiece_with_a_generous_claim_is_taken(kit: Kit) -> None:
    """40 mm with "43 deg" and a stop of 27 mm is on sale (quoted in an observers' discussion)."""
    texts = CandidateOptions(focal_length="40", apparent_field="43", barrel="1.25in")
    assert len(read_candidates(texts, kit).parts) == 1


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        ({}, "Nothing to try: give --focal-length"),
        ({"focal_length": "17"}, "--apparent-field: missing"),
        ({"focal_length": "x", "apparent_field": "60"}, '--focal-length: found "x"'),
        ({"focal_length": "nan", "apparent_field": "60"}, "--focal-length: found nan"),
        ({"focal_length": "8-", "apparent_field": "60"}, "--focal-length: found"),
        ({"barlow": "0.5"}, "--barlow: found 0.5; allowed is a number from 1.01 to 10"),
        ({"reducer": "2"}, "--reducer: found 2.0; allowed is a number from 0.1 to 0.99"),
        ({"filter": "red"}, '--filter: found "red"; allowed is "broadband"'),
        ({"barlow": "2", "barrel": "1.3in"}, '--barrel: found "1.3in"'),
        ({"candidates": ("17 72",)}, '--candidate "17 72": allowed are focal length'),
        ({"candidates": ("17 720 2in",)}, "apparent_field_deg: found 720.0"),
        ({"candidates": ("9 60 1.25in",) * 21}, "21 candidates are too many; allowed are 20"),
        ({"mass": "300"}, "--focal-length: missing"),
    ],
)
def test_what_cannot_be_used_is_told(kit: Kit, texts: dict[str, object], sentence: str) -> None:
    """What, where, and what is allowed."""
    assert sentence in faults_of(kit, **texts)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "no candidate in it"),
        (b"[[eyepeice]]\n", 'did you mean "eyepiece"?'),
        (b"[[eyepiece]]\nname = 3\n", 'eyepiece 1, "focal_length_mm": missing'),
        (b"[[eyepiece]\n", 'not valid TOML, line 1, column 11: the heading lacks its "]]"'),
        (b"\xff\xfe", "cannot be read: text in UTF-16; save it as UTF-8."),
        (b"#\n# caf\xe9", "cannot be read: line 2 holds a character that is not UTF-8"),
        (b"\0", "cannot be read: not a text file; a TOML file in UTF-8 is needed."),
        (b"eyepiece = 3\n", "allowed is a list of tables"),
        (b"#" * 100_001, "larger than 100 kB"),
        (b"a = " + b"[" * 5000, "cannot be read"),
    ],
)
def test_a_file_that_cannot_be_used(
    kit: Kit, tmp_path: Path, content: bytes, sentence: str
) -> None:
    """It is named, with what is wrong."""
    path = tmp_path / "wanted.toml"
    path.write_bytes(content)
    found = faults_of(kit, file=str(path))
    assert sentence in found
    assert "wanted.toml" in found


def test_a_file_that_is_not_there(kit: Kit, tmp_path: Path) -> None:
    """Nor a folder, nor what is not a path."""
    assert "No such file" in faults_of(kit, file=str(tmp_path / "none.toml"))
    assert "cannot be read" in faults_of(kit, file=str(tmp_path))
    assert "cannot be read" in faults_of(kit, file="a\0b")
