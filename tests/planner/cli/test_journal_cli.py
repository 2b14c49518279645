"""The journal as a user meets it: commands in, sentences and sheets out."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from planner.journal.records import Outcome
from planner.journal.store.journal import Journal, open_journal
from planner.text import cell_width

NIGHT = datetime(2026, 11, 25, 22, 30, tzinfo=UTC)
EVIL = "=1+1 \x1b[31mred\x07 \u202egnp <b>bold</b> \U0001f52d\r\nsecond line"


@pytest.fixture
def kept(tmp_path: Path) -> Any:
    """Return a function that opens the journal which the program has written."""

    def kept() -> Journal:
        return open_journal(tmp_path / "home" / "data" / "journal.sqlite")

    return kept


@pytest.fixture
def add(run: Any) -> Any:
    """Return a function that adds a look and gives the digits of its id."""

    def add(*argv: str, **options: Any) -> str:
        result = run("journal", "add", *argv, **({"now": NIGHT} | options))
        assert result.status == 0, result.err
        return str(result.out.split()[0])

    return add


def test_a_look_is_kept_with_the_kit_as_it_was(add: Any, kept: Any) -> None:
    """Target, time, glass and numbers go into the entry, the evening's sky into its session."""
    add(
        "m", "57", "--eyepiece", "12 mm", "--amplifier", "2x", "--filter", "o iii",
        "--at", "21:05", "--outcome", "suspected", "--rating", "3", "--seeing", "ii",
        "--transparency", "4", "--note", "faint", "--planned", "8 mm 60", "--sketch", "m57.png",
        "--planned-at", "20:40",
    )  # fmt: skip
    with kept() as journal:
        (session,), (entry,) = journal.sessions(), journal.entries()
    assert (session.site, session.evening.isoformat()) == ("Garden", "2026-11-25")
    assert (session.seeing, session.transparency) == ("II", 4)
    assert entry.at == datetime(2026, 11, 25, 21, 5, tzinfo=UTC)
    assert (entry.target.id, entry.target.name) == ("NGC6720", "M57 Ring Nebula")
    train = entry.train
    assert (train.eyepiece, train.amplifier, train.filter) == ("12 mm 60", "2x Barlow", "O III")
    # 1200 mm with 12 mm and a factor of 2; 200 mm of aperture.
    assert train.magnification == pytest.approx(200.0)
    assert train.exit_pupil_mm == pytest.approx(1.0)
    assert (entry.outcome, entry.rating, entry.note) == (Outcome.SUSPECTED, 3, "faint")
    assert (entry.planned_train, entry.sketch) == ("8 mm 60", "m57.png")
    assert entry.planned_at == datetime(2026, 11, 25, 20, 40, tzinfo=UTC)
    assert (entry.seeing, entry.transparency) == (None, None)


def test_one_evening_is_one_session(add: Any, kept: Any) -> None:
    """After midnight it is still the same night; another site or evening is another session."""
    add("M57", "--eyepiece", "12 mm 60", "--at", "2026-11-24T23:50", "--seeing", "II")
    add("M13", "--eyepiece", "12 mm 60", "--at", "2026-11-25T02:10", "--seeing", "IV")
    add("M42", "--eyepiece", "12 mm 60", "--at", "2026-11-25T02:30", "--seeing", "ii")
    add("M31", "--eyepiece", "12 mm 60")
    with kept() as journal:
        first, second = journal.sessions()
        entries = journal.entries()
    assert [entry.session_id for entry in entries] == [first.id] * 3 + [second.id]
    assert (first.seeing, second.seeing) == ("II", None)
    assert [entry.seeing for entry in entries] == [None, "IV", None, None]


