"""``fieldstop targets`` and the lists in plans: as a user meets them."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from planner.cli.bars import bar
from targets.programmes import PROGRAMMES

LIST = """name;ra;dec;type;size;mag;notes
M42;;;;;;sketch it
My spot;05:35:17;-05:23:28;asterism;30;5;seen by a friend
"""
BAD = LIST + "Nowhere;;;;;;\nX1;400;5;;;;\n"
# An invented comet, well placed in the evenings of December 2026, in the published layout.
COMET = (
    "    CK26A010  2027 01 10.5000  0.714142  1.000000  130.5887  282.4707   45.4300  {epoch}"
    "   5.5  4.0  C/2026 A1 (Invented)                                     MPC106342\n"
)
FRESH = COMET.format(epoch="20261120")
EVENING = ("--date", "2026-12-20")

Write = Callable[[str, str | bytes], str]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """Return the folder in which the program keeps things in these tests."""
    return tmp_path / "home" / "data"


def files_in(folder: Path) -> dict[str, bytes]:
    """Return all files of a folder with their content."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_list_is_kept_shown_planned_with_and_removed(run: Any, write: Write, data: Path) -> None:
    """The whole life of a list."""
    added = run("targets", "add", write("winter.csv", LIST))
    assert added.status == 0
    assert "line 2: M42 Orion Nebula, from the catalogue" in added.out
    assert "Kept 2 targets as list winter" in added.out.replace("\n", " ")
    assert list(files_in(data)) == ["lists/winter.list.json"]
    listed = run("targets", "list", "--format", "json").json["lists"]
    assert listed[-1] == {
        "name": "winter", "title": "from winter.csv", "targets": 2, "seen": None, "own": True,
    }  # fmt: skip
    shown = run("targets", "show", "Winter")
    assert "sketch it" in shown.out
    assert "My spot" in shown.out
    plan = run("plan", "--list", "winter", "--date", "2027-01-08", "--format", "json").json
    names = {entry["target"]["name"] for entry in (*plan["looks"], *plan["left_out"])}
    assert names == {"M42 Orion Nebula", "My spot"}
    removed = run("targets", "remove", "winter")
    assert removed.out == "The list winter is removed.\n"
    assert files_in(data) == {}


def test_notes_are_shown_in_plan_and_look(run: Any, write: Write) -> None:
    """In words that tell whose they are, and in JSON under a key of their own."""
    run("targets", "add", write("winter.csv", LIST))
    text = run("plan", "--list", "winter", "--date", "2027-01-08", "--from", "21:00").out
    assert "your note: sketch it" in text
    look = run("look", "my spot", "--date", "2027-01-08")
    assert "your note: seen by a friend" in look.out
    assert look.status == 0
    found = run("look", "my spot", "--date", "2027-01-08", "--format", "json").json["target"]
    assert (found["own_note"], found["constellation"]) == ("seen by a friend", "Ori")


def test_bad_lines_keep_everything_out_unless_asked_for(run: Any, write: Write, data: Path) -> None:
    """Nothing is half done; with --keep-good the rest is kept, and both say so."""
    path = write("winter.csv", BAD)
    refused = run("targets", "add", path)
    assert refused.status == 2
    assert "Nothing is kept, because of 2 lines refused" in refused.out.replace("\n", " ")
    assert "line 4: no target is called 'Nowhere'" in refused.out
    assert "line 5: right ascension 400 deg is outside 0 to 360" in refused.out
    assert files_in(data) == {}
    kept = run("targets", "add", path, "--keep-good", "--name", "good")
    assert kept.status == 0
    assert "Kept 2 targets as list good, without 2 lines refused" in kept.out.replace("\n", " ")
    assert list(files_in(data)) == ["lists/good.list.json"]


