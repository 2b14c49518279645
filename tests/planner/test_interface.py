"""The planner from Python: what a notebook asks gives what the commands give, as tables."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import FrozenInstanceError
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

import planner
from planner.config.settings import SettingsError
from planner.interface import Observatory
from planner.model.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
EVENING = "2026-12-08"


@pytest.fixture(scope="module")
def garden() -> Observatory:
    """The built-in example."""
    return planner.open_config()


def test_a_plan_from_python_is_the_plan_of_the_command(garden: Observatory, run: Any) -> None:
    """The same looks with the same eyepieces at the same times."""
    table = garden.plan(EVENING, count=4).table()
    told = run("plan", "--date", EVENING, "--count", "4", "--format", "json").json["looks"]
    assert [start.isoformat() for start in table["start"]] == [look["start"] for look in told]
    assert (table["end"] > table["start"]).all()
    assert list(table["target_id"]) == [look["target"]["id"] for look in told]
    assert list(table["eyepiece"]) == [look["view"]["eyepiece"] for look in told]
    assert list(table["exit_pupil_mm"]) == [look["view"]["exit_pupil_mm"] for look in told]


def test_two_telescopes_from_python_are_those_of_the_command(garden: Observatory, run: Any) -> None:
    """The same looks, each in its telescope."""
    names = [one.name for one in garden.settings().kit.telescopes]
    table = garden.plan(EVENING, telescope=names, count=4).table()
    options = [part for name in names for part in ("--telescope", name)]
    told = run("plan", "--date", EVENING, *options, "--count", "4", "--format", "json").json
    assert list(table["target_id"]) == [look["target"]["id"] for look in told["looks"]]
    assert list(table["telescope"]) == [look["view"]["telescope"] for look in told["looks"]]


def test_a_look_from_python_is_the_look_of_the_command(garden: Observatory, run: Any) -> None:
    """At a time of the site's own clock, best view first."""
    table = garden.look("M57", EVENING, at=datetime(2026, 12, 8, 18, 30)).table()  # noqa: DTZ001
    told = run("look", "M57", "--at", "2026-12-08T18:30", "--format", "json").json["views"]
    assert list(table["eyepiece"]) == [view["eyepiece"] for view in told]
    assert list(table["usable"]) == [view["usable"] for view in told]


def test_the_trains_and_the_journal_are_tables(
    garden: Observatory, run: Any, tmp_path: Path
) -> None:
    """Numbers with their units in the names of the columns."""
    trains = garden.trains().table()
    told = run("kit", "--format", "json").json["trains"]
    assert sorted(trains["magnification"]) == pytest.approx(
        sorted(one["magnification"] for one in told if one["magnification"]), rel=1e-3
    )
    run("journal", "add", "M57", "--eyepiece", "8 mm 60", "--rating", "4", "--data", str(tmp_path))
    looks = garden.journal(tmp_path / "journal.sqlite").table()
    assert list(looks["target_id"]) == ["NGC6720"]
    assert list(looks["rating"]) == [4]


def test_a_list_and_a_floor_are_kept(garden: Observatory) -> None:
    """A programme by its name, and nothing below the floor."""
    table = garden.plan(EVENING, targets="caldwell", min_altitude_deg=40.0, count=5).table()
    assert len(table) == 5
    assert (table["altitude_deg"] >= 40.0).all()


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda garden: garden.plan("2026-13-01"), "YYYY-MM-DD"),
        (lambda garden: garden.look("Nonsense", EVENING), "Nonsense"),
        (lambda garden: garden.plan(EVENING, site="Nowhere"), "Nowhere"),
        (lambda garden: garden.plan(EVENING, telescope=["200 mm f/6 reflector"]), "two telescopes"),
        (lambda garden: garden.plan(EVENING, telescope=["a", "b"], observers=3), "1 or 2"),
        (lambda garden: garden.plan(EVENING, observers=2), "need two telescopes"),
        (lambda garden: garden.journal("none.sqlite"), "no journal"),
    ],
)
def test_what_is_wrong_is_a_sentence(
    garden: Observatory, ask: Callable[[Observatory], object], words: str
) -> None:
    """The same faults as at the command line."""
    with pytest.raises(InputError, match=words):
        ask(garden)


def test_a_wrong_file_is_refused_when_it_is_opened(tmp_path: Path) -> None:
    """Not only when the first night is asked for."""
    path = tmp_path / "kit.toml"
    path.write_text("[observer]\ndark_pupil = 6\n", "utf-8")
    with pytest.raises(SettingsError, match="dark_pupil"):
        planner.open_config(path)


def test_answers_cannot_be_changed(garden: Observatory) -> None:
    """They are values."""
    with pytest.raises(FrozenInstanceError):
        garden.trains().trains = ()  # type: ignore[misc]


def test_importing_the_planner_loads_nothing() -> None:
    """Every command imports it first."""
    code = "import sys, planner; print(sorted(m for m in sys.modules if m.startswith('planner.')))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_the_season_is_drawn() -> None:
    """The example prints a bar for each target and month: M13 is high in summer, M42 in winter."""
    run = subprocess.run(
        [sys.executable, "-W", "error", str(EXAMPLES / "season.py")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    rows = {line.split()[0]: line.split()[1:] for line in run.stdout.splitlines()[2:]}
    assert len(rows["M42"]) == 12
    assert rows["M42"][0].startswith("||")
    assert rows["M42"][5] == "."
    assert len(rows["M13"][5]) >= 6