@pytest.mark.parametrize(
    ("now", "at", "expected"),
    [
        ("2026-11-25T22:30", None, "2026-11-25T22:30"),
        ("2026-11-25T22:30", "21:05", "2026-11-25T21:05"),
        ("2026-11-26T01:30", "23:05", "2026-11-25T23:05"),
        ("2026-11-26T01:30", "01:05", "2026-11-26T01:05"),
        ("2026-11-26T09:00", "01:05", "2026-11-26T01:05"),
        ("2026-11-26T15:00", "23:05", "2026-11-25T23:05"),  # the last time it was 23:05
        ("2026-11-26T15:00", "01:05", "2026-11-26T01:05"),
    ],
)
def test_a_time_of_day_is_the_last_one_there_was(
    add: Any, kept: Any, now: str, at: str | None, expected: str
) -> None:
    """Whoever notes a night the morning after need not write the date."""
    instant = datetime.fromisoformat(now).replace(tzinfo=UTC)  # London in winter
    add("M57", *(["--at", at] if at else []), now=instant)
    with kept() as journal:
        assert journal.entries()[0].at == datetime.fromisoformat(expected).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["M57", "--eyepiece", "12 mm 61"], 'No eyepiece is called "12 mm 61"; did you mean "12 m'),
        (["dumbell nebula"], "nearest are Dumbbell Nebula (M27), Little Dum"),
        (["M999"], "that list runs from M1 to M110. With --as KIND any name is taken."),
        (["M57", "--telescope", "nine"], 'no telescope is called "nine"'),
        (["M57", "--amplifier", "2x"], "--amplifier and --filter go with an --eyepiece"),
        (["M57", "--eyepiece", "12 mm", "--filter", "H-gamma"], 'No filter is called "H-gamma"'),
        (["M57", "--outcome", "sean"], 'allowed is "seen", "suspected", "not-seen" or "skipped"'),
        (["M57", "--rating", "6"], '--rating "6": allowed is a whole number from 1 to 5.'),
        (["M57", "--seeing", "9"], 'Seeing "9" is not on the Antoniadi scale'),
        (["M57", "--at", "2026-11-26T22:00"], "2026-11-26 22:00 is still to come"),
        (["M57", "--at", "noon"], "is not a time; write it as in"),
        (["M57", "--date", "2026-11-20"], "--date needs --at"),
        (["M57", "--date", "2026-11-20", "--at", "2026-11-24T21:00"], "in the night of 2026-11-24"),
        (["M57", "--site", "Gardn"], 'did you mean "Garden"?'),
        (["X", "--as", "nebula"], "means several"),
        (["Sun"], "Sun"),
        (["M57", "--data", " "], "is not a path to a folder"),
    ],
)
def test_a_mistake_is_named_and_adds_nothing(
    run: Any, argv: list[str], words: str, tmp_path: Path
) -> None:
    """Each is a sentence with what is allowed or near, and there is no journal afterwards."""
    result = run("journal", "add", *argv, now=NIGHT)
    assert result.status == 2
    assert words in result.err
    assert "Traceback" not in result.err
    assert not (tmp_path / "home" / "data").exists()


def test_all_mistakes_are_told_at_once(run: Any) -> None:
    """A target, an eyepiece, an outcome and a rating: four sentences."""
    result = run("journal", "add", "M999", "--eyepiece", "x", "--outcome", "y", "--rating", "z")
    assert len(result.err.splitlines()) == 4


def test_what_the_catalogue_lacks_is_kept_by_name(add: Any, run: Any, kept: Any) -> None:
    """A new comet is a look too, and found again by its name in any case."""
    add("C/2026", "Q9", "Doe", "--as", "comet", "--eyepiece", "30 mm 70")
    add("M31", "--eyepiece", "30 mm 70")
    with kept() as journal:
        assert [entry.target.id for entry in journal.entries()] == ["", "NGC224"]
    result = run("journal", "list", "--target", "c/2026 q9 doe", "--format", "json")
    (entry,) = result.json["entries"]
    assert (entry["target"]["name"], entry["target"]["kind"]) == ("C/2026 Q9 Doe", "comet")


def test_a_zoom_is_kept_as_it_was_set(run: Any, kept: Any, write: Any, example_text: str) -> None:
    """With its setting all numbers are known; without it the power is not guessed."""
    zoom = (
        '\n[[eyepiece]]\nname = "Zoom"\nfocal_length_mm = [8, 20]\n'
        'apparent_field_deg = [62, 46]\nbarrel = "1.25in"\n'
    )
    config = ["--config", write("zoom.toml", example_text + zoom)]
    first = run("journal", "add", "M57", "--eyepiece", "zoom at 12 mm", *config, now=NIGHT)
    second = run("journal", "add", "M57", "--eyepiece", "Zoom", *config, now=NIGHT)
    wrong = run("journal", "add", "M57", "--eyepiece", "Zoom at 30 mm", *config, now=NIGHT)
    assert (first.status, first.err, second.status) == (0, "", 0)
    assert 'Zoom is a zoom: "Zoom at 12 mm" would keep the power too.' in second.err
    assert "Zoom goes from 8 to 20 mm, not to 30 mm." in wrong.err
    with kept() as journal:
        entries = journal.entries()
        set_to, unset = (entry.train for entry in entries)
    assert (set_to.eyepiece, set_to.magnification) == ("Zoom", pytest.approx(100.0))  # 1200 / 12
    # A third of the way from 62 to 46 degrees.
    assert set_to.apparent_field_deg == pytest.approx(62.0 - 16.0 / 3.0)
    assert (unset.eyepiece, unset.magnification, unset.exit_pupil_mm) == ("Zoom", None, None)
    edited = run("journal", "edit", entries[0].id, "--filter", "O III", *config, now=NIGHT)
    assert edited.status == 0, edited.err
    with kept() as journal:
        assert journal.entry(entries[0].id).train.magnification == pytest.approx(100.0)


