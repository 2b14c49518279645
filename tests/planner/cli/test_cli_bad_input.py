"""Wrong input of every sort: a sentence, exit status 2, nothing printed, nothing overwritten."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


def _refused(result: Any, *sentences: str, status: int = 2) -> None:
    assert (result.status, result.out) == (status, "")
    assert "Traceback" not in result.err
    assert "fault of the program" not in result.err
    for sentence in sentences:
        assert sentence in result.err


@pytest.mark.parametrize(
    ("argv", "sentence"),
    [
        (["plam"], "No such command 'plam'. Did you mean 'plan'?"),
        (["plan", "--dat", "x"], "No such option: --dat (Possible options: --data, --date"),
        (["plan", "--date"], "Option '--date' requires an argument. \"fieldstop "),
        (["plan", "M31"], "unexpected extra argument"),
        (["look"], "Missing argument 'TARGET'."),
        (["look", " "], "no target is named"),
        (
            ["plan", "--format", "xml"],
            '--format "xml" is unknown; allowed is "text", "json", "html",',
        ),
        (["kit", "--format", "csv"], 'unknown; allowed is "text", "json" or "html".'),
        (["nights", "--format", "csv"], 'unknown; allowed is "text", "json", "html" or "ics".'),
        (["plan", "--date", "25.11.2026"], "write year, month and day as in 2026-11-25"),
        (["plan", "--date", "20261125"], "write year, month and day as in 2026-11-25"),
        (["plan", "--date", "2026-02-30"], '--date "2026-02-30" is not in the calendar.'),
        (["plan", "--date", "0000-01-01"], "is not in the calendar"),
        (["plan", "--date", "1899-01-01"], "covers the nights from 1899-07-30 to 2053-10-06."),
        (["plan", "--date", "9999-12-31"], "covers the nights from 1899-07-30 to 2053-10-06."),
        (["plan", "--from", "noon"], '--from "noon" is not a time; write it as in 21:30, or'),
        (["plan", "--until", "24:00"], '--until "24:00" is no time of day'),
        (["plan", "--from", "23:00", "--until", "22:00"], "--from must come before --until"),
        (["plan", "--from", "01:00", "--until", "23:00"], "--from must come before --until"),
        (["plan", "--from", "22:00", "--until", "22:10"], "too short, 22:00 to 22:10; allowed is"),
        (["plan", "--count", "0"], '--count "0": allowed is a whole number from 1 to 100.'),
        (["plan", "--count", "-1"], '--count "-1": allowed is a whole number from 1 to 100.'),
        (["plan", "--count", "2.5"], '--count "2.5": allowed is a whole number from 1 to 100.'),
        (["plan", "--count", "\u0663"], "allowed is a whole number from 1 to 100."),
        (["plan", "--kind", "galaxi"], 'is not a kind of target; did you mean "galaxy"?'),
        (["plan", "--kind", "nonsense"], 'allowed is "open cluster", "globular cluster"'),
        (["plan", "--kind", ""], "is not a kind of target"),
        (["plan", "--constellation", "Orian"], "nearest are Ori (Orion)"),
        (["plan", "--min-altitude", "high"], "allowed is a number from 0 to 85 deg."),
        (["plan", "--min-altitude", "-5"], "allowed is a number from 0 to 85 deg."),
        (["plan", "--min-altitude", "nan"], "allowed is a number from 0 to 85 deg."),
        (["plan", "--site", "Gardn"], 'no site is called "Gardn"; did you mean "Garden"?'),
        (["kit", "--telescope", "200 mm"], 'no telescope is called "200 mm"; there is "200 mm f/6'),
        (["plan", "--sky", "dark"], '--sky "dark": allowed is a number.'),
        (["plan", "--sky", "30"], "it lies between 16 and 22.5 mag/arcsec2"),
        (["plan", "--extinction", "inf"], '--extinction "inf": allowed is a number.'),
        (["plan", "--extinction", "2"], "it lies between 0 and 1.5 mag per air mass"),
        (["plan", "--seeing", "VI"], "use I (steady), II, III, IV or V (very bad), or 1 to 5."),
        (["plan", "--transparency", "6"], "allowed is a whole number from 1 to 5."),
        (["look", "M31", "--at", "late"], '--at "late" is not a time; write it as in 21:30'),
        (["look", "M31", "--at", "2026-11-25"], "is not a time; write it as in 21:30"),
        (["look", "M31", "--at", "2026-11-25T25:00"], "is not a time; write it as in 21:30"),
        (["look", "M31", "--at", "0001-01-01T00:00"], "is beyond the calendar"),
        (["look", "M31", "--at", "9999-12-31T23:59-12:00"], "is beyond the calendar"),
        (["look", "M31", "--at", "1850-01-01T20:00"], "covers the nights from 1899-07-30"),
        (["look", "Andromed"], "nearest is Andromeda Galaxy (M31)."),
        (["look", "M111"], "that list runs from M1 to M110."),
        (["look", "x" * 5000], "names have up to 80 characters"),
        (["plan", "--list", ""], "--list"),
        (["plan", "--list", "no/such/file"], "there is no such file; allowed is"),
        (["plan", "--list", "a\0b"], "this is not a path"),
        (["plan", "--config", "a\0b"], "this is not a path"),
        (["plan", "--output", "a\0b"], "this is not a path"),
        (["plan", "--site", "a\0b"], 'no site is called "a?b"'),
        (["look", "a\0b"], "no target is called"),
        (["plan", "--output", "no/such/plan.txt"], 'there is no folder "no/such"'),
        (["plan", "--output", "/"], "is a folder; give the name of a new file"),
        (["plan", "--output", ""], "is a folder; give the name of a new file"),
    ],
)
def test_what_is_typed_wrong_gets_a_sentence(run: Any, argv: list[str], sentence: str) -> None:
    """It says what was found, and what is allowed."""
    _refused(run(*argv), sentence)


def test_all_faults_of_a_line_are_told_at_once(run: Any) -> None:
    """A sentence a line, in the order of the options' readings."""
    result = run("plan", "--date", "x", "--count", "x", "--kind", "x", "--sky", "x", "--from", "x")
    _refused(result, "--date", "--count", "--kind", "--sky", "--from")
    assert len(result.err.splitlines()) == 5
    names = ("--site", "x", "--telescope", "x", "--seeing", "x", "--sky", "1")
    assert len(run("plan", *names).err.splitlines()) == 4


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "the file is empty; needed are at least [[site]], [[telescope]], [[eyepiece]]"),
        (b"\x7fELF\0\0\1", "not a text file; a TOML file in UTF-8 is needed"),
        (b"caf\xe9 = 1", "line 1 holds a character that is not UTF-8"),
        (b"[[site]]\nname = ", "not valid TOML, line 2"),
    ],
)
@pytest.mark.parametrize("command", [["plan"], ["look", "M31"], ["kit"]])
def test_a_broken_configuration_is_refused_by_every_command(
    run: Any, write: Any, content: bytes, sentence: str, command: list[str]
) -> None:
    """Empty, binary, in another encoding, half written."""
    _refused(run(*command, "--config", write("bad.toml", content)), sentence)


