"""The guided setup, from the first question to a file that the program reads."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import tomllib
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.cli.main import main
from planner.config.settings import read_settings
from planner.config.setup.draft import Draft, draft_toml
from planner.config.setup.equipment import take_aperture, take_eyepiece, usual_focuser
from planner.config.setup.interview import BACK, STEPS, Interview
from planner.request.options import Surroundings

TODAY = date(2026, 11, 25)
ANSWERS = (
    "51.2 N 2.4 W", "Garden", "690 ft", "20.9", "8 in", "f/6", "25%", "n", "2", "a", "n",
    "30 70 2in", "12 60 1.25", "8-20 62-46 1.25", "", "2x 1.25", "", "oiii 2in", "", "1979", "y",
)  # fmt: skip
Setup = Callable[..., tuple[int, str, str]]


def _answered(*answers: str) -> tuple[Interview, list[str]]:
    interview, said = Interview(TODAY), []
    for answer in answers:
        interview, words = interview.answered(answer)
        said += words
    return interview, said


@pytest.fixture
def setup(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> Setup:
    """Return a function that runs the command with answers on standard input."""

    def setup(*answers: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in answers)))
        around = Surroundings(
            datetime(2026, 11, 25, 12, tzinfo=UTC), tmp_path / "home" / "fs.toml", tmp_path / "data"
        )
        status = main(["setup"], surroundings=around)
        out, err = capsys.readouterr()
        return status, out, err

    return setup


def test_answers_become_a_configuration() -> None:
    """Every answer stands in the file, in the unit that the file has."""
    interview, _ = _answered(*ANSWERS)
    assert interview.is_over
    made = read_settings(draft_toml(interview.draft), source="made", today=TODAY)
    site, telescope = made.sites[0], made.kit.telescopes[0]
    assert (site.name, site.latitude_deg, site.longitude_deg) == ("Garden", 51.2, -2.4)
    assert (site.elevation_m, site.sky_mag_arcsec2) == (210.0, 20.9)
    assert site.timezone == "Europe/London"
    assert (telescope.aperture_mm, telescope.focal_length_mm) == (203.0, 1218.0)
    assert telescope.obstruction_mm == pytest.approx(50.8)
    assert [e.name for e in made.kit.eyepieces] == ["30 mm 70", "12 mm 60", "8-20 mm zoom"]
    assert made.kit.amplifiers[0].factor == 2.0
    assert made.kit.filters[0].name == "O III"
    assert made.observer.spectacles
    assert made.observer.pupil_source == "from age 47"
    assert made.warnings == ()


def test_back_gives_the_question_and_the_draft_before() -> None:
    """From anywhere ``<`` leads back step by step to the first question, and not further."""
    interview = Interview(TODAY)
    course = [interview]
    for answer in ANSWERS:
        interview, _ = interview.answered(answer)
        course.append(interview)
    for expected in reversed(course[:-1]):
        interview, _ = interview.answered(BACK)
        assert (interview.number, interview.draft) == (expected.number, expected.draft)
    assert interview.answered(BACK)[0] == interview


def test_a_wrong_answer_is_asked_again_with_a_sentence() -> None:
    """Each question refuses nonsense and stays where it is."""
    interview = Interview(TODAY)
    for answer in ANSWERS:
        same, said = interview.answered("\u2603 nonsense !")
        if said and interview.question.startswith("What do you call"):
            assert same.number == interview.number + 1
        elif not interview.question.startswith("What do you call"):
            assert same.number == interview.number, interview.question
            assert said
            assert all(sentence.endswith((".", "?")) for sentence in said)
        interview, _ = interview.answered(answer)


def test_what_must_be_answered_takes_no_empty_answer() -> None:
    """Place, aperture, focal length and a first eyepiece; the rest has something usual."""
    interview, needed = Interview(TODAY), 0
    for answer in ANSWERS:
        same, said = interview.answered("")
        needed += said == ("An answer is needed here.",)
        assert same.number in {interview.number, interview.number + 1}
        interview, _ = interview.answered(answer)
    assert needed == 4


def test_a_town_of_many_is_chosen_by_number() -> None:
    """The list has numbers; one of them, or a fuller name, settles it."""
    interview, said = _answered("Springfield")
    assert said[0].startswith("1  ")
    by_number, _ = interview.answered("3")
    by_name, _ = _answered("Springfield, IL")
    assert by_number.draft == by_name.draft
    assert interview.answered("9")[0].number == 0


def test_coordinates_tell_the_nearest_town() -> None:
    """A wrong sign shows: the place is named by what is near."""
    assert "Frome, United Kingdom" in " ".join(_answered("51.2 N 2.4 W")[1])
    assert "France" in " ".join(_answered("48.9 N 2.4 E")[1])


def test_odd_eyepieces_are_told_of_at_once() -> None:
    """82 degrees of 40 mm do not go into 1.25 inch: it is said, and may stand."""
    interview, _ = _answered(*ANSWERS[:11])
    after, said = interview.answered("40 82 1.25")
    assert any("1.25in barrel holds" in sentence for sentence in said)
    assert len(after.draft.eyepieces) == 1


def test_the_same_eyepiece_twice_is_refused_and_another_like_it_gets_a_number() -> None:
    """Names stay different, so that the configuration can be read."""
    interview, _ = _answered(*ANSWERS[:12])
    assert "already" in interview.answered("30 70 2in")[1][0]
    after, _ = interview.answered("30 70 2in 500 g")
    assert [e["name"] for e in after.draft.eyepieces] == ["30 mm 70", "30 mm 70 (2)"]


names = st.text(min_size=1, max_size=30).filter(lambda text: text.strip() not in {"", BACK})


@settings(max_examples=60)
@given(names)
def test_any_name_of_a_place_survives_the_file(name: str) -> None:
    """Quotes, brackets, accents and emoji: read back as written, or refused with a sentence."""
    interview, _ = _answered("51.2 N 2.4 W")
    after, said = interview.answered(name)
    if after.number == interview.number:
        assert said
        return
    text = draft_toml(Draft(site=after.draft.site))
    assert tomllib.loads(text)["site"][0]["name"] == name.strip()


def test_the_command_writes_a_file_and_says_where(setup: Setup, tmp_path: Path) -> None:
    """The folder is made; the file is whole; the program reads it."""
    status, out, _ = setup(*ANSWERS, "y")
    path = tmp_path / "home" / "fs.toml"
    assert status == 0
    assert str(path) in out
    assert [item.name for item in path.parent.iterdir()] == ["fs.toml"]
    assert os.name != "posix" or path.stat().st_mode & 0o777 == 0o600
    assert read_settings(path.read_text("utf-8"), source="", today=TODAY).sites[0].name == "Garden"


def test_nothing_is_written_unless_the_last_answer_is_yes(setup: Setup, tmp_path: Path) -> None:
    """No, or answers that end too early: no file and no folder."""
    for answer in ("n", "", "yeah", "1"):
        assert setup(*ANSWERS, answer)[0] == 1
    for count in range(len(ANSWERS) + 1):
        status, _, err = setup(*ANSWERS[:count])
        assert status == 2
        assert "nothing was written" in err
    assert not (tmp_path / "home").exists()


def test_a_file_that_is_there_is_kept(setup: Setup, tmp_path: Path) -> None:
    """It stays without a yes; with one it is kept beside the new one, each time."""
    path = tmp_path / "home" / "fs.toml"
    path.parent.mkdir()
    path.write_text("old = 1\n", "utf-8")
    assert "is there already" in " ".join(setup(*ANSWERS, "n")[2].split())
    assert path.read_text("utf-8") == "old = 1\n"
    setup(*ANSWERS, "y")
    setup(*ANSWERS, "y")
    assert path.with_name("fs.toml.old").read_text("utf-8") == "old = 1\n"
    assert path.with_name("fs.toml.old1").exists()
    assert not list(path.parent.glob(".fieldstop-*"))


def test_one_can_go_back_from_the_last_question(setup: Setup, tmp_path: Path) -> None:
    """After all is shown, ``<`` leads to the question before."""
    status, _, _ = setup(*ANSWERS, BACK, "n", "y")
    text = (tmp_path / "home" / "fs.toml").read_text("utf-8")
    assert status == 0
    assert tomllib.loads(text)["observer"]["spectacles"] is False


def test_a_folder_that_cannot_be_made_is_a_sentence(setup: Setup, tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "home").write_text("", "utf-8")
    status, _, err = setup(*ANSWERS, "y")
    assert status == 2
    assert "cannot be written" in err


def test_an_interrupt_leaves_nothing_and_says_so(tmp_path: Path) -> None:
    """Ctrl-C at the first question."""
    command = [sys.executable, "-m", "planner", "setup", "--config", str(tmp_path / "x.toml")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        assert run.stderr is not None
        told = b""
        while not told.endswith(b": "):
            told += os.read(run.stderr.fileno(), 1000)
        run.send_signal(signal.SIGINT)
        told = run.communicate()[1]
    assert run.returncode == 130
    assert b"nothing was written" in told
    assert not (tmp_path / "x.toml").exists()


def test_questions_fit_the_screen_and_each_ends_somewhere() -> None:
    """Every question can be shown on a line or two."""
    interview = Interview(TODAY)
    for answer in ANSWERS:
        assert len(interview.question) < 150
        interview, _ = interview.answered(answer)
    assert len(STEPS) == 16


def test_a_star_diagonal_is_usual_for_a_refractor_alone() -> None:
    """The drawings are mirrored with it; an empty answer takes what is usual."""
    for mirror, usual, seen in (("0", "y", "mirrored"), ("25%", "n", "inverted")):
        interview, _ = _answered(*ANSWERS[:6], mirror)
        assert interview.question.endswith(f"[{usual}]")
        assert interview.answered("")[0].draft.telescope["orientation"] == seen
    assert interview.answered("y")[0].draft.telescope["orientation"] == "mirrored"


def test_a_number_that_no_town_has_is_told() -> None:
    """Of eight Springfields there is no ninth and no ninety-ninth; the question stays."""
    interview, _ = _answered("Springfield")
    for number in ("9", "99", "0"):
        after, said = interview.answered(number)
        assert after is interview
        assert said == ("Allowed is 1 to 8; or write the name anew.",)


@pytest.mark.parametrize(
    ("before", "allowed"),
    [(2, "metres, or feet as in 690 ft"), (3, "a class 1 to 9"), (-2, "a year as in 1984")],
)
def test_what_is_no_number_says_what_may_be_written(before: int, allowed: str) -> None:
    """At the height, the sky and the pupil."""
    interview, _ = _answered(*ANSWERS[:before])
    after, said = interview.answered("much")
    assert after is interview
    assert said[0].startswith(f'"much" is not a number; write {allowed}')


def test_the_file_fits_the_screen() -> None:
    """No line is longer than 79 characters, comments included, and whole numbers are whole."""
    text = draft_toml(_answered(*ANSWERS)[0].draft)
    assert max(len(line) for line in text.splitlines()) < 80
    assert "aperture_mm = 203 " in text.replace("\n", " \n")


@pytest.mark.parametrize(
    ("aperture", "barrel"), [("114", "1.25in"), ("76", "1.25in"), ("150", "2in"), ("8 in", "2in")]
)
def test_a_small_telescope_has_a_small_focuser(aperture: str, barrel: str) -> None:
    """What is proposed suits the aperture."""
    draft = take_aperture(Draft(), aperture, date(2026, 3, 1)).draft
    assert usual_focuser(draft) == barrel


@pytest.mark.parametrize(
    ("mount", "other"), [("altazimuth", "equatorial"), ("equatorial", "altazimuth")]
)
def test_the_file_names_the_mount_that_it_has_not(mount: str, other: str) -> None:
    """The comment says what else could stand there."""
    text = draft_toml(Draft().with_telescope(mount=mount))
    (line,) = (line for line in text.splitlines() if line.startswith("mount"))
    assert line.startswith(f'mount = "{mount}"')
    assert line.endswith(f'# the other kind: "{other}"')


def test_two_eyepieces_in_one_answer() -> None:
    """Both are on the list, and each is spoken of."""
    draft = Draft().with_telescope(focal_length_mm=900.0)
    taken = take_eyepiece(draft, "25 mm and 9 mm", date(2026, 3, 1))
    assert [entry["name"] for entry in taken.draft.eyepieces] == ["25 mm 50", "9 mm 50"]
    assert "25 mm 50: 36x in this telescope." in taken.said
    assert taken.again
