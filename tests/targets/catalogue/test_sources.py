"""Every value of the tables names a source that the page beside them explains."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from targets.catalogue.catalogue import Catalogue
from targets.naming.lookup import UnknownTarget
from targets.tables import Tables, read_tables

EXPLAINED = set(
    re.findall(
        r"`([^`]+)`",
        "".join(
            line.split("|")[1]
            for line in (files("targets") / "data" / "LICENSE.md").read_text("utf-8").splitlines()
            if line.startswith("| `")
        ),
    )
)
SOURCE_COLUMNS = (
    *("size_source", "mag_source", "position_source", "separation_source", "colour_source"),
    "source",
)


def tags(field: str) -> set[str]:
    """Split ``X (as read in Z); minor Y; pa Z`` into its tags."""
    parts = re.split(r"[;/]", re.sub(r" \([^)]*\)", "", field))
    return {re.sub(r"^(minor|pa) ", "", part.strip()) for part in parts if part.strip()}


@pytest.mark.parametrize("table", Tables.__dataclass_fields__)
def test_every_tag_is_explained(table: str) -> None:
    """No tag stands in a table that the list of sources lacks."""
    rows = getattr(read_tables(), table)
    fields = {row[column] for row in rows for column in SOURCE_COLUMNS if row.get(column)}
    assert fields or table == "merges"
    assert set().union(*map(tags, fields)) <= EXPLAINED


def test_no_source_is_listed_in_vain() -> None:
    """Each tag of the list is in use somewhere."""
    tables = read_tables()
    fields = {
        row[column]
        for table in Tables.__dataclass_fields__
        for row in getattr(tables, table)
        for column in SOURCE_COLUMNS
        if row.get(column)
    }
    used = set().union(*map(tags, fields))
    within = {word for field in fields for word in re.findall(r"\((\w+)\)", field)}
    assert used | within >= EXPLAINED


def test_a_name_has_a_source_and_a_kind() -> None:
    """A row of names shows one, finds one, or only takes wrong ones away."""
    for row in read_tables().names:
        assert row["source"], row
        assert row["kind"] in {"usual name", "nickname"} or row["wrong_names"], row
        assert row["source"] != "from memory", row  # a name needs somebody who prints it


BRANDS_AND_FICTION = (
    "Pacman Nebula; Stargate; Jaws; Eye of Sauron; Superman Galaxy; ET Cluster; Mothra Cluster; "
    "Lost-in-Space Galaxy; m and m Double Cluster; Captain Hook; Tweedledee Cluster; "
    "Tweedledum Cluster; Jolly Roger Cluster"
)


@pytest.mark.parametrize("name", BRANDS_AND_FICTION.split("; "))
def test_names_of_brands_and_fiction_are_not_used(catalogue: Catalogue, name: str) -> None:
    """Neither shown nor found."""
    with pytest.raises(UnknownTarget):
        catalogue.find(name)


@pytest.mark.parametrize("tag", sorted(tag for tag in EXPLAINED if "memory" not in tag))
def test_a_source_has_a_title_or_an_address(tag: str) -> None:
    """More than a kind of publication: somebody can look it up, or nobody needs to."""
    (line,) = (
        line
        for line in (files("targets") / "data" / "LICENSE.md").read_text("utf-8").splitlines()
        if line.startswith("| `") and f"`{tag}`" in line.split("|")[1]
    )
    text = line.split("|")[2]
    dated, known = r"\d{4}|DR3", r"orbits\.csv|HIP2|database|authors|two bear it out"
    by_whom = rf"{dated}|{known}|\w+\.(?:com|org|info|net|ch|ca)"
    assert re.search(by_whom, text), line


@pytest.mark.parametrize(
    ("nickname", "number"),
    [
        ("Gumball Globular", "M12"),
        ("Cooling Tower", "M29"),
        ("Starfish Cluster", "M38"),
        ("Cetus A", "M77"),
        ("Squid Galaxy", "M77"),
        ("Croc's Eye Galaxy", "M94"),
        ("Foxhead Cluster", "NGC 6819"),
    ],
)
def test_a_nickname_finds_and_is_not_shown(
    catalogue: Catalogue, nickname: str, number: str
) -> None:
    """What few people say leads to the target, which keeps its number as its name."""
    target = catalogue.find(nickname)
    assert target.name == number
    assert nickname in target.aliases
