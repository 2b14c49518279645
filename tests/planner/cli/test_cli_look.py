"""``fieldstop look``: one target, every train, and the moment that is asked for."""

from __future__ import annotations

import re
from typing import Any

import pytest

LOOK = ("look", "--format", "json", "--date", "2026-11-25")


def test_look_tells_facts_times_and_trains(run: Any) -> None:
    """What, when, through what, and why."""
    result = run("look", "M57", "--date", "2026-11-25")
    assert result.status == 0
    assert result.err == ""
    lines = result.out.splitlines()
    assert lines[0] == "M57 Ring Nebula"
    assert lines[1] == "planetary nebula in Lyra; size 1.4' by 1.0'; magnitude 8.8"
    for label in ("Course   highest", "Window   ", "At ", " 1  "):
        assert any(line.startswith(label) for line in lines), label
    assert "is the best" not in result.out  # nobody has asked
    assert "Does not go together: 30 mm 70 (2in) does not go into 2x Barlow" in result.out


def test_several_words_are_one_target(run: Any) -> None:
    """Nobody has to put a name between quotation marks."""
    for words in (("M", "57"), ("ring", "nebula"), ("ngc6720",)):
        assert run(*LOOK, *words).json["target"]["id"] == "NGC6720"


def test_the_first_view_is_the_best_and_misfits_come_last(run: Any) -> None:
    """Scores fall; a train that cannot be put together is not usable and says why."""
    views = run(*LOOK, "M15").json["views"]
    usable = [view for view in views if view["usable"]]
    assert views[: len(usable)] == usable
    scores = [view["score"] for view in usable]
    assert scores == sorted(scores, reverse=True)
    assert all(view["reasons"] for view in views)


@pytest.mark.parametrize(
    ("at", "instant"),
    [
        ("19:30", "2026-11-25T19:30:00+00:00"),
        ("1:05", "2026-11-26T01:05:00+00:00"),  # after midnight, the same night
        ("2026-11-26T01:05", "2026-11-26T01:05:00+00:00"),
        ("2026-11-26 01:05:30", "2026-11-26T01:05:30+00:00"),
        ("2026-11-26T03:05+02:00", "2026-11-26T01:05:00+00:00"),
        ("2026-11-26T01:05Z", "2026-11-26T01:05:00+00:00"),
    ],
)
def test_at_takes_site_time_or_an_offset(run: Any, at: str, instant: str) -> None:
    """All of them lie in the night of 25 November."""
    look = run(*LOOK, "M45", "--at", at).json
    assert (look["at"], look["date"]) == (instant, "2026-11-25")


def test_a_whole_time_brings_its_own_night(run: Any) -> None:
    """Two in the morning belongs to the evening before, at the site."""
    result = run("look", "M31", "--format", "json", "--at", "2027-01-09T02:00")
    assert result.json["date"] == "2027-01-08"


def test_a_time_outside_the_night_that_is_named_is_refused(run: Any) -> None:
    """Rather than that one of the two is dropped in silence."""
    result = run(*LOOK, "M31", "--at", "2026-12-01T20:00")
    assert result.status == 2
    assert "is in the night of 2026-12-01, not of --date 2026-11-25" in result.err


@pytest.mark.parametrize(
    ("at", "instant", "remark"),
    [
        # Summer Time Order 2002: clocks go on at 01:00 GMT on the last Sunday of March, and back
        # at 01:00 GMT on that of October.
        ("2026-03-29T01:30", "2026-03-29T02:30:00+01:00", "01:30 is left out by the clocks"),
        ("2026-10-25T01:30", "2026-10-25T01:30:00+01:00", "01:30 comes twice as the clocks go"),
    ],
)
def test_hours_that_the_clocks_skip_or_repeat_are_settled_and_told(
    run: Any, at: str, instant: str, remark: str
) -> None:
    """One reading is taken and named."""
    result = run("look", "M81", "--format", "json", "--at", at)
    assert result.json["at"] == instant
    assert remark in result.err


def test_why_answers_for_each_train_with_that_eyepiece(run: Any) -> None:
    """Begun names do; the answer names what is missing, and what is best instead."""
    result = run("look", "M45", "--date", "2026-11-25", "--why", "18 mm")
    assert "\n18 mm 65: too small a field, 110' in 58'.\n" in result.out
    assert "\n30 mm 70 is the best.\n" in result.out
    best = run(*LOOK, "M45", "--why", "30 MM 70").json["why"]
    assert best[0].startswith("30 mm 70 is the best of the kit for M45 Pleiades: ")
    assert "30 mm 70 + 2x Barlow cannot be put together: 30 mm 70 (2in) does not go into" in best[1]


def test_why_an_eyepiece_that_is_not_there_names_the_nearest(run: Any) -> None:
    """And nothing is computed."""
    result = run("look", "M45", "--why", "12 nm 60")
    assert (result.status, result.out) == (2, "")
    assert 'No eyepiece is called "12 nm 60"; did you mean "12 mm 60"?' in result.err


def test_the_sun_is_refused_with_a_caution(run: Any) -> None:
    """No view of the Sun, ever."""
    result = run("look", "the", "sun")
    assert (result.status, result.out) == (2, "")
    assert "only with a filter made for that" in result.err


