"""``kit try``, ``barrels``, ``start`` and ``--year`` as a user meets them."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.text import cell_width

Run = Callable[..., tuple[int, str, str]]
# M13, M31 and Jupiter.
FEW = ("--list", str(Path(__file__).parent / "few.txt"))
CANDIDATE = ("--focal-length", "17", "--apparent-field", "72", "--barrel", "1.25in")


@pytest.fixture(autouse=True)
def few_nights(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nine nights stand for the year."""
    monkeypatch.setattr("planner.cli.kit.advice.EVERY_DAYS", 43)


@pytest.mark.parametrize(
    "words",
    [
        ("try", *CANDIDATE, "--eye-relief", "15", "--mass", "900"),
        ("try", "--candidate", "40 60 2in", "--barlow", "3", "--fields", "1"),
        ("try", "--focal-length", "8-20", "--apparent-field", "62-46", "--barrel", "1.25in"),
        ("barrels",),
        ("start", "--count", "2"),
        ("start", "--count", "8", "--barlow", "2"),
        ("start", "--telescope", "80 mm f/6 refractor"),
    ],
    ids=" ".join,
)
def test_every_line_fits_80_columns(run: Run, words: tuple[str, ...]) -> None:
    """Drawings and tables too; nothing is said beside the data."""
    status, out, err = run("kit", *words, *FEW)
    assert (status, err) == (0, "")
    assert out
    assert max(map(cell_width, out.splitlines())) <= 80
    assert " nan" not in out.lower()


def test_a_trial_says_what_it_wins(run: Run) -> None:
    """A verdict, the mass that the mount does not bear, and drawings of what gains."""
    status, out, _ = run("kit", "try", "--candidate", "22 96 2in", *FEW)
    assert status == 0
    assert "M31 Andromeda Galaxy" in out
    assert "30 mm 70, 40x" in out
    assert "22 mm 96 deg, 55x" in out
    assert "balance" not in out
    heavy = run("kit", "try", *CANDIDATE, "--mass", "900", *FEW)[1]
    assert "the mass changes by up to 720 g; the mount bears 250 g" in " ".join(heavy.split())


def test_the_json_of_a_trial(run: Run) -> None:
    """Its schema, and numbers that agree with each other."""
    _, out, _ = run(
        "kit", "try", *CANDIDATE, "--candidate", "12 60 1.25in", "--format", "json", *FEW
    )
    content = json.loads(out)
    assert content["schema"] == "fieldstop.kit-try/1"
    assert content["nights"] == 9
    first, second = content["candidates"]
    assert first["gain_percent"] >= second["gain_percent"]
    for found in (first, second):
        assert found["looks_won"] == sum(target["looks"] for target in found["targets"])
        assert found["looks_won"] <= content["looks"]


def test_the_page_of_a_trial_shows_both_views(run: Run) -> None:
    """Of a target that the candidate wins: today's best first, both pictures in the page itself."""
    status, out, err = run("kit", "try", "--candidate", "22 96 2in", "--format", "html", *FEW)
    assert (status, err) == (0, "")
    assert out.startswith("<!DOCTYPE html>")
    now, then = out.index("now: 30 mm 70, 40x"), out.index("then: 22 mm 96 deg, 55x")
    assert now < then
    assert out.count('src="data:image/png;base64,') >= 2
    assert "not a photograph" in out
    # Of the candidate's powers with the kit's Barlow only the bare one: it is too wide for it.
    assert out.count('class="new-rung"') == 1
    assert out.count('class="rung"') == 9
    without = run("kit", "try", *CANDIDATE, "--fields", "0", "--format", "html", *FEW)[1]
    assert "<img" not in without
    assert "photograph" not in without