def test_glass_that_does_not_go_together_is_kept_with_a_word(run: Any) -> None:
    """What was used was used; the configuration may be wrong."""
    result = run(
        "journal", "add", "M45", "--eyepiece", "30 mm 70", "--amplifier", "2x Barlow", now=NIGHT
    )
    assert result.status == 0
    assert "By the configuration this does not go together: 30 mm 70 (2in) does not" in result.err


def test_the_list_is_a_sheet_of_80_columns(add: Any, run: Any) -> None:
    """Nights as headings, every line within 80 cells, nothing that steers a terminal."""
    add("M57", "--eyepiece", "12 mm 60", "--at", "2026-11-24T21:00", "--note", EVIL)
    add("星" * 60, "--as", "galaxy", "--eyepiece", "12 mm 60", "--note", "長" * 200)
    add("M31", "--outcome", "skipped", "--why", "cloud")
    result = run("journal", "list")
    assert (result.status, result.err) == (0, "")
    lines = result.out.splitlines()
    assert max(map(cell_width, lines)) <= 80
    assert lines[0] == "Tue 24 / Wed 25 Nov 2026, Garden"
    assert "Wed 25 / Thu 26 Nov 2026, Garden" in lines
    assert "\x1b" not in result.out
    assert "\u202e" not in result.out
    assert "=1+1 ?[31mred? ?gnp <b>bold</b> \U0001f52d second line" in result.out
    assert lines[-1].strip() == "cloud"


def test_json_keeps_the_contract(add: Any, run: Any) -> None:
    """The keys and units that other programs rely on, null for the unknown, the text unchanged."""
    digits = add("M57", "--eyepiece", "12 mm 60", "--note", EVIL, "--at", "21:00")
    add("M31", "--outcome", "skipped", "--at", "22:00")
    content = run("journal", "list", "--format", "json").json
    assert content["schema"] == "fieldstop.journal/1"
    first, second = content["entries"]
    assert {
        "id", "at", "site", "target", "telescope", "eyepiece", "amplifier", "filter",
        "magnification", "exit_pupil_mm", "planned_eyepiece", "outcome", "seeing", "transparency",
        "rating", "note",
    } <= set(first)  # fmt: skip
    assert first["id"].startswith(digits)
    assert first["note"] == EVIL
    assert first["at"] == "2026-11-25T21:00:00+00:00"
    assert (first["eyepiece"], first["magnification"], first["exit_pupil_mm"]) == (
        "12 mm 60",
        100.0,
        2.0,
    )
    assert first["target"]["id"] == "NGC6720"
    assert (second["eyepiece"], second["magnification"], second["rating"]) == (None, None, None)


def test_a_listed_journal_is_an_exported_one(add: Any, run: Any, tmp_path: Path) -> None:
    """List and export print the same, an evening without a look too; both give all back."""
    add("M57", "--eyepiece", "12 mm 60", "--filter", "o iii", "--note", EVIL, "--at", "21:00",
        "--planned", "8 mm 60", "--planned-at", "20:40", "--seeing", "II")  # fmt: skip
    add("M31", "--eyepiece", "30 mm 70", "--at", "22:00", "--seeing", "IV", "--sketch", "a.png")
    add("Odd one", "--as", "comet", "--at", "2026-11-20T21:00")
    evening = ("--date", "2026-11-18", "--from", "20:00", "--weather", "cloud")
    assert run("journal", "night", *evening).status == 0
    listed = run("journal", "list", "--format", "json").out
    assert listed == run("journal", "export", "--format", "json").out
    path, other = tmp_path / "listed.json", ("--data", str(tmp_path / "other"))
    path.write_text(listed)
    result = run("journal", "import", str(path), *other)
    assert (result.status, "0 refused" in result.out) == (0, True)
    assert run("journal", "export", "--format", "json", *other).out == listed