def test_a_report_as_json_leaves_nothing_out(run: Any, write: Write) -> None:
    """Every line stands in it, however many."""
    names = "".join(f"zz{number}\n" for number in range(200))
    report = run("targets", "add", write("long.txt", "M1\n" + names), "--format", "json")
    assert report.status == 2
    assert len(report.json["refused"]) == 200
    assert len(report.json["read"]) == 1
    text = run("targets", "add", write("long.txt", "M1\n" + names)).out
    assert "and 170 more" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_another_folder(run: Any, write: Write, tmp_path: Path, data: Path) -> None:
    """--data names it for adding, listing, planning and removing alike."""
    other = ("--data", str(tmp_path / "other"))
    assert run("targets", "add", write("winter.csv", LIST), *other).status == 0
    assert files_in(data) == {}
    assert "winter" in run("targets", "list", *other).out
    assert "winter" not in run("targets", "list").out
    assert run("plan", "--list", "winter", *other, "--date", "2027-01-08").status == 0
    nights = run("nights", "--list", "winter", *other, "--date", "2027-01-08", "--count", "1")
    assert nights.status == 0
    assert run("plan", "--list", "winter", "--date", "2027-01-08").status == 2
    assert run("targets", "remove", "winter", *other).status == 0


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("targets", "add", "nowhere.csv"), '"nowhere.csv": there is no such file'),
        (("targets", "add", "."), "this is a folder"),
        (("targets", "add", "a\0b"), "this is not a path"),
        (("targets", "add", "FILE", "--name", "a/b"), "up to 40 letters"),
        (("targets", "add", "FILE", "--name", "messier"), "programme"),
        (("targets", "add", "FILE", "--name", "taken"), 'there is a list "taken" already'),
        (("targets", "show", "nothing"), 'no list of your own is called "nothing"; there is taken'),
        (("targets", "remove", "nothing"), 'no list of your own is called "nothing"'),
        (("targets", "remove", "messier"), "it stays"),
        (("targets", "find", "?!"), "not part of a name"),
        (("targets", "list", "--format", "xml"), 'allowed is "text" or "json"'),
        (("targets", "list", "--data", ""), "not a path to a folder"),
        (("plan", "--list", "nothing"), "messier, caldwell, bright-planetaries"),
    ],
)
def test_wrong_input_gets_a_sentence(
    run: Any, write: Write, data: Path, argv: tuple[str, ...], said: str
) -> None:
    """And nothing is changed."""
    path = write("winter.csv", LIST)
    run("targets", "add", path, "--name", "taken")
    before = files_in(data)
    result = run(*(path if word == "FILE" else word for word in argv))
    assert (result.status, result.out) == (2, "")
    assert said in result.err
    assert "Traceback" not in result.err
    assert files_in(data) == before


@pytest.mark.parametrize("content", [LIST, FRESH])
def test_a_table_is_no_plain_list(run: Any, write: Write, content: str) -> None:
    """Who plans with one is told which command reads it."""
    result = run("plan", "--list", write("winter.csv", content))
    assert result.status == 2
    assert result.err.splitlines()[-1].endswith('read by "fieldstop targets add FILE".')


def test_find(run: Any, write: Write) -> None:
    """By a part of a name, the user's own targets first."""
    run("targets", "add", write("winter.csv", LIST))
    out = run("targets", "find", "spot").out
    assert out.splitlines()[2].startswith("My spot ")
    assert "NGC 6992 Eastern Veil" in run("targets", "find", "veil").out
    nothing = run("targets", "find", "zzzz")
    assert (nothing.status, nothing.out) == (1, "")
    assert "in its name" in nothing.err


@pytest.mark.parametrize("name", PROGRAMMES)
def test_every_programme_can_be_shown_and_planned(run: Any, name: str) -> None:
    """By its name, in capitals or not."""
    shown = run("targets", "show", name)
    assert shown.status == 0
    assert all(len(line) <= 80 for line in shown.out.splitlines())
    assert run("plan", "--list", name.upper(), "--date", "2026-12-08", "--count", "1").status == 0


def test_first_light_tells_the_seasons(run: Any) -> None:
    """Five targets for each."""
    shown = run("targets", "show", "first-light", "--format", "json").json["targets"]
    notes = [item["note"] for item in shown]
    assert {note: notes.count(note) for note in notes} == {
        f"evenings of the northern {season}": 5
        for season in ("spring", "summer", "autumn", "winter")
    }