def test_the_page_of_barrels_shows_the_way_of_the_light(run: Run) -> None:
    """Stops of 27 and 46 mm at 1200 mm, by hand: 1.29 and 2.20 deg; stops drawn to one scale."""
    status, out, err = run("kit", "barrels", "--format", "html", *FEW)
    assert (status, err) == (0, "")
    assert "2 arctan(27 / (2 x 1200)) = 1.29 deg" in out
    assert "2 arctan(46 / (2 x 1200)) = 2.20 deg" in out
    # From the edge of the stop to the barrel's: (31.75 - 27) / 2 and (50.8 - 46) / 2 mm.
    edges = re.findall(r'class="rung stop" d="M [\d.]+ ([\d.]+) V ([\d.]+)"', out)
    rims = [abs(float(start) - float(end)) for start, end in edges]
    assert rims[0] / rims[2] == pytest.approx(4.75 / 4.8, abs=0.03)
    stops = [abs(float(edge) - 125.0) for edge, _ in edges]
    assert stops[2] / stops[0] == pytest.approx(46.0 / 27.0, abs=0.01)
    assert "no mark of quality" in out


def test_the_json_of_barrels_and_of_a_set(run: Run) -> None:
    """Schemas, and as many eyepieces as were asked for."""
    barrels = json.loads(run("kit", "barrels", "--format", "json", *FEW)[1])
    assert barrels["schema"] == "fieldstop.kit-barrels/1"
    assert [b["barrel"] for b in barrels["barrels"]] == ["1.25in", "2in"]
    start = json.loads(run("kit", "start", "--count", "4", "--format", "json", *FEW)[1])
    assert start["schema"] == "fieldstop.kit-start/1"
    assert len(start["eyepieces"]) == 4
    assert sum(e["looks"] for e in start["eyepieces"]) == start["looks"]
    assert start["usual_percent"] <= start["best_three_percent"] <= start["most_percent"]


def test_barrels_are_no_mark_of_quality(run: Run) -> None:
    """It says so, with the formula and its numbers."""
    out = " ".join(run("kit", "barrels", *FEW)[1].split())
    assert "2 arctan(field stop / (2 x 1200 mm))" in out
    assert "no mark of quality" in out
    assert "37.2 mm eyepiece is the longest that wastes nothing" in out


def test_the_audit_with_a_year(run: Run) -> None:
    """What each eyepiece is for; without the option nothing of it, as before."""
    plain = run("kit")[1]
    assert "What each eyepiece is for" not in plain
    whole = run("kit", "--year")[1]
    assert whole.startswith(plain)
    assert "- 5 mm 60: wins nothing" in whole
    assert max(map(cell_width, whole.splitlines())) <= 80
    content = json.loads(run("kit", "--year", "--format", "json")[1])
    assert content["year"]["eyepieces"][0]["eyepiece"] == "30 mm 70"


def test_the_audit_tells_steps_and_masses(run: Run) -> None:
    """Powers 40, 67, 100, 150, 240: steps of 1.67, 1.5, 1.5, 1.6; 520 against 180 g."""
    out = " ".join(run("kit")[1].split())
    assert "Steps of power without amplifier: 1.67, 1.50, 1.50, 1.60" in out
    assert "From 12 mm 60 (180 g) to 30 mm 70 (520 g) the mass changes by 340 g" in out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("start", "--count", "0"), '--count "0": allowed is a whole number from 1 to 8'),
        (("start", "--count", "50"), '--count "50": allowed is a whole number from 1 to 8'),
        (("start", "--barlow", "1"), "--barlow"),
        (("try",), "Nothing to try"),
        (("try", *CANDIDATE, "--fields", "4"), "--fields"),
        (("try", *CANDIDATE, "--list", "nowhere"), "nowhere"),
        (("try", *CANDIDATE, "--date", "2053-06-01"), "a year must fit"),
        (("barrels", "--site", "Nowhere"), "Nowhere"),
        (("--telescope", "x", "start"), 'Put the options behind "start".'),
        (("--year", "start"), 'Put the options behind "start".'),
    ],
    ids=str,
)
def test_wrong_input_is_a_sentence(run: Run, words: tuple[str, ...], sentence: str) -> None:
    """Status 2, nothing on standard output."""
    status, out, err = run("kit", *words)
    assert (status, out) == (2, "")
    assert sentence in err