def test_a_configuration_that_is_named_must_be_there(run: Any, tmp_path: Path) -> None:
    """The example does not stand in for it; a folder is none."""
    _refused(run("plan", "--config", str(tmp_path / "none.toml")), "no such file")
    _refused(run("plan", "--config", str(tmp_path)), "this is a folder")


@pytest.mark.parametrize(
    ("good", "bad", "sentence"),
    [
        ("[observer]", "[observer]\nage = 3", '"age": no such key'),
        ("aperture_mm = 200", 'aperture_mm = "big"', 'found "big"; allowed is a number'),
        ("focal_length_mm = 12\n", "focal_length_mm = -12\n", "found -12; allowed is a number"),
        ("focal_length_mm = 12\n", "focal_length_mm = 0\n", "found 0; allowed is a number"),
        ("focal_length_mm = 12\n", "focal_length_mm = inf\n", "found inf; allowed is a number"),
        ("focal_length_mm = 12\n", "focal_length_mm = nan\n", "found nan; allowed is a number"),
        ("latitude_deg = 51.2", "latitude_deg = 95", "found 95; allowed is a number from -90"),
        ("Europe/London", "Europe/Londn", "Europe/Londn"),
        (
            "horizon = [[0, 12], [90, 8], [180, 5], [270, 20]]",
            "horizon = [[0, 12]]",
            '"horizon"',
        ),
    ],
)
def test_wrong_values_in_the_configuration_are_named(
    run: Any, write: Any, example_text: str, good: str, bad: str, sentence: str
) -> None:
    """With their place; every command reads the whole file first."""
    assert good in example_text
    path = write("bad.toml", example_text.replace(good, bad, 1))
    _refused(run("plan", "--config", path), sentence, path)