def test_progress_comes_from_the_journal(run: Any, write: Write) -> None:
    """What was seen counts, in programmes and in own lists; before that nobody knows."""
    run("targets", "add", write("winter.csv", LIST))
    assert run("targets", "list", "--format", "json").json["lists"][0]["seen"] is None
    added = run("journal", "add", "M42", "--eyepiece", "18 mm 65", "--at", "2026-11-24T22:00")
    assert added.status == 0, added.err
    seen = {
        item["name"]: item["seen"]
        for item in run("targets", "list", "--format", "json").json["lists"]
    }
    assert (seen["messier"], seen["caldwell"], seen["winter"], seen["first-light"]) == (1, 0, 1, 1)
    shown = run("targets", "show", "winter")
    assert "1 of 2 seen" in shown.out
    assert any(line.endswith(" seen") for line in shown.out.splitlines()[1:])


def test_the_journal_knows_own_targets_and_comets(run: Any, write: Write) -> None:
    """By their names, with their kinds; and their list counts them as seen."""
    run("targets", "add", write("winter.csv", LIST))
    run("targets", "add", write("comets.txt", FRESH))
    for name in ("my spot", "C/2026 A1"):
        added = run("journal", "add", name, "--eyepiece", "18 mm 65", "--at", "2026-11-24T22:00")
        assert added.status == 0, added.err
    kinds = {
        entry["target"]["kind"]
        for entry in run("journal", "list", "--format", "json").json["entries"]
    }
    assert kinds == {"asterism", "comet"}
    lists = run("targets", "list", "--format", "json").json["lists"]
    assert {item["name"]: item["seen"] for item in lists if item["own"]} == {
        "winter": 1,
        "comets": 1,
    }
    only = run("journal", "list", "--target", "c/2026 a1", "--format", "json").json["entries"]
    assert [entry["target"]["name"] for entry in only] == ["C/2026 A1 (Invented)"]


def test_a_comet_joins_the_plan(run: Any, write: Write) -> None:
    """Without being asked for; what is expected and what is assumed is told."""
    added = run("targets", "add", write("comets.txt", FRESH))
    assert added.status == 0
    assert added.err == ""
    text = run("plan", *EVENING).out
    assert "C/2026 A1 (Invented) (comet)" in text
    assert "expected magnitude" in text
    assert text.count("expected magnitude") == 1
    assert "coma assumed" in " ".join(text.split())
    looks = run("plan", *EVENING, "--list", "comets", "--format", "json").json["looks"]
    assert [look["target"]["kind"] for look in looks] == ["comet"]
    assert "elements are" not in looks[0]["target"]["note"]


def test_without_elements_there_are_no_comets(run: Any) -> None:
    """Who asks for them is told where they come from."""
    result = run("plan", *EVENING, "--kind", "comet")
    assert result.status == 1
    assert "fieldstop targets add FILE" in result.err


@pytest.mark.parametrize("argv", [("look", "c/2026 a1"), ("nights", "invented", "--count", "2")])
def test_a_comet_is_known_by_its_name(run: Any, write: Write, argv: tuple[str, ...]) -> None:
    """To look and nights, text and JSON."""
    run("targets", "add", write("comets.txt", FRESH))
    for form in ("text", "json"):
        result = run(*argv, *EVENING, "--format", form)
        assert result.status == 0, result.err
        assert "C/2026 A1 (Invented)" in result.out


def test_a_whole_database_of_orbits_is_refused(run: Any, write: Write, data: Path) -> None:
    """With advice that fits such a file, not one for tables."""
    result = run("targets", "add", write("all.txt", FRESH * 20_001))
    assert result.status == 2
    assert "20,001 bodies" in result.err
    assert files_in(data) == {}


def test_old_elements_are_warned_about(run: Any, write: Write) -> None:
    """When they are added, and wherever the comet is shown."""
    old = write("comets.txt", COMET.format(epoch="20260601"))
    assert "elements are 178 days old" in run("targets", "add", old).err
    assert "elements are" in run("look", "C/2026 A1", *EVENING).out
    assert "elements are 178 days old" in run("targets", "show", "comets").out


