"""The journal in a plan: what has been seen stays out, what is preferred is leaned toward."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTrain,
    Outcome,
    logged_target,
    new_id,
)
from planner.journal.store.journal import open_journal
from targets.catalogue.catalogue import load_catalogue

START = datetime(2026, 10, 1, 20, tzinfo=UTC)
ARGV = ("plan", "--date", "2026-12-08", "--count", "2", "--kind", "globular-cluster")
TELESCOPE = "200 mm f/6 reflector"
OFF = "lean_on_journal = false"
ROOT = Path(__file__).parents[3]


@pytest.fixture
def fill(run: Any, tmp_path: Path) -> Any:  # noqa: ARG001  # it makes the home
    """Return a function that fills the journal with looks at targets."""
    catalogue = load_catalogue()
    session = JournalSession(new_id(), START.date(), "Garden", "Europe/London", START)

    def fill(names: str, **changes: Any) -> None:
        usual = JournalEntry(
            new_id(), session.id, START, logged_target(catalogue.find("M1")),
            LoggedTrain(TELESCOPE, eyepiece="8 mm 60"), Outcome.SEEN,
        )  # fmt: skip
        entries = [
            replace(usual, id=new_id(), target=logged_target(catalogue.find(name)), **changes)
            for name in names.split()
        ]
        with open_journal(tmp_path / "home" / "data" / "journal.sqlite") as journal:
            if session not in journal.sessions():
                journal.add_session(session)
            journal.add_all([], entries)

    return fill


def names_in(result: Any) -> set[str]:
    """Return the ids of the targets of a plan."""
    return {look["target"]["id"] for look in result.json["looks"]}


def test_what_has_been_seen_is_left_out_on_demand(run: Any, fill: Any) -> None:
    """Only what was seen, only when asked for, and a note counts it."""
    before = run(*ARGV, "--format", "json")
    first, second = names_in(before)
    fill(first)
    fill(second, outcome=Outcome.SUSPECTED)
    assert names_in(run(*ARGV, "--format", "json")) == {first, second}
    after = run(*ARGV, "--format", "json", "--not-seen")
    assert first not in names_in(after)
    assert second in names_in(after)
    note = "1 target is left out: the journal has them as seen (--not-seen)."
    assert note in after.json["notes"]
    assert f"Note     {note}" in run(*ARGV, "--not-seen").out


def test_what_was_seen_lately_comes_later_and_it_is_said(run: Any, fill: Any) -> None:
    """The first of a plan, seen the night before, gives way to what is new; the plan tells."""
    asked = (*ARGV[:3], "--count", "3", "--format", "json")
    before = names_in(run(*asked, "--kind", "open-cluster"))
    others = "M31 M33 M42 M57 M27 M1 M81 M82 M13 M15"
    fill(" ".join((*before, *others.split())), at=START.replace(month=12, day=7))
    after = run(*asked, "--kind", "open-cluster").json["looks"]
    assert {look["target"]["id"] for look in after} != before
    assert "new to you" in {look["memory"] for look in after}
    assert "you saw it yesterday" in run(*ARGV).out
    unmoved = run(*asked, "--kind", "open-cluster", "--no-leaning")
    assert names_in(unmoved) == before
    assert {look["memory"] for look in unmoved.json["looks"]} == {None}


def test_nothing_left_to_see_is_said(run: Any, fill: Any, write: Any) -> None:
    """A list that is all seen gives no plan, and the reason."""
    fill("M13 M15")
    result = run(
        "plan", "--date", "2026-12-08", "--list", write("mine.txt", "M13\nM15\n"), "--not-seen"
    )
    assert result.status == 1
    assert "The journal has all of these targets as seen." in result.err


def test_without_a_journal_nothing_counts_as_seen(run: Any) -> None:
    """The plan is made, and says that there is no journal."""
    result = run(*ARGV, "--not-seen")
    assert result.status == 0
    assert "There is no journal at" in result.out


def test_an_empty_journal_changes_nothing(run: Any, fill: Any) -> None:
    """Neither does one that holds too few opinions."""
    before = run(*ARGV, "--format", "json")
    fill("")
    assert run(*ARGV, "--format", "json") == before
    fill("M2 M3 M4 M5", rating=5, at=START.replace(year=2025))
    assert run(*ARGV, "--format", "json") == before


@pytest.fixture
def habit(fill: Any) -> None:
    """Let the observer have passed over the 12 mm for the 8 mm on globular clusters, many times."""
    fill("M2 M3 M4 M5 M10 M12 M13 M14 M22 M92", planned_train="12 mm 60", rating=5)


def bare(views: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return the views through eyepieces alone, by their names."""
    return {v["eyepiece"]: v for v in views if not (v["amplifier"] or v["filter"])}


