"""Lists on disk: what is kept comes back, and what somebody has spoiled is told."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from targets.elements import Elements
from targets.model import Kind, Origin, Target
from targets.userlists.records import ListEntry, ListError, OwnList
from targets.userlists.store import (
    check_name,
    find_name,
    keep_list,
    kept_names,
    name_for,
    read_list,
    remove_list,
)

SPOT = Target(
    "Spot", "Spot", Kind.DARK_NEBULA, constellation="Ori", ra_deg=83.8, dec_deg=-5.4,
    major_arcmin=30.0, minor_arcmin=10.0, position_angle_deg=20.0, magnitude=9.0,
    size_origin=Origin.CATALOGUE, magnitude_origin=Origin.CATALOGUE, own_note="by a friend",
)  # fmt: skip
COMET = Target(
    "C/1995O1", "C/1995 O1 (Hale-Bopp)", Kind.COMET, aliases=("Hale-Bopp",),
    elements=Elements(2450538.9141, 0.914142, 0.995086, 130.5887, 282.4707, 89.43, None, -0.8, 4.0),
)  # fmt: skip
SPRING = OwnList(
    "spring", "spring.csv", (ListEntry("NGC224", "big"), ListEntry("Spot", "by a friend", SPOT))
)
COMETS = OwnList("comets", "c.txt", (ListEntry("C/1995O1", "", COMET),), orbits=True)


@pytest.mark.parametrize("kept", [SPRING, COMETS], ids=lambda kept: kept.name)
def test_what_is_kept_comes_back(tmp_path: Path, kept: OwnList) -> None:
    """All of it, and no other file is left behind."""
    path = keep_list(tmp_path / "lists", kept)
    assert read_list(path) == kept
    assert kept_names(tmp_path / "lists") == {kept.name: path}
    assert [item.name for item in (tmp_path / "lists").iterdir()] == [path.name]
    if os.name == "posix":
        assert path.stat().st_mode & 0o777 == 0o600


def test_a_name_is_used_once(tmp_path: Path) -> None:
    """In capitals or not; the first list stays as it is."""
    path = keep_list(tmp_path, SPRING)
    before = path.read_bytes()
    for name in ("spring", "SPRING"):
        with pytest.raises(ListError, match="already"):
            keep_list(tmp_path, OwnList(name, "x", COMETS.entries, orbits=True))
    assert path.read_bytes() == before
    assert list(kept_names(tmp_path)) == ["spring"]


def test_a_list_is_removed_by_its_name(tmp_path: Path) -> None:
    """And only that one; an unknown name is told those that there are."""
    keep_list(tmp_path, SPRING)
    keep_list(tmp_path, COMETS)
    assert remove_list(tmp_path, "Spring") == "spring"
    assert list(kept_names(tmp_path)) == ["comets"]
    with pytest.raises(ListError, match="there is comets"):
        remove_list(tmp_path, "spring")


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "../x", "a b", "x" * 41, "-x", "ä", "a\0"])
def test_names_that_are_none(name: str) -> None:
    """Nothing that could lead out of the folder."""
    with pytest.raises(ListError, match="up to 40 letters"):
        check_name(name)


def test_programmes_keep_their_names() -> None:
    """Nobody's list hides them."""
    with pytest.raises(ListError, match="programme"):
        check_name("Messier")


@pytest.mark.parametrize(
    ("file", "name"),
    [("Spring Galaxies.csv", "spring-galaxies"), ("CometEls.txt", "cometels"), ("äöü.csv", "list"),
     ("a" * 60 + ".vot", "a" * 40)],
)  # fmt: skip
def test_a_name_from_a_file(file: str, name: str) -> None:
    """Plain letters only."""
    assert name_for(Path(file)) == name


OWN = ("entries", 1, "own")
ORBIT = ("entries", 0, "own", "elements")


@pytest.mark.parametrize(
    ("kept", "path", "value"),
    [
        (SPRING, ("schema",), "other/1"),
        (SPRING, ("name",), "../../x"),
        (SPRING, ("entries",), 5),
        (SPRING, ("entries", 0, "note"), 3),
        (SPRING, (*OWN, "kind"), "spaceship"),
        (SPRING, (*OWN, "kind"), "planet"),
        (SPRING, (*OWN, "ra_deg"), None),
        (SPRING, (*OWN, "dec_deg"), 95.0),
        (SPRING, (*OWN, "dec_deg"), "5"),
        (SPRING, (*OWN, "dec_deg"), [5.0]),
        (COMETS, (*ORBIT, "perihelion_au"), -1.0),
        (COMETS, (*ORBIT, "node_deg"), None),
        (COMETS, (*ORBIT, "node_deg"), 1e300),
    ],
)
def test_a_spoilt_list_is_told(
    tmp_path: Path, kept: OwnList, path: tuple[Any, ...], value: Any
) -> None:
    """By its path, and it stays as it is."""
    file = keep_list(tmp_path, kept)
    document = json.loads(file.read_text("utf-8"))
    place = document
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    file.write_text(json.dumps(document), "utf-8")
    before = file.read_bytes()
    with pytest.raises(ListError, match=r"json\" is damaged"):
        read_list(file)
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    "content", [b"", b"{", b"\xff\xfe\x00", b"[" * 100_000, b'{"schema": NaN}']
)
def test_a_file_that_is_no_json(tmp_path: Path, content: bytes) -> None:
    """Cut off, binary, or built to exhaust the reader."""
    path = tmp_path / "spring.list.json"
    path.write_bytes(content)
    with pytest.raises(ListError, match="is damaged"):
        read_list(path)


def test_no_folder_means_no_lists(tmp_path: Path) -> None:
    """Nothing is made by looking."""
    assert kept_names(tmp_path / "none") == {}
    assert find_name(tmp_path / "none", "x") is None
    assert not (tmp_path / "none").exists()