def test_a_kit_without_eyepieces_is_refused(run: Any, write: Any, example_text: str) -> None:
    """There is nothing to look through."""
    before, _, _ = example_text.partition("[[eyepiece]]")
    _refused(run("plan", "--config", write("bare.toml", before)), "[[eyepiece]] is needed")


def test_eyepieces_that_do_not_fit_leave_nothing_to_plan(
    run: Any, write: Any, example_text: str
) -> None:
    """The input is right, so the status is 1; plan's JSON is valid and empty."""
    before, _, rest = example_text.partition("[[eyepiece]]")
    eyepiece, _, _ = rest.partition("[[eyepiece]]")
    path = write(
        "misfit.toml",
        f"{before}[[eyepiece]]{eyepiece}".replace('focuser = "2in"', 'focuser = "1.25in"').replace(
            'adapters = ["1.25in"]', "adapters = []"
        ),
    )
    result = run("plan", "--config", path, "--format", "json")
    assert result.status == 1
    assert (result.json["looks"], result.json["left_out"]) == ([], [])
    assert "30 mm 70 (2in) does not go into the 1.25in focuser." in result.err
    _refused(run("look", "M31", "--config", path), "None of your eyepieces", status=1)
    assert run("kit", "--config", path).status == 0


@pytest.mark.parametrize(
    ("content", "sentences"),
    [
        (b"", ["the list is empty"]),
        (b"# only\n\n  # comments\n", ["the list is empty"]),
        (b"\0\1\2", ["not a text file"]),
        (b"M31\ncaf\xe9\n", ["line 2 holds a character that is not UTF-8"]),
        (b"M31\nM311\nM42\nFoo\n", ["line 2: no target is called 'M311'", "line 4: no target"]),
        (b"M31\nSun\n", ["line 2: the Sun is never a target here"]),
        (b"nonsense\n" * 1000, ["line 50: no target", "the rest is unread"]),
        (b"#" * 300_000, ["larger than 200 kB"]),
    ],
)
def test_a_bad_list_names_its_lines(
    run: Any, write: Any, content: bytes, sentences: list[str]
) -> None:
    """All at once, and a wrong file soon."""
    _refused(run("plan", "--list", write("list.txt", content)), *sentences)


def test_a_folder_is_no_list(run: Any, tmp_path: Path) -> None:
    """It says what is needed."""
    _refused(run("plan", "--list", str(tmp_path)), "this is a folder; a text file")


def test_an_existing_output_is_never_overwritten(run: Any, tmp_path: Path) -> None:
    """Nor is a link that leads nowhere; the folder stays as it was."""
    folder = tmp_path / "mine"
    folder.mkdir()
    kept = folder / "plan.txt"
    kept.write_text("mine", "utf-8")
    (folder / "link.txt").symlink_to(folder / "nowhere")
    for command in (["plan"], ["look", "M31"], ["kit"]):
        for name in ("plan.txt", "link.txt"):
            _refused(run(*command, "--output", str(folder / name)), "is not overwritten")
    assert kept.read_text("utf-8") == "mine"
    assert sorted(path.name for path in folder.iterdir()) == ["link.txt", "plan.txt"]


def test_a_folder_that_cannot_be_written_is_told(run: Any) -> None:
    """No file can be made in /proc, whoever asks."""
    if not Path("/proc/self").is_dir():
        pytest.skip("needs /proc")
    _refused(run("kit", "--output", "/proc/plan.txt"), "cannot be written")


def test_control_characters_do_not_reach_the_screen(run: Any) -> None:
    """A sentence that quotes what was typed shows them as question marks."""
    result = run("plan", "--output", "no\x1b[31m/x\u202e", "--list", "\x1b[2J")
    _refused(result, "no?[31m/x?")
    assert not {"\x1b", "\u202e"} & set(result.err)
