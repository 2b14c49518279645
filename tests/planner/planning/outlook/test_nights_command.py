"""``fieldstop nights`` as a user types it."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest


def test_without_options_it_shows_a_month_from_tonight(run: Any) -> None:
    """Thirty nights, the first of them tonight, at the first site with the first telescope."""
    status, out, err = run("nights")
    assert status == 0
    assert out.startswith("30 nights from Wed 25 Nov 2026, Garden (Europe/London), 200 mm f/6")
    assert "Thu 24 Dec" in out
    assert "showpieces" in out
    assert err == ""


def test_after_midnight_tonight_is_still_the_evening_before(run: Any) -> None:
    """At two in the morning the first night is the one that is under way, from now on."""
    now = datetime(2026, 11, 26, 2, 3, tzinfo=UTC)
    status, out, _ = run("nights", "--count", "1", "--format", "json", now=now)
    (night,) = json.loads(out)["nights"]
    assert status == 0
    assert night["date"] == "2026-11-25"
    assert night["window_start"] == "2026-11-26T02:05:00+00:00"


def test_a_target_of_several_words_gets_its_best_night(run: Any) -> None:
    """The words after the command are one name; text and JSON name the same night."""
    argv = ("nights", "ring", "nebula", "--count", "5", "--date", "2026-08-10")
    status, text, _ = run(*argv)
    content = json.loads(run(*argv, "--format", "json")[1])
    assert status == 0
    assert content["target"]["id"] == "NGC6720"
    day = datetime.fromisoformat(content["target"]["best_night"])
    assert f"M57 Ring Nebula (from dusk to dawn): {day:%a} {day.day} {day:%b}" in " ".join(
        text.split()
    )


def test_lists_of_every_sort_become_the_wish_list(run: Any, tmp_path: Path) -> None:
    """Messier, Caldwell and a file of one's own; the file goes by its name without folders."""
    own = tmp_path / "winter.txt"
    own.write_text("M42\nM45  # the Pleiades\nM31\n", "utf-8")
    for name, count, title in (
        ("messier", 110, "messier"),
        ("caldwell", 109, "caldwell"),
        (str(own), 3, "winter.txt"),
    ):
        status, out, _ = run("nights", "--count", "1", "--list", name, "--format", "json")
        assert status == 0
        assert json.loads(out)["wish_list"]["count"] == count
        assert json.loads(out)["wish_list"]["name"] == title


def test_brighter_skies_place_fewer(run: Any) -> None:
    """A reading of the sky tells: under lamps less of the list is well placed."""
    placed = []
    for sky in ("21.5", "17.5"):
        _, out, _ = run(
            "nights", "--count", "1", "--date", "2026-12-08", "--sky", sky, "--list", "messier",
            "--format", "json",
        )  # fmt: skip
        placed.append(json.loads(out)["nights"][0]["well_placed"])
    assert placed[1] < placed[0]


def test_it_writes_a_new_file_and_never_over_one(run: Any, tmp_path: Path) -> None:
    """The file holds what would have gone to the screen; a second run leaves it alone."""
    path = tmp_path / "nights.txt"
    argv = ("nights", "--count", "2", "--output", str(path))
    assert run(*argv)[:2] == (0, "")
    text = path.read_text("utf-8")
    assert text == run("nights", "--count", "2")[1]
    status, _, err = run(*argv)
    assert status == 2
    assert "not overwritten" in err
    assert path.read_text("utf-8") == text


@pytest.mark.parametrize("count", ["0", "-1", "367", "400", "many", "1.5"])
def test_an_impossible_count_is_a_sentence(run: Any, count: str) -> None:
    """The count goes from 1 to 366, a year ahead."""
    status, out, err = run("nights", "--count", count)
    assert (status, out) == (2, "")
    assert err == f'fieldstop: --count "{count}": allowed is a whole number from 1 to 366.\n'


@pytest.mark.parametrize(
    ("argv", "sentence"),
    [
        (["M999"], "that list runs from M1 to M110"),
        (["orion", "nebulla"], "nearest"),
        (["Sun"], "Sun"),
        ([""], "no target is named"),
        (["--list", "nowhere.txt"], "there is no such file"),
        (["--from", "23:00", "--until", "22:00"], "--from must come before --until"),
        (["--from", "9"], "write it as in 21:30"),
        (["--date", "2026-02-30"], "not in the calendar"),
        (["--date", "2060-01-01"], "No positions for 2060-01-01"),
        (["--date", "2053-09-20"], "a smaller --count"),
        (["--site", "Gardne"], "Garden"),
        (["--format", "xml"], 'allowed is "text", "json", "html" or "ics"'),
        (["--sky", "30"], "16 and 22.5"),
    ],
)
def test_wrong_input_is_a_sentence(run: Any, argv: list[str], sentence: str) -> None:
    """Whatever is wrong, a sentence says what, nothing is printed, and the status is 2."""
    status, out, err = run("nights", *argv)
    assert (status, out) == (2, "")
    assert sentence in err
    assert "Traceback" not in err
    assert "fault of the program" not in err


def test_all_faults_are_told_at_once(run: Any) -> None:
    """Three wrong options give three sentences."""
    _, _, err = run("nights", "M999", "--count", "0", "--format", "xml")
    assert err.count("fieldstop: ") == 3


def test_a_target_without_a_window_is_status_one(run: Any) -> None:
    """What never rises there is told on standard error; the nights are printed all the same."""
    status, out, err = run("nights", "NGC 104", "--count", "2")
    assert status == 1
    assert "no night has a window for it" in " ".join(out.split())
    assert err.startswith("fieldstop: No night has a window for NGC 104")
    assert "below the horizon" in err


def test_a_list_without_any_target_placed_is_status_one(run: Any, tmp_path: Path) -> None:
    """A list of the far south from England: valid JSON, a sentence, and status 1."""
    south = tmp_path / "south.txt"
    south.write_text("NGC 104\nNGC 5139\n", "utf-8")
    status, out, err = run("nights", "--count", "2", "--list", str(south), "--format", "json")
    assert status == 1
    assert [night["well_placed"] for night in json.loads(out)["nights"]] == [0, 0]
    assert "No night places any target of the list well." in err