def test_a_list_that_is_never_up_is_told(run: Run, tmp_path: Path) -> None:
    """Status 1 with the reason: the list is right, and nothing of it rises."""
    path = tmp_path / "south.txt"
    path.write_text("NGC 104\n", "utf-8")
    status, out, err = run("kit", "start", "--list", str(path))
    assert (status, out) == (1, "")
    assert "No night of the year shows any of these targets from Garden." in err


def test_every_option_is_explained(run: Run) -> None:
    """Each has words behind its name, within 80 columns."""
    for command in ("try", "barrels", "start"):
        _, out, _ = run("kit", command, "--help")
        options = [line for line in out.splitlines() if line.startswith("  -")]
        assert len(options) > 4
        assert all(len(line) <= 80 for line in out.splitlines())
        assert all(line.rstrip().endswith(".") for line in options)


def test_a_set_beside_what_is_there_in_one_size(run: Run) -> None:
    """Options as a buyer gives them: a 25 mm of 52 deg is there; only 1.25 inch; a Barlow."""
    words = ("start", "--have", "25 52", "--barrel", "1.25in", "--barlow", "2")
    status, out, err = run("kit", *words, "--format", "json", *FEW)
    assert (status, err) == (0, "")
    content = json.loads(out)
    owned = [e for e in content["eyepieces"] if e["owned"]]
    assert [e["focal_length_mm"] for e in owned] == [25.0]
    assert {e["barrel"] for e in content["eyepieces"]} == {"1.25in"}
    bought = [e for e in content["eyepieces"] if not e["owned"]]
    assert all(low < high for e in bought for low, high in [e["class_eye_relief_mm"]])
    text = run("kit", *words, *FEW)[1]
    assert "own    25 mm" in text


def test_a_budget_with_costs_of_ones_own(run: Run, tmp_path: Path) -> None:
    """No more is spent; a file without a cost, or without a budget, is answered in a sentence."""
    path = tmp_path / "wanted.toml"
    table = '[[eyepiece]]\nfocal_length_mm = {}\napparent_field_deg = 60\nbarrel = "1.25in"\n'
    tables = [table.format(f) + f"name = 'N{f}'\ncost = {c}\n" for f, c in ((9, 50), (20, 70))]
    path.write_text("\n".join(tables), "utf-8")
    out = run("kit", "start", "--file", str(path), "--budget", "60", *FEW)[1]
    assert "Within 60 that is N9 (50), 50 in all, by your own figures." in " ".join(out.split())
    assert "--budget and --file go together" in run("kit", "start", "--budget", "60", *FEW)[2]
    path.write_text(table.format(9) + "name = 'N'\n", "utf-8")
    words = ("start", "--file", str(path), "--budget", "60", *FEW)
    assert "N has no cost" in run("kit", *words)[2]
    tried = run("kit", "try", "--candidate", "9 60 1.25in", "--fields", "0", *FEW)[1]
    assert "It costs" not in tried


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--have", "25"), '--have "25": allowed are focal length [mm] and apparent field'),
        (("--have", "40 100"), "takes no barrel of 3in"),
        (("--count", "1", "--have", "25 52", "--have", "10 52"), "is fewer than --have names"),
        (("--barrel", "0.965in"), "takes no barrel of 0.965in"),
    ],
    ids=str,
)
def test_a_set_that_cannot_be_asked_for(
    run: Run, words: tuple[str, ...], sentence: str, small_focuser: tuple[str, ...]
) -> None:
    """Status 2, and a sentence."""
    status, out, err = run("kit", "start", *words, *small_focuser)
    assert (status, out) == (2, "")
    assert sentence in err


@pytest.fixture
def small_focuser(tmp_path: Path) -> tuple[str, ...]:
    """Return the option that names a configuration whose telescope takes 1.25 and 2 inch alone."""
    path = tmp_path / "kit.toml"
    example = Path("planner/config/example.toml").read_text("utf-8")
    path.write_text(example, "utf-8")
    return "--config", str(path)


def test_barrels_are_answered_in_three_sentences_first(run: Run) -> None:
    """Before any table or formula."""
    out = run("kit", "barrels", *FEW)[1]
    answer = " ".join(out.split("\n\n")[1].split())
    assert answer.count(". ") == 2
    assert "1.25in" in answer
    assert "2in" in answer