def test_a_narrowed_list_has_the_sessions_of_its_entries(add: Any, run: Any) -> None:
    """They are what the export has of these entries; other evenings are not told."""
    add("M57", "--eyepiece", "12 mm 60", "--at", "2026-11-20T21:00")
    add("M31", "--eyepiece", "12 mm 60", "--at", "21:00")
    whole = run("journal", "export", "--format", "json").json
    for argv in (("--target", "M31"), ("--since", "2026-11-25"), ("--count", "1")):
        listed = run("journal", "list", "--format", "json", *argv).json
        assert listed["entries"] == whole["entries"][1:]
        assert listed["sessions"] == whole["sessions"][1:]


def test_the_list_is_narrowed(add: Any, run: Any) -> None:
    """By evening, target, eyepiece and number; unknown names are met with the nearest."""
    add("M57", "--eyepiece", "12 mm 60", "--at", "2026-11-20T21:00")
    add("M57", "--eyepiece", "8 mm 60", "--at", "2026-11-24T21:00")
    add("M31", "--eyepiece", "30 mm 70", "--at", "21:00")

    def found(*argv: str) -> list[str]:
        entries = run("journal", "list", "--format", "json", *argv).json["entries"]
        return [entry["eyepiece"] for entry in entries]

    assert found() == ["12 mm 60", "8 mm 60", "30 mm 70"]
    assert found("--target", "ring nebula") == ["12 mm 60", "8 mm 60"]
    assert found("--eyepiece", "8 MM 60") == ["8 mm 60"]
    assert found("--since", "2026-11-24") == ["8 mm 60", "30 mm 70"]
    assert found("--count", "1") == ["30 mm 70"]
    assert "2 earlier ones" in run("journal", "list", "--count", "1").out
    near = run("journal", "list", "--eyepiece", "8 mm 61")
    assert (near.status, 'did you mean "8 mm 60"?' in near.err) == (2, True)
    assert '--since "x" is not a date' in run("journal", "list", "--since", "x").err
    empty = run("journal", "list", "--target", "M13")
    assert (empty.status, empty.out) == (0, "")
    assert "has no such entry" in empty.err


def test_an_entry_is_shown_whole(add: Any, run: Any) -> None:
    """Everything known, a long text in full, within 80 columns."""
    digits = add("M57", "--eyepiece", "12 mm 60", "--note", f"{EVIL} {'x' * 300} end")
    result = run("journal", "show", digits)
    assert result.status == 0
    assert max(map(cell_width, result.out.splitlines())) <= 80
    assert result.out.count("x") >= 300
    assert "12 mm 60, 100x, exit pupil 2.0 mm" in result.out
    assert "22:30 Europe/London, 22:30 UT" in result.out
    assert "\x1b" not in result.out
    assert run("journal", "show", "zz").status == 2


def test_a_correction_keeps_the_former_text(add: Any, run: Any, kept: Any) -> None:
    """The new one counts, the old one is shown under it, in text and in JSON."""
    digits = add("M57", "--eyepiece", "12 mm 60", "--note", "first words", "--rating", "2")
    result = run(
        "journal", "edit", digits, "--note", "second words", "--rating", "none",
        "--eyepiece", "8 mm 60", "--outcome", "not-seen", "--at", "21:15", "--planned-at", "00:10",
        now=NIGHT,
    )  # fmt: skip
    assert result.status == 0, result.err
    assert "Corrected" in result.out
    assert 'note "first words"' in result.out
    with kept() as journal:
        (entry,) = journal.entries()
        (former,) = journal.history(entry.id)
    assert (entry.note, entry.rating, entry.outcome) == ("second words", None, Outcome.NOT_SEEN)
    assert (entry.train.eyepiece, entry.train.magnification) == ("8 mm 60", pytest.approx(150.0))
    assert entry.at == datetime(2026, 11, 25, 21, 15, tzinfo=UTC)
    assert entry.planned_at == datetime(2026, 11, 26, 0, 10, tzinfo=UTC)
    assert (former.record.note, former.record.rating) == ("first words", 2)
    (told,) = run("journal", "show", digits, "--format", "json").json["history"]
    assert told["entry"]["note"] == "first words"


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        ([], "Nothing to correct is given"),
        (["--as", "comet"], "--as goes with --target"),
        (["--rating", "0"], "allowed is a whole number from 1 to 5"),
        (["--at", "2026-11-20T21:00"], "is in the night of 2026-11-20"),
        (["--eyepiece", "9 mm"], "No eyepiece is called"),
        (["--target", "M999"], "no target is called"),
    ],
)
def test_a_wrong_correction_changes_nothing(
    add: Any, run: Any, kept: Any, argv: list[str], words: str
) -> None:
    """It is refused in a sentence, and no former state appears."""
    digits = add("M57", "--eyepiece", "12 mm 60")
    result = run("journal", "edit", digits, *argv, now=NIGHT)
    assert (result.status, words in result.err) == (2, True), result.err
    with kept() as journal:
        assert journal.history(journal.entries()[0].id) == ()