def test_a_planet_near_the_sun_by_day_gets_a_warning_and_no_view(run: Any) -> None:
    """Venus passes between Earth and Sun on 24 October 2026 (almanacs, from memory)."""
    result = run("look", "Venus", "--at", "2026-10-20T13:00", "--format", "json")
    assert result.status == 1
    assert result.json["views"] == []
    assert "from the Sun, and the Sun is up" in result.json["hazard"]
    assert "Not to be looked at: Venus is" in run("look", "Venus", "--at", "2026-10-20T13:00").out
    assert "not to be looked at" in result.err


def test_a_target_that_never_rises_is_told_with_its_facts(run: Any) -> None:
    """47 Tucanae from 51 degrees north: exit status 1, no view, no time that does not exist."""
    result = run(*LOOK, "47 Tucanae")
    assert result.status == 1
    look = result.json
    assert look["target"]["id"] == "NGC104"
    assert (look["rise"], look["set"], look["views"]) == (None, None, [])
    assert "below the horizon" in look["hindrance"]
    assert "NGC 104 47 Tucanae is below the horizon" in result.err
    sheet = run("look", "47 Tuc", "--date", "2026-11-25").out
    assert "Course   does not rise\n" in sheet
    assert "Window   none: below the horizon" in sheet


def test_a_target_that_never_sets_is_told_so(run: Any) -> None:
    """M81 is 20 degrees from the pole, Jupiter comes and goes."""
    assert re.search(
        r"^Course   highest \d\d:\d\d at \d\d deg, does not set$",
        run("look", "M81").out,
        re.MULTILINE,
    )
    assert re.search(r"^Course   .*rises \d\d:\d\d", run("look", "Jupiter").out, re.MULTILINE)


def test_sizes_that_are_guessed_say_so(run: Any) -> None:
    """A cluster whose diameter is scaled from the catalogue's."""
    look = run(*LOOK, "NGC 133")
    assert look.json["target"]["size_is_approximate"] is True
    assert "(approximate)" in run("look", "NGC 133", "--date", "2026-11-25").out


def test_the_table_is_neither_endless_nor_empty(run: Any) -> None:
    """Three trains at least, also where only the first is of use; twelve at most."""
    large = run("look", "M31", "--date", "2026-11-25").out
    shown = re.findall(r"^ ?(\d+)  \d", large, re.MULTILINE)
    assert shown[:3] == ["1", "2", "3"]
    assert len(shown) < 12
    assert "! does not fit" not in large  # the reasons say so already
    many = run("look", "M27", "--date", "2026-09-12").out
    assert re.findall(r"^ ?(\d+)  \d", many, re.MULTILINE)[-1] == "12"
    assert re.search(r"^\.\.\. and \d+ more that suit it less$", many, re.MULTILINE)


def test_names_of_constellations_are_plain_letters(run: Any) -> None:
    """Also that of the herdsman."""
    out = run("look", "NGC 5466", "--date", "2026-05-12", "--fields", "0").out
    assert "globular cluster in Bootes" in out
    assert out.isascii()


def test_an_unknown_brightness_is_null_and_a_word_that_fits_the_column(run: Any) -> None:
    """The catalogue has no magnitude for IC 1369, and nobody has judged it."""
    look = run(*LOOK, "IC 1369").json
    assert look["target"]["magnitude"] is None
    assert look["views"][0]["grade"] == "unknown brightness"
    out = run("look", "IC 1369", "--date", "2026-11-25").out
    assert "magnitude unknown" in out
    assert re.search(r"^ 1  .* unknown$", out, re.MULTILINE)
    assert all(len(line) <= 80 for line in out.splitlines())


def test_look_under_tonights_sky_and_with_another_telescope(run: Any) -> None:
    """A worse sky lowers the grade; the telescope is the one that is asked for."""
    good = run(*LOOK, "M33", "--sky", "21.9").json["views"][0]
    bad = run(*LOOK, "M33", "--sky", "17").json["views"][0]
    assert good["score"] > bad["score"]
    small = run(*LOOK, "M33", "--telescope", "80 mm f/6 refractor").json["views"]
    assert {view["telescope"] for view in small} == {"80 mm f/6 refractor"}


@pytest.mark.parametrize(
    ("name", "course"), [("NGC 104", "does not rise"), ("M81", "does not set"), ("M42", None)]
)
def test_the_course_of_what_neither_rises_nor_sets(run: Any, name: str, course: str | None) -> None:
    """From 51 N; sheet and JSON have the same words, and none where the times are enough."""
    assert run("look", name, "--format", "json").json["course"] == course
    (line,) = (row for row in run("look", name).out.splitlines() if row.startswith("Course"))
    assert line.endswith(course) if course else "rises" in line and "does not" not in line


def test_shades_of_how_it_will_look_come_when_asked_for(run: Any) -> None:
    """To one scale beside each other, within 80 columns, with what they are and are not."""
    plain = run("look", "M31", "--date", "2026-12-08", "--fields", "2")
    shown = run("look", "M31", "--date", "2026-12-08", "--fields", "2", "--view")
    assert shown.status == 0
    assert "As it will look" not in plain.out
    assert "not a photograph" in " ".join(shown.out.split())
    _, _, views = shown.out.partition("As it will look\n")
    assert views.startswith("30 mm 70, 40x")
    assert "18 mm 65, 67x" in views.splitlines()[0]
    assert max(map(len, shown.out.splitlines())) <= 80
    assert "As it will look" not in run("look", "M31", "--view", "--fields", "0").out