def test_a_damaged_list_does_not_stop_a_plan(run: Any, write: Write, data: Path) -> None:
    """It is told; only asking for that list is a mistake."""
    run("targets", "add", write("comets.txt", FRESH))
    path = data / "lists" / "comets.orbits.json"
    path.write_text(path.read_text("utf-8")[:100], "utf-8")
    plan = run("plan", *EVENING)
    assert plan.status == 0
    assert "is damaged" in plan.out.replace("\n         ", " ")
    assert run("plan", *EVENING, "--list", "comets").status == 2
    assert "is damaged" in run("targets", "list").err
    assert run("targets", "remove", "comets").status == 0


def test_a_plan_without_lists_loads_nothing_for_them() -> None:
    """Neither astropy nor pandas, nor a copy of the catalogue."""
    code = (
        "import sys, tempfile, pathlib\n"
        "from datetime import datetime, UTC, date\n"
        "from planner.request.user_targets import stock_for_night\n"
        "from planner.ephemeris.kernel import load_ephemeris\n"
        "from planner.config.settings import example_settings\n"
        "from targets.catalogue.catalogue import load_catalogue\n"
        "stock = stock_for_night(pathlib.Path('/nonexistent'), ephemeris=load_ephemeris(),\n"
        "    site=example_settings(today=date(2026, 1, 1)).sites[0],\n"
        "    instant=datetime(2026, 12, 8, tzinfo=UTC))\n"
        "assert stock.catalogue is load_catalogue() and stock.rows is None\n"
        "slow = {'astropy', 'pandas', 'planner.ephemeris.mpc_files'} & set(sys.modules)\n"
        "assert not slow, slow"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=Path(__file__).parents[3])


def test_lists_of_fixed_targets_are_not_opened_by_a_plain_plan(
    run: Any, write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only those with orbits are, whose bodies may join the night."""
    run("targets", "add", write("winter.csv", LIST))

    def fail(_path: Path) -> None:
        raise AssertionError("a list was opened")

    monkeypatch.setattr("planner.request.user_targets.read_list", fail)
    assert run("plan", "--date", "2026-12-08", "--count", "1").status == 0


def test_kept_lists_hold_no_time_of_the_clock(data: Path, run: Any, write: Write) -> None:
    """The same file gives the same list, whenever it is added."""
    path = write("winter.csv", LIST)
    run("targets", "add", path)
    first = files_in(data)
    run("targets", "remove", "winter")
    run("targets", "add", path, now=datetime(2027, 3, 1, tzinfo=UTC) + timedelta(days=9))
    assert files_in(data) == first
    assert json.loads(first["lists/winter.list.json"])["schema"] == "fieldstop.list/1"


def test_a_long_file_shows_how_far_it_is_on_a_terminal_alone(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not a word where nobody looks on; with a bar standard output is the same."""
    monkeypatch.setattr("targets.files.LONG_PARTS", 1)
    file = tmp_path / "long.csv"
    file.write_text("name,ra (deg),dec (deg)\n" + "".join(f"X{n},{n},1\n" for n in range(9)))
    quiet = run("targets", "add", str(file), "--name", "first", "--data", str(tmp_path))
    assert (quiet.status, quiet.err) == (0, "")
    monkeypatch.setattr("targets.files.Onlooker.shows", bar)
    shown = run("targets", "add", str(file), "--name", "other", "--data", str(tmp_path))
    assert "Reading" in shown.err
    assert shown.out == quiet.out.replace("first", "other")


def test_an_interrupted_reading_keeps_nothing(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C while a list is written: no list, no half of one, status 130."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    file = tmp_path / "own.csv"
    file.write_text("name,ra (deg),dec (deg)\nX1,10,1\n")
    monkeypatch.setattr("targets.files.os.fsync", interrupt)
    result = run("targets", "add", str(file), "--name", "own", "--data", str(tmp_path))
    assert result.status == 130
    assert list((tmp_path / "lists").iterdir()) == []
