"""``plan`` with two telescopes, as it is asked for."""

from __future__ import annotations

import re
from typing import Any

import pytest

LONG, WIDE = "200 mm f/6 reflector", "80 mm f/6 refractor"
TWO = (
    "plan",
    "--date",
    "2026-12-08",
    "--telescope",
    LONG,
    "--telescope",
    WIDE,
    "--list",
    "messier",
)

REFUSED = {
    "an unknown name": ((*TWO[:5], "--telescope", "Ten"), "no telescope is called"),
    "the same twice": ((*TWO[:5], "--telescope", LONG.upper()), "is named twice"),
    "three": ((*TWO, "--telescope", WIDE), "given 3 times; a plan has two telescopes at most"),
    "two people at one": ((*TWO[:5], "--observers", "2"), "name both with --telescope"),
    "three people": ((*TWO, "--observers", "3"), "a whole number from 1 to 2"),
    "guests": ((*TWO, "--guests", "5"), "--guests does not go with two telescopes"),
    "lessons": ((*TWO, "--teach"), "--teach does not go with two telescopes"),
    "a look": (("look", "M31", *TWO[3:7]), '"fieldstop plan" plans with two at once'),
    "the screens": (TWO[3:7], '"fieldstop plan" plans with two at once'),
}


@pytest.mark.parametrize(("argv", "words"), REFUSED.values(), ids=REFUSED)
def test_what_does_not_go_with_two_is_told(run: Any, argv: tuple[str, ...], words: str) -> None:
    """Status 2, and a sentence each."""
    result = run(*argv)
    assert result.status == 2
    assert words in result.err
    assert not result.out


def test_two_columns_stand_side_by_side(run: Any) -> None:
    """Each look in the column of its telescope, in lines of 80 cells at most."""
    result = run(*TWO, "--observers", "2")
    assert result.status == 0
    lines = result.out.splitlines()
    assert max(map(len, lines)) <= 80
    head = next(line for line in lines if line.startswith(LONG))
    assert head.index(WIDE) == 41
    both = [line for line in lines if re.match(r"\d\d:\d\d-\d\d:\d\d.{30}\d\d:\d\d-", line)]
    assert both
    assert "two observers, one at each telescope" in result.out


def test_json_tells_what_looks_share(run: Any) -> None:
    """The keys of one telescope stay; those of two are there beside them, and null where empty."""
    found = run(*TWO, "--observers", "2", "--format", "json").json
    assert found["schema"] == "fieldstop.plan/1"
    assert (found["telescopes"], found["observers"]) == ([LONG, WIDE], 2)
    assert {look["view"]["telescope"] for look in found["looks"]} == {LONG, WIDE}
    starts = [look["start"] for look in found["looks"]]
    assert starts == sorted(starts)
    for look in found["looks"]:
        assert set(look["together"]) == {"compares", "found_in", "elsewhere", "brought"}
    alone = run(*TWO[:5], "--list", "messier", "--format", "json").json
    assert (alone["telescopes"], alone["observers"]) == ([], 1)
    assert {look["together"] for look in alone["looks"]} == {None}
    assert set(alone) == set(found)
    assert set(alone["looks"][0]) == set(found["looks"][0])


def test_every_format_names_the_telescope(run: Any) -> None:
    """A calendar has an event of its own for each look, at the same target too."""
    looks = run(*TWO, "--observers", "2", "--format", "json").json["looks"]
    calendar = run(*TWO, "--observers", "2", "--format", "ics").out.replace("\r\n ", "")
    assert len(set(re.findall(r"UID:(\S+)", calendar))) == len(looks)
    assert len(re.findall(r"SUMMARY:.* in 80 mm f/6 refractor", calendar)) == sum(
        look["view"]["telescope"] == WIDE for look in looks
    )
    table = run(*TWO, "--observers", "2", "--format", "csv").out
    assert len(table.splitlines()) == 1 + len(looks)
    page = run(*TWO, "--observers", "2", "--format", "html").out
    assert page.count(f'<div class="through">{WIDE}</div>') >= sum(
        look["view"]["telescope"] == WIDE for look in looks
    )


def test_a_telescope_without_an_eyepiece_is_left_at_home(
    run: Any, write: Any, example_text: str
) -> None:
    """The other one is planned with alone, as any plan, and a sentence says why."""
    first, _, rest = example_text.partition('name = "80 mm f/6 refractor"')
    narrow = rest.replace('focuser = "2in"\nadapters = ["1.25in"]', 'focuser = "0.965in"', 1)
    path = write("narrow.toml", f'{first}name = "80 mm f/6 refractor"{narrow}')
    result = run(*TWO, "--observers", "2", "--config", path, "--format", "json")
    assert result.status == 0
    assert {look["view"]["telescope"] for look in result.json["looks"]} == {LONG}
    assert any(f"Planned with {LONG} alone." in note for note in result.json["notes"])