@pytest.mark.usefixtures("habit")
def test_the_plan_leans_and_says_so(run: Any, write: Any, example_text: str) -> None:
    """A train close behind wins by experience, and says so; an option and a key forbid it."""
    leaning = run("look", "M56", "--date", "2026-12-08", "--format", "json").json["views"]
    plain = run("look", "M56", "--date", "2026-12-08", "--format", "json", "--no-leaning").json
    own, usual = bare(leaning), bare(plain["views"])
    assert 1.0 < own["8 mm 60"]["score"] / usual["8 mm 60"]["score"] < 1.1
    assert 0.9 < own["12 mm 60"]["score"] / usual["12 mm 60"]["score"] < 1.0
    assert own["30 mm 70"]["score"] == usual["30 mm 70"]["score"]
    assert leaning[0]["eyepiece"] == "8 mm 60"
    assert "you preferred the 8 mm 60 on globular clusters, 10 of 10 times" in leaning[0]["reasons"]
    assert not [view for view in plain["views"] if "you pre" in str(view)]
    off = ["--config", write("off.toml", example_text.replace("lean_on_journal = true", OFF))]
    assert run("look", "M56", "--date", "2026-12-08", "--format", "json", *off).json == plain
    text = run(*ARGV, "--format", "json").out
    assert "10 of 10 times" in text
    assert "10 of 10 times" not in run(*ARGV, "--format", "json", "--no-leaning").out


@pytest.mark.usefixtures("habit")
def test_other_telescopes_and_targets_are_not_concerned(
    run: Any, write: Any, example_text: str
) -> None:
    """The same eyepieces in another tube are other trains, and a planet is no cluster."""
    other = write("other.toml", example_text.replace(TELESCOPE, "another tube"))
    assert "of 10 times" not in run(*ARGV, "--format", "json", "--config", other).out
    assert "of 10 times" not in run("look", "Saturn", "--date", "2026-12-08").out


def test_a_journal_that_cannot_be_read_stops_no_plan(run: Any, tmp_path: Path) -> None:
    """The sky is there all the same; standard error says what was not used."""
    path = tmp_path / "home" / "data" / "journal.sqlite"
    path.mkdir(parents=True)
    result = run(*ARGV)
    assert result.status == 0
    assert "cannot be opened for writing" in result.err
    assert "The plan leans on no experience." in result.err


def test_without_a_journal_none_of_it_is_loaded(tmp_path: Path) -> None:
    """Whoever keeps no journal pays nothing for it: the store is not even imported."""
    code = (
        "import sys, datetime, pathlib\n"
        "from planner.cli.main import main\n"
        "from planner.request.options import Surroundings\n"
        f"home = pathlib.Path({str(tmp_path)!r})\n"
        "now = datetime.datetime(2026, 12, 8, 15, tzinfo=datetime.timezone.utc)\n"
        "main(['plan', '--count', '1'], surroundings=Surroundings(now, home / 'x', home / 'y'))\n"
        "late = {'planner.journal.store.journal', 'planner.request.journal_leaning'}\n"
        "assert not late & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT, capture_output=True)
    assert list(tmp_path.iterdir()) == []


def test_unusual_entries_teach_nothing_and_stop_nothing(
    run: Any, fill: Any, tmp_path: Path
) -> None:
    """Kinds and planets that nobody knows, trains that the kit has no more, no eyepiece at all."""
    fill("M13", planned_train="gone 9 mm", rating=5)
    path = tmp_path / "home" / "data" / "journal.sqlite"
    with open_journal(path) as journal:
        (entry,) = journal.entries()
        journal.add_all(
            [],
            [
                replace(
                    entry,
                    id=new_id(),
                    at=START + timedelta(minutes=n),
                    target=replace(entry.target, id=name, kind=kind, **sizes),
                    train=train,
                )
                for n, (name, kind, sizes, train) in enumerate(
                    [
                        ("", "ufo", {}, entry.train),
                        ("Vulcan", "planet", {}, entry.train),
                        ("x", "galaxy", {"major_arcmin": 0.0}, entry.train),
                        ("x", "galaxy", {"major_arcmin": None, "magnitude": None}, entry.train),
                        ("x", "galaxy", {}, LoggedTrain(TELESCOPE)),
                        ("Moon", "Moon", {}, entry.train),
                    ]
                )
            ],
        )
    result = run(*ARGV)
    assert (result.status, result.err) == (0, "")