def test_a_session_holds_sky_and_company(add: Any, run: Any, kept: Any) -> None:
    """Noted before, during or after; what entries do not say of themselves comes from it."""
    digits = add("M57", "--eyepiece", "12 mm 60", "--at", "21:00")
    result = run(
        "journal", "night", "--seeing", "II", "--sky", "21.1", "--faintest", "6.2",
        "--weather", "dew", "--with", "Ann", "--with", "Bo", "--until", "22:20", now=NIGHT,
    )  # fmt: skip
    assert result.status == 0, result.err
    assert "seeing II; sky 21.1 mag/arcsec2; stars to 6.2; dew" in " ".join(result.out.split())
    assert "21:00-22:20" in result.out
    assert run("journal", "list", "--format", "json").json["entries"][0]["seeing"] == "II"
    with kept() as journal:
        (session,) = journal.sessions()
    assert session.companions == ("Ann", "Bo")
    assert digits in result.out
    assert run("journal", "night", "--seeing", "I", "--date", "2026-11-01").status == 2
    late = run("journal", "night", "--from", "22:25", now=NIGHT)
    assert "A session ends after its start" in late.err


def test_a_renamed_eyepiece_changes_no_history(
    add: Any, run: Any, write: Any, example_text: str
) -> None:
    """The entry keeps the name and numbers of its day, and can be asked for by that name."""
    digits = add("M57", "--eyepiece", "12 mm 60")
    config = ["--config", write("new.toml", example_text.replace('"12 mm 60"', '"Old Faithful"'))]
    assert "12 mm 60" in run("journal", "list", *config).out
    assert "12 mm 60" in run("journal", "list", "--eyepiece", "12 mm 60", *config).out
    assert run("journal", "edit", digits, "--note", "x", *config, now=NIGHT).status == 0
    assert "12 mm 60, 100x" in run("journal", "show", digits).out


def test_another_folder_is_another_journal(run: Any, tmp_path: Path) -> None:
    """``--data`` names it; it is made when it is not there."""
    folder = str(tmp_path / "elsewhere" / "deep")
    run("journal", "add", "M57", "--eyepiece", "12 mm 60", "--data", folder, now=NIGHT)
    assert "M57" in run("journal", "list", "--data", folder).out
    assert run("journal", "list").out == ""


def test_damage_is_said_and_the_rest_listed(add: Any, run: Any, tmp_path: Path) -> None:
    """The sentence goes to standard error; the list is there."""
    add("M57", "--eyepiece", "12 mm 60")
    path = tmp_path / "home" / "data" / "journal.sqlite"
    path.write_bytes(b"\0" * 100 + path.read_bytes()[100:])
    result = run("journal", "list")
    assert result.status == 0
    assert "was damaged. 1 entry and 1 session could be read" in result.err
    assert "M57 Ring Nebula" in result.out


def test_every_command_has_help(run: Any) -> None:
    """Each says what it does, and each option has a line."""
    out = run("journal", "--help").out
    for name in ("add", "list", "show", "edit", "remove", "restore", "night"):
        assert f"\n  {name} " in out
        told = run("journal", name, "--help")
        assert told.status == 0
        assert max(map(len, told.out.splitlines())) <= 80


def test_to_ask_begins_no_journal(run: Any, tmp_path: Path) -> None:
    """Where there is none, all but add say so, and leave the folder as it is."""
    listed = run("journal", "list")
    assert (listed.status, listed.out) == (0, "")
    assert run("journal", "list", "--format", "json").json["entries"] == []
    assert run("journal", "list", "--removed", "--format", "json").json["entries"] == []
    asked = [run("journal", name, "3f2a") for name in ("show", "edit", "remove", "restore")]
    for result in (listed, *asked):
        assert "There is no journal at" in result.err
    assert not (tmp_path / "home" / "data").exists()


def test_output_goes_to_a_new_file(add: Any, run: Any, tmp_path: Path) -> None:
    """As with every command."""
    add("M57", "--eyepiece", "12 mm 60")
    path = tmp_path / "list.json"
    run("journal", "list", "--format", "json", "--output", str(path))
    assert len(json.loads(path.read_text())["entries"]) == 1
    assert run("journal", "list", "--output", str(path)).status == 2
