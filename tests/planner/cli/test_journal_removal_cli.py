"""``journal remove`` and ``restore`` as a user meets them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from planner.text import cell_width

NIGHT = datetime(2026, 11, 25, 22, 30, tzinfo=UTC)
LATER = datetime(2026, 11, 26, 1, 5, tzinfo=UTC)


@pytest.fixture
def add(run: Any) -> Any:
    """Return a function that adds a look and gives the digits of its id."""

    def add(*argv: str) -> str:
        result = run("journal", "add", *argv, now=NIGHT)
        assert result.status == 0, result.err
        return str(result.out.split()[0])

    return add


def test_a_wrong_look_is_removed_and_comes_back(add: Any, run: Any) -> None:
    """It is told which look went, what brings it back, and when it went."""
    add("M57", "--eyepiece", "12 mm 60", "--at", "21:00")
    wrong = add("M31", "--eyepiece", "30 mm 70", "--at", "22:00", "--note", "n" * 100)
    before = run("journal", "list").out
    line = f"{wrong}  2026-11-25 22:00  M31 Andromeda Galaxy: 30 mm 70, 40x, seen\n"
    removed = run("journal", "remove", wrong, now=LATER)
    assert (removed.status, removed.out) == (0, line)
    assert removed.err == f'fieldstop: Removed; "journal restore {wrong}" brings it back.\n'
    assert "M31" not in run("journal", "list").out
    told = run("journal", "list", "--removed")
    assert (told.status, told.err) == (0, "")
    assert told.out.splitlines()[0] == "Wed 25 / Thu 26 Nov 2026, Garden"
    assert told.out.splitlines()[-1] == "       removed 2026-11-26 01:05"
    assert max(map(cell_width, told.out.splitlines())) <= 80
    assert "M57" not in told.out
    back = run("journal", "restore", wrong)
    assert (back.status, back.out, back.err) == (0, line, "fieldstop: Back in the journal.\n")
    assert run("journal", "list").out == before
    nothing = run("journal", "list", "--removed")
    assert (nothing.out, "has no removed entry." in nothing.err) == ("", True)


def test_the_time_of_removal_is_by_the_clock_of_the_site(
    add: Any, run: Any, site_file: Any
) -> None:
    """In New York it was evening still, five hours behind; JSON tells the offset."""
    config = ["--config", site_file(40.7, -74.0, "America/New_York")]
    digits = add("M57", "--at", "2026-11-24T21:00", *config)
    run("journal", "remove", digits, now=LATER)
    assert "removed 2026-11-25 20:05" in run("journal", "list", "--removed").out
    content = run("journal", "list", "--removed", "--format", "json").json
    (entry,) = content["entries"]
    assert content["schema"] == "fieldstop.removed/1"
    assert entry["removed_at"] == "2026-11-25T20:05:00-05:00"
    assert (entry["id"][:8], entry["target"]["id"]) == (digits, "NGC6720")


def test_what_was_removed_is_narrowed_as_a_list_is(add: Any, run: Any) -> None:
    """By evening, target, eyepiece and number, among what was removed alone."""
    for target, eyepiece, at in (
        ("M57", "12 mm 60", "2026-11-20T21:00"),
        ("Some comet", "8 mm 60", "2026-11-24T21:00"),
        ("M31", "30 mm 70", "21:00"),
    ):
        kind = ["--as", "comet"] if target == "Some comet" else []
        run("journal", "remove", add(target, "--eyepiece", eyepiece, "--at", at, *kind), now=LATER)
    add("M57", "--eyepiece", "30 mm 70")

    def found(*argv: str) -> list[str]:
        entries = run("journal", "list", "--removed", "--format", "json", *argv).json["entries"]
        return [entry["eyepiece"] for entry in entries]

    assert found() == ["12 mm 60", "8 mm 60", "30 mm 70"]
    assert found("--target", "ring nebula") == ["12 mm 60"]
    assert found("--target", "some COMET") == found("--eyepiece", "8 mm 60") == ["8 mm 60"]
    assert found("--since", "2026-11-24") == ["8 mm 60", "30 mm 70"]
    assert found("--count", "1") == ["30 mm 70"]
    assert "2 earlier ones" in run("journal", "list", "--removed", "--count", "1").out
    assert "no such removed entry" in run("journal", "list", "--removed", "--target", "M13").err


def test_a_mistake_is_named(add: Any, run: Any) -> None:
    """Unknown, removed before, or never removed: a sentence that says what to do."""
    digits = add("M57", "--eyepiece", "12 mm 60")
    kept = run("journal", "restore", digits)
    assert (kept.status, "is in the journal already" in kept.err) == (2, True)
    assert run("journal", "remove", digits, now=LATER).status == 0
    sentence = f'was removed on 2026-11-26 at 01:05 UT; "journal restore {digits}" brings it back.'
    for argv in (["remove"], ["show"], ["edit", "--note", "x"]):
        result = run("journal", argv[0], digits, *argv[1:], now=LATER)
        assert (result.status, result.out, sentence in result.err) == (2, "", True)
    for name in ("remove", "restore"):
        result = run("journal", name, "zz")
        assert (result.status, 'whose id begins with "zz"' in result.err) == (2, True)


def test_the_report_forgets_what_was_removed(add: Any, run: Any) -> None:
    """Its look, its target, and the evening that it was thought to be of."""
    add("M57", "--eyepiece", "12 mm 60", "--rating", "4")
    before = run("journal", "report", "--format", "json").json
    wrong = add("M31", "--eyepiece", "30 mm 70", "--at", "2026-10-25T22:00", "--rating", "1")
    assert run("journal", "report", "--format", "json").json != before
    run("journal", "remove", wrong, now=LATER)
    assert run("journal", "report", "--format", "json").json == before
    night = run("journal", "night", "--date", "2026-10-25", "--comments", "cloud", now=LATER)
    assert "M31" not in night.out
    assert run("journal", "report", "--format", "json").json["nights"] == 2  # it was one after all


def test_a_plan_leans_on_nothing_removed(add: Any, run: Any) -> None:
    """Five opinions make a habit, and four of them none."""
    look = ["M31", "--eyepiece", "30 mm 70", "--rating", "5", "--planned", "18 mm 65"]
    ids = [add(*look, "--at", f"2026-11-{day}T22:00") for day in range(20, 25)]
    telling = ["look", "M31", "--date", "2026-12-08"]
    with_habit = run(*telling).out
    assert with_habit != run(*telling, "--no-leaning").out
    run("journal", "remove", ids[0], now=LATER)
    assert run(*telling).out == run(*telling, "--no-leaning").out
    run("journal", "restore", ids[0], now=LATER)
    assert run(*telling).out == with_habit
